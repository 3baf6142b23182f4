"""What the rules of bag and pump look at in a step."""

from dataclasses import dataclass

from controller.batch.signals import RigFacts, Sample
from controller.planning.sheet import Bag

GAUGE_AGE_LIMIT = 10.0
"""Oldest bag reading that is believed, [s]. Own."""


@dataclass(frozen=True, slots=True)
class BagView:
    """What the bag's rules look at in a step."""

    now: float
    """Rig time, [s]."""
    sample: Sample | None
    """Newest good gauge reading, [Pa]."""
    air: float
    """Air pressure, [Pa]."""
    plan: Bag
    """The sheet's."""
    facts: RigFacts
    """The rig's."""

    @property
    def pressure(self) -> float | None:
        """The reading, if it is young enough to be believed, [Pa]."""
        if self.sample is None or self.sample.age(self.now) > GAUGE_AGE_LIMIT:
            return None
        return self.sample.value
