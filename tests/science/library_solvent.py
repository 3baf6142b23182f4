"""Vapours, flames and fresh air beside CoolProp, chemicals, PsychroLib and fluids.

Each function is one comparison. What a point is allowed is what our own docstring or row says of
itself; where it says nothing, that stands in the comment. The libraries are imported where they are
used: a run without the marker `check` must not need them.
"""

from collections.abc import Iterator
from math import exp

from library_points import Point, relative, steps

from controller.science.air import (
    contraction_dry,
    contraction_moist,
    dew_point,
    standard_pressure,
    station_pressure,
)
from controller.science.constants import STANDARD_ATMOSPHERE, ZERO_CELSIUS
from controller.science.fresh_air import ppm_to_mg_per_m3
from controller.science.solvent import (
    ACETONE,
    ETHANOL,
    ISOPROPANOL,
    MEK,
    SOLVENTS,
    TOLUENE,
    WATER,
    XYLENE,
    Solvent,
    boiling_temperature,
    vapour_pressure,
)
from controller.science.solvent_mixture import le_chatelier_limit
from controller.science.viscosity import THINNER_VISCOSITY

CAS = {
    "water": "7732-18-5",
    "acetone": "67-64-1",
    "ethanol": "64-17-5",
    "isopropanol": "67-63-0",
    "toluene": "108-88-3",
    "xylene": "108-38-3",
    "butanone (MEK)": "78-93-3",
}
"""What chemicals knows each liquid by; xylene is the meta one, as in our row."""
MIXED_XYLENES = "1330-20-7"
COOLPROP = {
    WATER: ("Water", 0, 0.002, 0.002),
    ACETONE: ("Acetone", -10, 0.01, 0.017),
    ETHANOL: ("Ethanol", -10, 0.01, 0.01),
    TOLUENE: ("Toluene", -10, 0.01, 0.0155),
    XYLENE: ("m-Xylene", -10, 0.008, 0.008),
}
"""CoolProp's name, coldest [C], and by how much the row says it may miss from 0 degC and below."""


def vapour_pressures_of_coolprop() -> Iterator[Point]:
    """Reference equations of state, for the five liquids that CoolProp has."""
    from CoolProp.CoolProp import PropsSI

    for row, (name, coldest, above, below) in COOLPROP.items():
        for celsius in range(coldest, 101):
            # at 0 degC water is under its triple point, where CoolProp has no vapour over a liquid
            kelvin = max(ZERO_CELSIUS + celsius, 273.17 if row is WATER else 0)
            theirs = PropsSI("P", "T", kelvin, "Q", 0, name)
            share = above if celsius >= 0 else below
            where = f"{row.name} at {celsius:.0f} C"
            yield relative(where, vapour_pressure(row, kelvin), theirs, share)


def _wagner(row: Solvent, table: str, kelvin: float) -> float:
    from chemicals import vapor_pressure as data
    from chemicals.vapor_pressure import Wagner, Wagner_original

    poling = table == "Poling"
    rows = data.Psat_data_WagnerPoling if poling else data.Psat_data_WagnerMcGarry
    tc, pc, *powers = rows.loc[CAS[row.name]][["Tc", "Pc", *"ABCD"]]
    return float((Wagner if poling else Wagner_original)(kelvin, tc, pc, *powers))


def isopropanol_of_poling() -> Iterator[Point]:
    """Isopropanol beside Poling's Wagner set: our row says 2 to 4 % above, from 0 to 60 degC."""
    for celsius in steps(0, 60, 61):
        kelvin = ZERO_CELSIUS + celsius
        ours, theirs = vapour_pressure(ISOPROPANOL, kelvin), _wagner(ISOPROPANOL, "Poling", kelvin)
        # 3 % above, give or take one, to the row's last digit
        yield Point(f"isopropanol at {celsius:.0f} C", ours / theirs, 1.03, 0.015)


def isopropanol_of_landolt() -> Iterator[Point]:
    """Isopropanol beside a third fit, up to 100 degC: our row says published fits spread 5 %."""
    from chemicals.vapor_pressure import Psat_data_Landolt_Antoine

    a, b, c = Psat_data_Landolt_Antoine.loc[CAS["isopropanol"]][list("ABC")]
    for celsius in steps(8, 99, 92):
        kelvin = ZERO_CELSIUS + celsius
        theirs = exp(a - b / (kelvin + c))
        where = f"isopropanol at {celsius:.0f} C"
        yield relative(where, vapour_pressure(ISOPROPANOL, kelvin), theirs, 0.05)


def mek_of_mcgarry() -> Iterator[Point]:
    """Butanone beside McGarry's Wagner set: our row says 0.8 to 3 % above, from 0 to 100 degC."""
    for celsius in steps(0, 100, 101):
        kelvin = ZERO_CELSIUS + celsius
        ours, theirs = vapour_pressure(MEK, kelvin), _wagner(MEK, "McGarry", kelvin)
        # the middle of 0.8 and 3 %, and half of what lies between, to the row's last digit
        yield Point(f"butanone at {celsius:.0f} C", ours / theirs, 1.019, 0.0115)


