"""The liquids that evaporate here, thinners and water: one row each, every number sourced.

The formulas over these rows are in solvent.py, mixtures of them in solvent_mixture.py.
"""

from dataclasses import dataclass

from controller.science.constants import ZERO_CELSIUS


@dataclass(frozen=True, slots=True)
class Solvent:
    """One liquid that evaporates: a row of the table below."""

    name: str
    """As people write it."""
    molar_mass: float
    """[kg/mol]"""
    density: float
    """Of the liquid at 20 degC, [kg/m3]"""
    lower_flammable_limit: float | None
    """Least share of vapour in air that burns, by volume, [-]; None: does not burn"""
    flash_point: float | None
    """Coldest liquid whose vapour lights in a closed cup, [K]; None: does not burn"""
    autoignition: float | None
    """Coldest surface that lights the vapour without a spark, [K]; None: does not burn"""
    exposure_limit: float | None
    """Most in the air breathed over a working day, [ppm by volume]; None: no limit"""
    vapour_terms: tuple[float, float, float, float, float]
    """C1 to C5 of ln p = C1 + C2/T + C3 ln T + C4 T^C5, p in [Pa], T in [K]"""
    coldest: float
    """Lowest temperature the vapour pressure is used at, [K]"""
    hottest: float
    """Highest temperature the vapour pressure is used at, [K]"""
    source: str
    """Where the numbers come from, and by how much they are known to miss."""


