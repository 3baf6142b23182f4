"""The air outside a pretend shop through a typical year, hour by hour."""

from functools import cache
from importlib import resources

from controller.science.constants import ZERO_CELSIUS

HOURS_OF_YEAR = 8760
KEPT = 10 * 24
"""As many hours are handed out, [h]: longer than any batch is played."""
PA_PER_HPA = 100.0


@cache
def _year() -> tuple[tuple[float, float], ...]:
    """Air, [K], and its pressure, [Pa], of each hour."""
    text = (resources.files(__package__) / "greensboro.csv").read_text("ascii")
    rows = [line.split(",") for line in text.splitlines() if line[0] in "-0123456789"]
    return tuple(
        (float(air) + ZERO_CELSIUS, PA_PER_HPA * float(pressure)) for air, pressure in rows
    )


def hours_from(hour: int) -> tuple[tuple[float, float], ...]:
    """Air outside [K] and its pressure [Pa] of ten days from this hour of the year on.

    The year goes round: after 31 December comes 1 January.
    """
    year = _year()
    return tuple(year[(hour + ahead) % HOURS_OF_YEAR] for ahead in range(KEPT))