def water_of_steam_tables() -> Iterator[Point]:
    """Water beside IAPWS-95 and beside ASHRAE's equations: our row says 0.2 %."""
    import psychrolib
    from chemicals import iapws95_Psat

    psychrolib.SetUnitSystem(psychrolib.SI)
    for celsius in steps(0.1, 99.9, 100):
        kelvin = ZERO_CELSIUS + celsius
        ours, where = vapour_pressure(WATER, kelvin), f"water at {celsius:.1f} C"
        yield relative(where + ", IAPWS-95", ours, iapws95_Psat(kelvin), 0.002)
        yield relative(where + ", ASHRAE", ours, psychrolib.GetSatVapPres(celsius), 0.002)


def boiling_of_coolprop() -> Iterator[Point]:
    """Boiling under 2 to 100 kPa; what the rows claim is 0.5 K at worst, of 4 to 5 % a kelvin."""
    from CoolProp.CoolProp import PropsSI

    for row in (WATER, ACETONE, ETHANOL, TOLUENE):
        name = COOLPROP[row][0]
        for kilopascal in (2, 5, 10, 20, 50, 100):
            theirs = PropsSI("T", "P", kilopascal * 1000, "Q", 0, name)
            if ZERO_CELSIUS <= theirs <= row.hottest:
                ours = boiling_temperature(row, kilopascal * 1000)
                yield Point(f"{row.name} under {kilopascal} kPa", ours, theirs, 0.5)


def dew_points_of_psychrolib() -> Iterator[Point]:
    """Dew points from 0 degC up; 0.2 % of vapour pressure is 0.04 K, ASHRAE's own inverse 0.01."""
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    for celsius in steps(0, 50, 11):
        for humidity in steps(0.1, 1.0, 10):
            theirs = psychrolib.GetTDewPointFromRelHum(celsius, humidity)
            # under 0 degC ASHRAE's is frost, ours is dew
            if theirs > 0.1:
                ours = dew_point(ZERO_CELSIUS + celsius, humidity) - ZERO_CELSIUS
                yield Point(f"{celsius:.0f} C, {humidity:.0%}", ours, theirs, 0.05)


def standard_air_of_fluids() -> Iterator[Point]:
    """The 1976 standard, which is ours too, and ASHRAE's, which leaves the earth's curve out.

    Ours says no figure: 0.005 % is half of the last digit of the printed tables, and at 4000 m the
    curve is 2.5 m, 0.03 %.
    """
    import psychrolib
    from fluids import ATMOSPHERE_1976

    psychrolib.SetUnitSystem(psychrolib.SI)
    for metres in steps(-500, 4000, 46):
        ours, where = standard_pressure(metres), f"{metres:.0f} m"
        yield relative(where + ", 1976", ours, ATMOSPHERE_1976(metres).P, 5e-5)
        yield relative(where + ", ASHRAE", ours, psychrolib.GetStandardAtmPressure(metres), 4e-4)


def station_pressure_of_psychrolib() -> Iterator[Point]:
    """Reports taken back through air that is standard or 10 K off it.

    Ours says 0.3 % up to 3000 m, and on a day off the standard 0.04 % for each 100 m and 10 K.
    """
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    for metres in steps(0, 3000, 13):
        for report in (98_000, 101_325, 104_000):
            for off in (-10, 0, 10):
                celsius = 15 - 0.0065 * metres + off
                theirs = psychrolib.GetStationPressure(report, metres, celsius)
                share = 0.003 + 0.0004 * metres / 100 * abs(off) / 10
                where = f"{report} Pa at {metres:.0f} m, {off:+d} K"
                yield relative(where, station_pressure(report, metres), theirs, share)


def cooling_air_of_coolprop() -> Iterator[Point]:
    """Shrinking of real air from CoolProp's densities.

    Ours says within 0.0003; from 50 degC down to 5 and from 60 down to 10 it is 0.0004.
    """
    from CoolProp.CoolProp import PropsSI

    def dense(celsius: float) -> float:
        return float(PropsSI("D", "T", ZERO_CELSIUS + celsius, "P", STANDARD_ATMOSPHERE, "Air"))

    for hot in (30, 40, 50, 60):
        for cold in (5, 10, 20, 25):
            ours = contraction_dry(ZERO_CELSIUS + hot, ZERO_CELSIUS + cold)
            yield Point(f"{hot} to {cold} C", ours, 1 - dense(hot) / dense(cold), 0.0004)


