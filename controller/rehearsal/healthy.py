"""Nights on which nothing goes wrong: what may not call anybody out of bed, by one number.

Even numbers are evenings of a shop that keeps its own air, odd ones those of a shop that follows
the weather of a typical year: number 2 n + 1 begins on day n, and after a year the hour moves on.
"""

from datetime import UTC, datetime, timedelta
from random import Random

from controller.planning.examples import EXAMPLES
from controller.rehearsal.scenario import Scenario

NEW_YEAR = datetime(2027, 1, 1, 5, tzinfo=UTC)
"""Midnight at the rig of the example settings, whose hours the weather's are."""
EARLIEST, HOURS = 13, 6
"""Told hour from which work begins, and over how many it spreads, [h]. Own."""


def healthy_scenario(number: int) -> Scenario:
    """The night of that number."""
    rng = Random(f"night {number}")
    day = number // 2
    hour = EARLIEST + (day // 365 + rng.randrange(HOURS)) % HOURS
    start = rng.uniform(16.0, 25.0)
    told = {
        "name": f"healthy-{number}",
        "says": "Nothing goes wrong.",
        "starts_at": NEW_YEAR + timedelta(days=day % 365, hours=hour),
        "batch": rng.choice(EXAMPLES),
        "seed": number,
        "evening": {
            "start": f"{start:.1f} degC",
            "night_low": f"{start - rng.uniform(0.0, 6.0):.1f} degC",
            "day_high": f"{start + rng.uniform(0.0, 4.0):.1f} degC",
        },
        "dry_pull": rng.random() < 0.7,
    }
    if number % 2:
        told["outdoors"] = 24 * (day % 365) + hour
    return Scenario.model_validate(told)
