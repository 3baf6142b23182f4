"""The solvent leaving: only hours that were watched count, and only at their temperature."""

from controller.batch.state import Run
from controller.science.cure import age_gained, arrhenius_factor

FLAT = 0.001
"""Change of mass a day at or under which weigh-ins are flat; own, [-]."""
DAY = 86400.0
"""[s]."""
AT_ONCE = 3600.0
"""Weigh-ins this close together are one weighing, [s]. Own."""


def air_out(run: Run, seconds: float, temperature: float) -> None:
    """Add one watched step at the room's temperature [K]."""
    plan = run.coat.flash_off
    if run.film_off_at is not None and plan.late > 0:
        run.flashed += age_gained(seconds, temperature, plan.reference, plan.activation_energy)


def share(run: Run) -> float:
    """Share of the flash-off that is done, reckoned to its late end; 1 without a thinner."""
    late = run.coat.flash_off.late
    return 1.0 if late <= 0 else min(run.flashed / late, 1.0)


def late_end_at(run: Run, now: float, temperature: float) -> float:
    """Rig time of the late end if the room stays at this temperature, [s]."""
    plan = run.coat.flash_off
    left = max(plan.late - run.flashed, 0.0)
    return now + left / arrhenius_factor(temperature, plan.reference, plan.activation_energy)


def weigh_ins_flat(run: Run) -> bool:
    """The last three weigh-ins of the board since its film came off, a day or more apart in all,
    hardly differ.

    Where the uncoated sister piece was weighed at the same times, its own change, which is the
    room's damp and not the solvent, is taken off.
    """
    since = run.since if run.film_off_at is None else run.film_off_at
    board = [(at, kg) for at, what, kg in run.weigh_ins if what == "board" and at >= since][-3:]
    if len(board) < 3 or board[-1][0] - board[0][0] < DAY:
        return False
    days = (board[-1][0] - board[0][0]) / DAY
    change = board[-1][1] / board[0][1] - 1.0
    begun = board[0][0] - AT_ONCE
    sister = [mass for at, what, mass in run.weigh_ins if what == "sister" and at >= begun]
    if len(sister) >= 2:
        change -= sister[-1] / sister[0] - 1.0
    return abs(change) / days <= FLAT


def done(run: Run) -> bool:
    """The solvent is out: by the late end of the clock, or by flat weigh-ins past its early end."""
    plan = run.coat.flash_off
    if plan.late <= 0 or run.flashed >= plan.late:
        return True
    return run.flashed >= plan.early and weigh_ins_flat(run)