def cooling_damp_air_of_coolprop() -> Iterator[Point]:
    """Saturated air by CoolProp's vapour; 0.2 % of it moves the share by 0.0005 at 60 degC."""
    from CoolProp.CoolProp import PropsSI

    for hot in (30, 40, 50, 60):
        for cold in (5, 10, 20, 25):
            kelvins = ZERO_CELSIUS + hot, ZERO_CELSIUS + cold
            theirs = [PropsSI("P", "T", each, "Q", 1, "Water") for each in kelvins]
            kept = (STANDARD_ATMOSPHERE - theirs[0]) / (STANDARD_ATMOSPHERE - theirs[1])
            vapours = [vapour_pressure(WATER, each) for each in kelvins]
            ours = contraction_moist(*kelvins, STANDARD_ATMOSPHERE, *vapours)
            there = 1 - kelvins[1] / kelvins[0] * kept
            yield Point(f"{hot} to {cold} C, saturated", ours, there, 0.0005)


def rows_of_chemicals() -> Iterator[Point]:
    """Molar mass, density at 20 degC and NFPA 497's limits of each row, copied without a slip.

    Our densities are told to 0.1 %; those of acetone and ethanol are CoolProp's, up to 0.3 % under
    Perry's fit.
    """
    import chemicals
    from chemicals.dippr import EQ105
    from chemicals.volume import rho_data_Perry_8E_105_l

    nfpa = "NFPA 497 (2008)"
    for row in SOLVENTS.values():
        cas = CAS[row.name]
        yield relative(f"{row.name}, molar mass", row.molar_mass, chemicals.MW(cas) / 1000, 2e-5)
        if row is WATER:
            continue
        fit = rho_data_Perry_8E_105_l.loc[cas]
        moles = EQ105(ZERO_CELSIUS + 20, *fit[["C1", "C2", "C3", "C4"]])
        theirs = moles * chemicals.MW(cas) / 1000
        share = 0.003 if row in (ACETONE, ETHANOL) else 0.001
        yield relative(f"{row.name}, density", row.density, theirs, share)
        flame = MIXED_XYLENES if row is XYLENE else cas
        limit, flash, hot = row.lower_flammable_limit, row.flash_point, row.autoignition
        assert limit is not None and flash is not None and hot is not None
        burns = chemicals.LFL(CASRN=flame, method=nfpa)
        yield Point(f"{row.name}, limit", limit, burns, 1e-9)
        yield Point(f"{row.name}, flash", flash, chemicals.T_flash(flame, method=nfpa), 1e-6)
        kindles = chemicals.T_autoignition(flame, method=nfpa)
        yield Point(f"{row.name}, autoignition", hot, kindles, 1e-6)


def mixed_flames_of_chemicals() -> Iterator[Point]:
    """Le Chatelier's limit of two vapours in every proportion; the same law, so to rounding."""
    from chemicals import fire_mixing

    burning = [row for row in SOLVENTS.values() if row.lower_flammable_limit is not None]
    for first in burning:
        for second in burning:
            for share in steps(0, 1, 6):
                parts = ((first, share), (second, 1 - share))
                limits = [row.lower_flammable_limit for row, _ in parts]
                theirs = fire_mixing([share, 1 - share], limits)
                where = f"{share:.0%} {first.name} in {second.name}"
                yield relative(where, le_chatelier_limit(parts), theirs, 1e-9)


def vapour_in_air_of_chemicals() -> Iterator[Point]:
    """ppm told by mass, in the 25 degC that limits are told for; the same ideal gas."""
    from chemicals import ppmv_to_mgm3

    for row in SOLVENTS.values():
        for ppm in (1, 50, 250, 1000):
            theirs = ppmv_to_mgm3(ppm, row.molar_mass * 1000, T=ZERO_CELSIUS + 25)
            ours = ppm_to_mg_per_m3(ppm, row.molar_mass)
            yield relative(f"{ppm} ppm {row.name}", ours, theirs, 1e-6)


def thin_liquids_of_chemicals() -> Iterator[Point]:
    """Viscosities at 25 degC beside Perry's fit, whose they are, and VDI's, told to 2 %."""
    from chemicals import viscosity as data
    from chemicals.dippr import EQ101
    from CoolProp.CoolProp import PropsSI

    warm = ZERO_CELSIUS + 25
    for name, ours in THINNER_VISCOSITY.items():
        if name == "water":
            theirs = PropsSI("V", "T", warm, "P", STANDARD_ATMOSPHERE, "Water")
            yield relative("water, IAPWS", ours, theirs, 0.002)
            continue
        perry = data.mu_data_Perrys_8E_2_313.loc[CAS[name]]
        fit = EQ101(warm, *perry[["C1", "C2", "C3", "C4", "C5"]])
        yield relative(f"{name}, Perry", ours, fit, 0.005)
        vdi = data.mu_data_VDI_PPDS_7.loc[CAS[name]]
        fit = data.PPDS9(warm, *vdi[list("ABCDE")])
        yield relative(f"{name}, VDI", ours, fit, 0.02)
