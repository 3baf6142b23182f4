"""The batch sheet: everything about a batch that is known before the lamp is lit."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One board of the batch."""

    name: str
    """What the shop calls it."""
    wood: str
    """Name in the catalogue of woods."""
    length: float
    """Along the grain, [m]."""
    width: float
    """Across the grain, [m]."""
    thickness: float
    """[m]."""
    moisture: float
    """Moisture content as a share of dry mass, [-]."""
    ends_sealed: bool
    """The end grain is coated or taped."""
    back_sealed: bool
    """The back is coated or taped."""

    @property
    def area(self) -> float:
        """Of one face, [m2]."""
        return self.length * self.width


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """The thickest piece as the heat sees it."""

    thickness: float
    """[m]."""
    conductivity: float
    """Across the grain, [W/m K]."""
    density: float
    """[kg/m3]."""
    heat_capacity: float
    """[J/kg K]."""
    porosity: float
    """Share of the volume that is air, [-]."""
    moisture: float
    """Share of dry mass, [-]."""
    face_loss: float
    """Film coefficient of the lit face, radiation included, [W/m2 K]."""
    back_loss: float
    """Film coefficient of the back as it lies, [W/m2 K]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Resin:
    """What the clocks need to know of the mix."""

    name: str
    """Class in the catalogue of resins, never a brand."""
    reference: float
    """Temperature the times below hold at, [K]."""
    activation_energy: float
    """Of the cure, [J/mol]."""
    pot_life: float
    """In the cup at the reference temperature, [s]."""
    gel_early: float
    """Thin film at the reference temperature, early end, [s]."""
    gel_late: float
    """Late end, [s]."""
    gel_is_guess: bool
    """The gel range was guessed from the pot life and must be shown as a guess."""
    open_early: float
    """Age at the reference temperature from which the bag may be opened, early end, [s]."""
    open_late: float
    """Late end, [s]."""
    coldest: float
    """Below this the maker's class stalls, [K]."""
    uncured_glass: float
    """Glass temperature of the fresh mix, [K]."""
    cured_glass: float
    """Glass temperature of the full cure, [K]."""
    glass_curvature: float
    """The lambda between the two, [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """What goes into the cup."""

    a: float
    """Part A, [kg]."""
    b: float
    """Part B, [kg]."""
    thinner_name: str | None
    """Name in the catalogue of thinners; None for none."""
    thinner: float
    """Thinner, [kg]."""
    coat: float
    """Mass meant for the boards, waste left out, [kg]."""
    carried: float = 0.0
    """Solvent that a solvent-borne resin comes with, part of a and b, [kg]."""

    @property
    def total(self) -> float:
        """All of it, [kg]."""
        return self.a + self.b + self.thinner


@dataclass(frozen=True, slots=True, kw_only=True)
class Heat:
    """How the board is warmed and when it is coated."""

    band_low: float
    """Preheat band, bottom, [K]."""
    band_high: float
    """Preheat band, top, never above 323.15 K, [K]."""
    trip: float
    """Face temperature at which the lamp is cut and latched, never above 333.15 K, [K]."""
    window_low: float
    """Coat window, bottom, [K]."""
    window_high: float
    """Coat window, top, [K]."""
    target_mean: float
    """Mean of the board at which the soak is over, [K]."""
    settles_at: float
    """Face temperature this lamp would reach if it stayed on for ever, [K]."""
    reachable: bool
    """The lamp can bring the face into the band."""
    advice: str | None
    """What to change where the band or the window cannot be had; None when all is well."""
    preheat: float
    """Expected time to the band, [s]."""
    soak: float
    """Expected time in the band, [s]."""
    lamp_on: float
    """Expected lamp-on time of the whole heat, [s]."""
    opens: float
    """Expected time from lamp-off until the face is in the coat window, [s]."""
    shuts: float
    """Expected time from lamp-off until the face is under it, [s]."""
    handling: float
    """Time from lamp-off to the first stroke that was planned with, [s]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bag:
    """How the vacuum is held."""

    target: float
    """Absolute pressure to pull down to, [Pa]."""
    restart: float
    """Absolute pressure at which the pump starts again, [Pa]."""
    possible: float
    """Lowest absolute pressure this rig can reach today, [Pa]."""
    boil_limit: float
    """Absolute pressure under which the thinner in the mix may boil, [Pa]."""
    leak_limit: float
    """Rise that counts as a leak, [Pa/s]."""
    let_up: bool
    """Letting the bag up before gel is on offer: ends and back are sealed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FlashOff:
    """How long the solvent is given."""

    early: float
    """Observed time at the reference temperature, film off, early end, [s]."""
    late: float
    """Late end; 0 for a mix without thinner, [s]."""
    reference: float
    """Temperature the times hold at, [K]."""
    activation_energy: float
    """Of the solvent's leaving, [J/mol]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Coat:
    """One coat of one face: which pieces, which mix, which heat, which hold."""

    number: int
    """From 1."""
    face: str
    """'A' or 'B'."""
    pieces: tuple[str, ...]
    """Names of the pieces heated together."""
    board: Board
    """The thickest of them."""
    probe_on: str
    """Name of the piece that carries the face probe: the thickest."""
    mix: Mix
    """What is weighed."""
    heat: Heat
    """How it is warmed."""
    bag: Bag | None
    """How it is held; None for a coat without a bag."""
    resin: Resin
    """What sets."""
    flash_off: FlashOff
    """What leaves."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchSheet:
    """The whole batch, as it stands on the sheet of paper that goes with it."""

    name: str
    """What the batch is called."""
    shop: str
    """Whose shop."""
    pieces: tuple[Piece, ...]
    """Every board."""
    coats: tuple[Coat, ...]
    """In the order they are put on."""
    cautions: tuple[str, ...]
    """Sentences that fit this sheet."""
    sources: dict[str, str]
    """Where each figure comes from, by dotted name."""

    def piece(self, name: str) -> Piece:
        """The piece of that name. Raises KeyError when the sheet has none."""
        for piece in self.pieces:
            if piece.name == name:
                return piece
        raise KeyError(name)
