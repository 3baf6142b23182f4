"""Which probe is which, and what each reads at two temperatures a person knows."""

from collections.abc import Sequence

from controller.batch.signals import Role
from controller.commissioning.bench import Bench, Look, Skipped, mean, must
from controller.commissioning.record import Result
from controller.errors import InputError
from controller.hardware.rig import wired_probes
from controller.quantities import parse_temperature
from controller.science.constants import ZERO_CELSIUS

WARMED, WARMED_WITHIN, BYSTANDER = 2.0, 60.0, 1.0
"""A held probe rises so far [K] in so long [s], and no other rises so far [K]. Own."""
HAND = ZERO_CELSIUS + 33.0
"""Skin, [K]; common practice, no source."""
SETTLES, LAST = 120.0, 20.0
"""How long a probe lies in its bath, and over how much of the end it is read, [s]. Own."""
ICE_WITHIN, WARM_WITHIN, TOO_FAR = 0.5, 1.0, 2.0
"""A probe this near needs no correction, in ice and in warm water; one this far off is no good,
[K]. The first is the chip's own figure, from memory, to be checked; the others own."""
ASKED = (ZERO_CELSIUS + 40.0, ZERO_CELSIUS + 50.0)
WARM = (ZERO_CELSIUS + 35.0, ZERO_CELSIUS + 60.0)
"""What a warm bath is asked to be, and what it may be, [K]: about as warm as a face gets. Own."""


def which_is_which(bench: Bench) -> Result:
    """Each probe is held in a hand: it rises, and no other does."""
    roles = list(wired_probes(bench.settings))
    if not roles:
        return Result(step="probes", verdict="not fitted", says="no probe is wired")
    figures = {}
    for role in roles:
        # a hand that is there already has warmed it
        before = bench.watch(1.0)[-1]
        bench.do(
            f"Close your hand round the {role} probe, and keep it there.",
            f"HOLD {role.upper()} PROBE",
        )
        rises = dict.fromkeys(roles, 0.0)
        for _ in range(round(WARMED_WITHIN)):
            look = bench.watch(1.0)[-1]
            rises = {
                each: max(rises[each], look.probe(each) - before.probe(each)) for each in roles
            }
            if rises[role] > WARMED:
                break
        bench.hands("LET GO PROBES")
        others = [each for each in roles if each is not role and rises[each] > BYSTANDER]
        must(
            rises[role] > WARMED and not others,
            f"you held the {role} probe, and what rose was"
            f" {', '.join(others) if others else 'none'}: change the ids in rig.toml, or the plugs"
            f" (a room near {bench.said(HAND - WARMED, 'temperature')} is too warm for this test)",
        )
        figures[f"{role}_rise_k"] = round(rises[role], 3)
    return Result(
        step="probes", verdict="pass", says="each probe is the one it is named", figures=figures
    )


def two_points(bench: Bench) -> Result:
    """Ice and warm water: a probe that is off is corrected, one too far off is refused.

    The face probe must; of the others the person says which, and all lie in the same bath.
    """
    roles = [role for role in wired_probes(bench.settings) if _goes_in(bench, role)]
    if not roles:
        says = "no face probe, and the others were left where they are"
        return Result(step="points", verdict="not fitted", says=says)
    put = _named(roles)
    bench.do(
        f"Put the {put} into crushed ice and water, stirred.",
        *(f"ICE BATH {role.upper()} PROBE" for role in roles),
    )
    bench.person.tell(f"  {SETTLES / 60:.0f} minutes.")
    in_ice = bench.watch(SETTLES)
    least, most = (bench.said(end, "temperature") for end in ASKED)
    bench.do(
        f"Now into water of {least} to {most}, stirred, your thermometer beside.",
        *(f"WARM BATH {role.upper()} PROBE" for role in roles),
    )
    bench.person.tell(f"  {SETTLES / 60:.0f} minutes. Then read your thermometer.")
    in_warm = bench.watch(SETTLES)
    warm = _typed(bench)
    bench.hands("LET GO PROBES")
    found = [
        _judged(bench, role, _read(in_ice, role) - ZERO_CELSIUS, _read(in_warm, role) - warm)
        for role in roles
    ]
    figures: dict[str, float] = {}
    corrections: dict[str, float] = {}
    for each in found:
        figures |= each.figures
        corrections |= each.corrections
    says = "; ".join(each.says for each in found)
    return Result(
        step="points", verdict="pass", says=says, figures=figures, corrections=corrections
    )


def _goes_in(bench: Bench, role: Role) -> bool:
    try:
        return role is Role.FACE or bench.yes(f"Does the {role} probe come off, to be checked too?")
    except Skipped:
        return False


def _named(roles: Sequence[Role]) -> str:
    """Probes as they are told to people.

    >>> _named([Role.FACE]), _named([Role.FACE, Role.BACK, Role.FILM])
    ('face probe', 'face, back and film probes')
    """
    if len(roles) == 1:
        return f"{roles[0]} probe"
    return f"{', '.join(roles[:-1])} and {roles[-1]} probes"


def _read(seen: Sequence[Look], role: Role) -> float:
    """What the chip itself reads in its bath, [K]."""
    return mean([look.probe(role) for look in seen[-round(LAST) :]])


def _judged(bench: Bench, role: Role, ice: float, warm: float) -> Result:
    """One probe by how much too high it reads in ice and in warm water, [K]."""
    found = f"{bench.warmer(ice)} in ice and {bench.warmer(warm)} in warm water"
    must(
        max(abs(ice), abs(warm)) <= TOO_FAR,
        f"the {role} probe is off by {found}: replace it; one so far off may be anything when hot",
    )
    correction = -(ice + warm) / 2
    off = abs(ice) > ICE_WITHIN or abs(warm) > WARM_WITHIN
    done = f"corrected by {bench.warmer(correction)}" if off else "right"
    return Result(
        step="points",
        verdict="pass",
        says=f"{role} {found}: {done}",
        figures={f"{role}_ice_k": round(ice, 3), f"{role}_warm_k": round(warm, 3)},
        corrections={str(role): round(correction, 3)} if off else {},
    )


def _typed(bench: Bench) -> float:
    """What the person's thermometer says, [K]."""
    while True:
        answer = bench.asked("What does your thermometer say? Like 45.2 C, or 113.4 F.", "45.0 C")
        try:
            value = parse_temperature(answer)
        except InputError as error:
            bench.person.tell(f"  {error}")
            continue
        if WARM[0] <= value <= WARM[1]:
            return value
        low, high = (bench.said(end, "temperature") for end in WARM)
        bench.person.tell(f"  A bath from {low} to {high} is wanted.")
