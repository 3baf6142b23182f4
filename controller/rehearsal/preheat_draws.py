"""Preheats nobody wrote: a lamp, a board, a probe and at most one thing that goes wrong.

The same number is the same board in every case, so that a fault is seen beside its healthy heat.
What is true differs from what the sheet and the settings are told by what a shop does not know.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from random import Random
from types import MappingProxyType

from controller.hardware.plant import Plant, PlantParameters
from controller.hardware.plant_board import BoardParameters
from controller.hardware.plant_lamp import LampParameters
from controller.hardware.plant_shop import ShopParameters
from controller.planning.batch_plan import plan
from controller.planning.catalogue import built_in
from controller.planning.description import Description, parse_description
from controller.planning.examples import EXAMPLES, example
from controller.planning.sheet import BatchSheet
from controller.rehearsal.chance import spread
from controller.rehearsal.rig import within
from controller.science.constants import ZERO_CELSIUS
from controller.settings import Settings, default_settings_text, parse_settings

FLUX = (250.0, 1500.0)
"""Absorbed under the lamp, [W/m2]."""
THICKNESS = (0.012, 0.050)
"""Of the board, [m]."""
LAG = (3.0, 60.0)
"""Time constant of the face probe in its place, [s]; as likely in each doubling."""
ROOM = (ZERO_CELSIUS + 10.0, ZERO_CELSIUS + 28.0)
"""Of the shop, [K]."""
FLUX_KNOWN = 0.25
"""Share within which the settings' flux is the lamp's. Own."""
LAG_KNOWN = 1.5
"""Factor within which a measured lag is the probe's. Own."""
LAG_GUESS = 20.0
"""What the settings take where nobody measured it: half of the shops, [s]. Own."""
SOME = 0.05
"""Share within which density and heat capacity are known. Own."""
ROUGH = 0.15
"""The same of conductivity. Own: what handbooks differ by."""
ROOM_KNOWN = 1.0
"""How far the sheet's room is off, [K]. Own."""
EMISSIVITY = (0.85, 0.95)
"""Of bare wood, [1]. From memory, to be checked."""
LINING = (0.4, 1.2)
"""Through the foam under a lined back, [W/m2 K]; the sheet takes 0.5. Own."""
WHEN = (0.02, 0.9)
"""Share of the sheet's own preheat and soak at which a fault comes. Own."""


@dataclass(frozen=True, slots=True)
class Case:
    """One way for a preheat to go."""

    says: str
    """What it is, in a few words."""
    fault: str | None = None
    """Name in the table of faults; None for a healthy heat."""
    size: tuple[float, float] | None = None
    """What its value is drawn from; None for a fault without one."""
    sudden: bool = False
    """It comes at some moment of the heat; else it is there from the start."""
    infrared: bool = False
    """An infrared thermometer is wired."""
    gun: bool = False
    """The rig is in close watch, and its person reads the face with a gun when asked."""


CASES: Mapping[str, Case] = MappingProxyType(
    {
        "healthy": Case("healthy"),
        "off": Case("probe off the board from the start", "probe_fell"),
        "falls": Case("probe falls off", "probe_fell", sudden=True),
        "frozen": Case("value frozen", "probe_frozen", sudden=True),
        "half": Case("probe half seated", "probe_half_seated", (0.4, 0.7)),
        "half-infrared": Case(
            "half seated, infrared thermometer wired",
            "probe_half_seated",
            (0.4, 0.7),
            infrared=True,
        ),
        "half-gun": Case(
            "half seated, close watch with a gun", "probe_half_seated", (0.4, 0.7), gun=True
        ),
        "carried": Case("board carried off", "board_gone", sudden=True),
        "lit": Case("probe lit by the lamp", "probe_lit", (4.0, 12.0)),
        "strong": Case("lamp stronger than planned", "lamp_strong", (1.5, 3.0)),
        "bulb": Case("bulb out", "bulb_out", (1.0, 1.0), sudden=True),
        "disagree": Case(
            "two that disagree: probe reads low, infrared wired",
            "probe_offset",
            (-15.0, -8.0),
            sudden=True,
            infrared=True,
        ),
    }
)
"""Every case, by the name it is asked for."""


