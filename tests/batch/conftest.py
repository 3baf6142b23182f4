"""What the tests of this room share."""

import pytest
from made import made_facts

from controller.batch.signals import RigFacts


@pytest.fixture
def facts() -> RigFacts:
    """A wired simulated rig in good order."""
    return made_facts()
