"""What a person's hands do to the pretend rig when an act is told."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from controller.batch.signals import Role
from controller.hardware.plant import Plant


def _begin_heating(plant: Plant) -> None:
    plant.place_under_lamp()
    plant.probe_on(Role.FACE)


def _unplug(plant: Plant) -> None:
    plant.unplug_lamp()
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


HANDS: Mapping[str, Callable[[Plant], None]] = MappingProxyType(
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


def plain(kind: str) -> str:
    """An act's name as the table writes it, from any case, its words parted by " ", "-" or "_"."""
    return kind.upper().replace("_", " ").replace("-", " ")


def person_did(plant: Plant, kind: str) -> None:
    """Do to the plant what the act `kind` says was done; acts that move nothing are ignored."""
    hands = HANDS.get(plain(kind))
    if hands is not None:
        hands(plant)