@dataclass(frozen=True, slots=True)
class Preheat:
    """One preheat as it was drawn."""

    case: Case
    """What goes wrong."""
    settings: Settings
    """What the shop was told of its rig."""
    sheet: BatchSheet
    """What it was told of its board."""
    truth: PlantParameters
    """What is so."""
    lag: float
    """Of the face probe in its place, [s]."""
    value: float | None
    """Of the fault, in its own unit."""
    after: float
    """From START to the fault, [s]."""
    seed: int
    """Of all noise."""

    def plant(self) -> Plant:
        """The truth, at its start."""
        return Plant(self.truth, self.seed)


def drawn(name: str, number: int) -> Preheat:
    """The preheat of that number in the case of that name. Raises KeyError for no such case."""
    case = CASES[name]
    rng = Random(f"preheat {number}")
    board, lamp, lag, told_lag, told_flux, room = _truth(rng)
    settings = _settings(told_flux, told_lag, case)
    sheet = plan(_description(rng, board, room + rng.uniform(-ROOM_KNOWN, ROOM_KNOWN)), settings)
    known = sheet.coats[0].board
    about = within(rng)
    truth = PlantParameters(
        board=replace(
            board,
            density=about(known.density, SOME),
            heat_capacity=about(known.heat_capacity, SOME),
            conductivity=about(known.conductivity, ROUGH),
        ),
        lamp=lamp,
        shop=ShopParameters(start=room, night_low=room - 2.0, day_high=room + 1.0),
    )
    faulty = Random(f"preheat {name} {number}")
    heat = sheet.coats[0].heat
    share = faulty.uniform(*WHEN) if case.sudden else 0.0
    return Preheat(
        case=case,
        settings=settings,
        sheet=sheet,
        truth=truth,
        lag=lag,
        value=None if case.size is None else faulty.uniform(*case.size),
        after=share * (heat.preheat + heat.soak),
        seed=number,
    )


def _truth(
    rng: Random,
) -> tuple[BoardParameters, LampParameters, float, float, float, float]:
    """The board but for its wood, the lamp, the probe's lag, lag and flux as told, the room."""
    flux, about = rng.uniform(*FLUX), within(rng)
    lag = spread(rng, *LAG)
    measured = lag * spread(rng, 1.0 / LAG_KNOWN, LAG_KNOWN)
    board = replace(
        BoardParameters(),
        thickness=rng.uniform(*THICKNESS),
        back_insulated=rng.random() < 0.5,
        emissivity=rng.uniform(*EMISSIVITY),
        back_conductance=rng.uniform(*LINING),
    )
    told_flux = min(about(flux, FLUX_KNOWN), FLUX[1])
    told_lag = measured if rng.random() < 0.5 else LAG_GUESS
    return board, LampParameters(flux=flux), lag, told_lag, told_flux, rng.uniform(*ROOM)


@cache
def _example() -> tuple[Settings, Description]:
    name = EXAMPLES[0]
    settings = parse_settings(default_settings_text(), "rig.example.toml")
    return settings, parse_description(example(name), name)


def _settings(flux: float, lag: float, case: Case) -> Settings:
    """The documented example's, with this lamp and probe: cut-out and dead-man proved."""
    made, _ = _example()
    probes = made.probes
    face = None if probes.face is None else probes.face.model_copy(update={"lag": lag})
    return made.model_copy(
        update={
            "rig": made.rig.model_copy(update={"close_watch": case.gun}),
            "lamp": made.lamp.model_copy(update={"absorbed": flux}),
            "probes": probes.model_copy(update={"face": face, "back": None, "film": None}),
            "infrared": made.infrared.model_copy(
                update={"wired": "wired" if case.infrared else "absent"}
            ),
        }
    )


def _description(rng: Random, board: BoardParameters, room: float) -> Description:
    """The example's, with another wood, thickness and back, in another shop."""
    _, made = _example()
    piece = made.pieces[0].model_copy(
        update={"wood": rng.choice(sorted(built_in().woods)), "thickness": board.thickness}
    )
    back = "lined" if board.back_insulated else "open"
    return made.model_copy(
        update={
            "pieces": (piece,),
            "shop": made.shop.model_copy(update={"room": room, "night_low": None}),
            "heat": made.heat.model_copy(update={"back": back}),
        }
    )
