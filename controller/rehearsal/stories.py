"""Any story by its name: one that ships, or one made from a number."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from controller.errors import InputError
from controller.rehearsal.chance import random_scenario
from controller.rehearsal.healthy import healthy_scenario
from controller.rehearsal.scenario import Scenario, scenario, shipped

MADE: Mapping[str, Callable[[int], Scenario]] = MappingProxyType(
    {"random": random_scenario, "healthy": healthy_scenario}
)
"""Kinds of stories that are made from a number; one is named KIND-NUMBER."""


def story(name: str) -> Scenario:
    """The story of that name. Raises InputError, naming what there is."""
    kind, _, number = name.partition("-")
    if kind in MADE and number.isdecimal():
        return MADE[kind](int(number))
    if name not in shipped():
        made = ", ".join(f"{kind}-N" for kind in MADE)
        raise InputError(
            f"no scenario '{name}': there are {', '.join(shipped())}, and {made} for any number N"
        )
    return scenario(name)
