"""What a person's hands do to the pretend rig: when an act is told, and at the bench."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from controller.batch.signals import Role
from controller.hardware.plant import Plant

SKIN, ICE, WARM_BATH = 306.15, 273.15, 318.15
"""A closed hand, 33 C, own; ice in water; a bath that a person's thermometer calls 45.0 C, [K]."""
DOSE = 60e-6
"""What a full syringe lets in, [m3]; 60 mL, own."""

Hands = Callable[[Plant], None]
"""One thing done to the plant."""


def _begin_heating(plant: Plant) -> None:
    plant.place_under_lamp()
    plant.probe_on(Role.FACE)


def _plug(plant: Plant, into: bool) -> None:
    plant.lamp.plugged_in = into


def _unplug(plant: Plant) -> None:
    _plug(plant, False)
    plant.take_off_lamp()


def _coat(plant: Plant) -> None:
    plant.probe_off(Role.FACE)
    plant.coat(plant.parameters.coat.resin, plant.parameters.coat.solvent)


def _seal(plant: Plant) -> None:
    plant.seal_bag()
    plant.probe_on(Role.FILM)


def _open(plant: Plant) -> None:
    plant.open_bag()
    plant.probe_off(Role.FILM)


def _lean(plant: Plant, over: bool) -> None:
    plant.lamp.leans = over


def _lift(plant: Plant, up: bool) -> None:
    plant.float_up = up


def _hold(role: Role, warmth: float) -> Hands:
    """Takes the probe of this role into something of that warmth, [K]."""

    def hold(plant: Plant) -> None:
        plant.probes.held[role] = warmth

    return hold


ACTS: Mapping[str, Hands] = MappingProxyType(
    {
        "DRY PULL": Plant.seal_bag,
        "DRY PULL DONE": Plant.open_bag,
        "START": _begin_heating,
        "REHEAT": _begin_heating,
        "RE ARM": _begin_heating,
        "FLIPPED": Plant.flip,
        "UNPLUGGED": _unplug,
        "PROBE OFF": lambda plant: plant.probe_off(Role.FACE),
        "COATING": Plant.take_off_lamp,
        "COATED": _coat,
        "SEALED": _seal,
        "RESEAL": Plant.vent_bag,
        "LET UP": Plant.vent_bag,
        "OPENED": _open,
        "MOVED OUT": Plant.move_out,
    }
)
"""Act to hands. A leak stays through RESEAL: whether the tape held is the scenario's to say."""

AT_THE_BENCH: Mapping[str, Hands] = MappingProxyType(
    {
        **{f"HOLD {role.upper()} PROBE": _hold(role, SKIN) for role in Role},
        **{f"ICE BATH {role.upper()} PROBE": _hold(role, ICE) for role in Role},
        **{f"WARM BATH {role.upper()} PROBE": _hold(role, WARM_BATH) for role in Role},
        "LET GO PROBES": lambda plant: plant.probes.held.clear(),
        "PROBE ON BOARD": _begin_heating,
        "LAMP IN": lambda plant: _plug(plant, True),
        "LAMP OUT": lambda plant: _plug(plant, False),
        "TILT LAMP": lambda plant: _lean(plant, True),
        "RIGHT LAMP": lambda plant: _lean(plant, False),
        "HEAT CUT OUT": lambda plant: plant.lamp.open_cut_out(),
        "RESET CUT OUT": lambda plant: plant.lamp.reset_cut_out(),
        "SEAL EMPTY BAG": Plant.seal_empty_bag,
        "DOSE 60 ML": lambda plant: plant.dose_bag(DOSE),
        "VENT BAG": Plant.vent_bag,
        "OPEN BAG": _open,
        "LIFT FLOAT": lambda plant: _lift(plant, True),
        "DROP FLOAT": lambda plant: _lift(plant, False),
    }
)
"""The same for what is asked for while the rig is checked, which is no act of a batch."""


def plain(kind: str) -> str:
    """An act's name as the tables write it, from any case, its words parted by " ", "-" or "_"."""
    return kind.upper().replace("_", " ").replace("-", " ")


def person_did(plant: Plant, kind: str) -> None:
    """Do to the plant what the act `kind` says was done; acts that move nothing are ignored."""
    act = plain(kind)
    hands = ACTS.get(act) or AT_THE_BENCH.get(act)
    if hands is not None:
        hands(plant)
