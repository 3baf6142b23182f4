"""What is true of the rig today: its settings, and the dated record of its bench check."""

from collections.abc import Callable
from dataclasses import replace

from controller.batch.signals import Corrections, RigFacts
from controller.commissioning.record import BenchRecord
from controller.errors import InputError
from controller.hardware.rig import wired_probes
from controller.instant import Instant
from controller.rehearsal.rig import SIMULATED_RECORD, facts_for
from controller.settings import Settings


def real_facts(settings: Settings, record: BenchRecord | None) -> Callable[[Instant], RigFacts]:
    """The facts of a real rig at any moment. Raises InputError for a record that is SIMULATED."""
    if record is not None and record.simulated:
        raise InputError(
            f"the bench record {record.name} is SIMULATED and this rig is real: run warmdraw check"
        )
    base = facts_for(
        settings,
        frozenset(wired_probes(settings)),
        simulated=False,
        record=None if record is None else record.name,
        in_date=False,
    )
    if record is None:
        return base
    as_checked = record.is_of(settings)
    proved = as_checked and record.passed("cut-out") and record.passed("dead-man")
    # another probe has another error
    corrections = record.corrections() if as_checked else Corrections()

    def at(now: Instant) -> RigFacts:
        return replace(
            base(now),
            record_in_date=as_checked and record.young(now.told_utc),
            close_watch=settings.rig.close_watch or not proved or record.proof_due(now.told_utc),
            corrections=corrections,
            check_due_in=record.days_left(now.told_utc, proved) if as_checked else None,
        )

    return at


def pretend_facts(settings: Settings, record: str) -> Callable[[Instant], RigFacts]:
    """The facts of a pretend rig, which brings a record marked SIMULATED.

    record: "in date", "out of date" or "none"
    """
    return facts_for(
        settings,
        frozenset(wired_probes(settings)),
        simulated=True,
        record=None if record == "none" else SIMULATED_RECORD,
        in_date=record == "in date",
    )