_PERRY = (
    "[1] D. W. Green, R. H. Perry, Perry's Chemical Engineers' Handbook, 8th ed. 2008, table 2-8 "
    "(vapour pressure) and table 2-32 (density, to 0.3 %), coefficients as in the data "
    "files of the library chemicals 1.5.2. "
)
_NFPA = (
    "Flammable limit, flash point and autoignition: [2] NFPA 497, 2008, table 4.4.2, as in the "
    "same library; the table's number from memory, to be checked. "
)
# The two US limits average over 8 and 10 hours and are older than most others. The stricter stands.
_EXPOSURE = (
    "Exposure: the stricter of [3] US OSHA, 29 CFR 1910.1000, table Z-1 or Z-2, and [4] NIOSH "
    "Pocket Guide to Chemical Hazards (REL), both from memory, to be checked: "
)
# The usual Antoine sets are a trap here: several are fitted far above room temperature and then
# miss by 7 to 97 % at 20 degC. These five-term fits run from the melting to the critical point.
WATER = Solvent(
    name="water",
    molar_mass=0.018_015,
    density=998.2,
    lower_flammable_limit=None,
    flash_point=None,
    autoignition=None,
    exposure_limit=None,
    vapour_terms=(73.649, -7258.2, -7.3037, 4.1653e-6, 2.0),
    coldest=ZERO_CELSIUS - 20,
    hottest=ZERO_CELSIUS + 110,
    source=_PERRY + "Within 0.2 % of IAPWS-95 (CoolProp 8.0.0) at 0 to 100 degC; below 0 degC own "
    "extension over water that has not frozen, 0.6 % low at -20 degC. Density from CoolProp 8.0.0.",
)
ACETONE = Solvent(
    name="acetone",
    molar_mass=0.058_079,
    density=790.0,
    lower_flammable_limit=0.025,
    flash_point=ZERO_CELSIUS - 20,
    autoignition=ZERO_CELSIUS + 465,
    exposure_limit=250.0,
    vapour_terms=(69.006, -5599.6, -7.0985, 6.2237e-6, 2.0),
    coldest=ZERO_CELSIUS - 10,
    hottest=ZERO_CELSIUS + 100,
    source=_PERRY + _NFPA + "IEC 60079-20-1 (2010) puts autoignition at 539 degC. Within 1 % of "
    "CoolProp 8.0.0 from 0 to 100 degC, 1.7 % at -10 degC. " + _EXPOSURE + "REL 250, PEL 1000.",
)
ETHANOL = Solvent(
    name="ethanol",
    molar_mass=0.046_068,
    density=789.0,
    lower_flammable_limit=0.033,
    flash_point=ZERO_CELSIUS + 13,
    autoignition=ZERO_CELSIUS + 363,
    exposure_limit=1000.0,
    vapour_terms=(73.304, -7122.3, -7.1424, 2.8853e-6, 2.0),
    coldest=ZERO_CELSIUS - 10,
    hottest=ZERO_CELSIUS + 100,
    source=_PERRY + _NFPA + "IEC 60079-20-1 (2010) puts the limit at 0.031. Within 1 % of "
    "CoolProp 8.0.0 from -10 to 100 degC. " + _EXPOSURE + "both 1000. Denatured with methanol it "
    "is more harmful than this row says.",
)
ISOPROPANOL = Solvent(
    name="isopropanol",
    molar_mass=0.060_095,
    density=786.0,
    lower_flammable_limit=0.02,
    flash_point=ZERO_CELSIUS + 12,
    autoignition=ZERO_CELSIUS + 399,
    exposure_limit=400.0,
    vapour_terms=(96.094, -8575.4, -10.292, 1.6665e-17, 6.0),
    coldest=ZERO_CELSIUS - 10,
    hottest=ZERO_CELSIUS + 100,
    source=_PERRY
    + _NFPA
    + "Published fits spread 5 %: from 0 to 60 degC this one lies 2 to 4 % above "
    "Poling's Wagner set, from 25 degC on also above his Antoine set; high is the safe side for a "
    "boil limit. " + _EXPOSURE + "both 400; Ontario's limit is 200.",
)
TOLUENE = Solvent(
    name="toluene",
    molar_mass=0.092_138,
    density=868.0,
    lower_flammable_limit=0.011,
    flash_point=ZERO_CELSIUS + 4,
    autoignition=ZERO_CELSIUS + 480,
    exposure_limit=100.0,
    vapour_terms=(76.945, -6729.8, -8.179, 5.3017e-6, 2.0),
    coldest=ZERO_CELSIUS - 10,
    hottest=ZERO_CELSIUS + 100,
    source=_PERRY + _NFPA + "IEC 60079-20-1 (2010) puts the limit at 0.010. Within 1 % of CoolProp "
    "8.0.0 from 0 to 100 degC, 1.5 % above it at -10 degC. " + _EXPOSURE + "REL 100, PEL 200; "
    "Ontario's limit is 20.",
)
# Shop xylene is three isomers and ethylbenzene. Meta is the largest part and lies between the rest:
# of the others' pressures at 20 degC, ortho is 20 % lower, para 5 % and ethylbenzene 15 % higher.
XYLENE = Solvent(
    name="xylene",
    molar_mass=0.106_165,
    density=864.0,
    lower_flammable_limit=0.009,
    flash_point=ZERO_CELSIUS + 25,
    autoignition=ZERO_CELSIUS + 464,
    exposure_limit=100.0,
    vapour_terms=(85.099, -7615.9, -9.3072, 5.5643e-6, 2.0),
    coldest=ZERO_CELSIUS - 10,
    hottest=ZERO_CELSIUS + 100,
    source=_PERRY + "Those of m-xylene, the largest part. " + _NFPA + "These for mixed xylenes. "
    "Within 0.8 % of CoolProp 8.0.0 (m-xylene) from -10 to 100 degC. " + _EXPOSURE + "both 100.",
)
MEK = Solvent(
    name="butanone (MEK)",
    molar_mass=0.072_106,
    density=805.0,
    lower_flammable_limit=0.014,
    flash_point=ZERO_CELSIUS - 6,
    autoignition=ZERO_CELSIUS + 404,
    exposure_limit=200.0,
    vapour_terms=(72.698, -6143.6, -7.5779, 5.6476e-6, 2.0),
    coldest=ZERO_CELSIUS - 10,
    hottest=ZERO_CELSIUS + 100,
    source=_PERRY
    + _NFPA
    + "CoolProp 8.0.0 has no row to hold it against. From 0 to 100 degC it lies 0.8 to 3 % above "
    "the Wagner set of McGarry (1983) and, from 10 degC on, 0.7 to 4 % above Poling's Antoine "
    "set, 7.4 % at -10 degC; high is the safe side for a boil limit. IEC 60079-20-1 (2010) has it "
    "flash at -10 degC. " + _EXPOSURE + "both 200.",
)
SOLVENTS = {
    solvent.name: solvent
    for solvent in (WATER, ACETONE, ETHANOL, ISOPROPANOL, TOLUENE, XYLENE, MEK)
}
