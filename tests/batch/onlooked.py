"""What an onlooker hears and sees."""

from dataclasses import replace

from controller.batch.acts import Act, ActKind
from controller.batch.signals import Sample
from controller.invariants import Seen


def act(kind: ActKind, batch: str = "b", **values: str | float | bool) -> Act:
    return Act(id=str(kind), kind=kind, batch=batch, stage=None, by="test", values=values)


def seen(now: float, **more: object) -> Seen:
    """A lamp that burns with every reason to."""
    usual = Seen(
        now=now,
        lamp=True,
        pump=False,
        stage="PREHEAT",
        face=Sample(313.0, now),
        trip=330.0,
        band_high=318.0,
        record_in_date=True,
        close_watch=False,
    )
    return replace(usual, **more)  # type: ignore[arg-type]
