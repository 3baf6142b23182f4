"""The whole check: its steps in order, which of them a lamp may not be armed without, and why."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from types import MappingProxyType

from controller.batch.signals import OUTPUTS_OFF
from controller.commissioning import (
    steps_bag,
    steps_outputs,
    steps_probes,
    steps_proof,
)
from controller.commissioning.bench import Bench, Failed, Skipped
from controller.commissioning.record import BenchRecord, Result, wiring
from controller.errors import InputError, OutputError
from controller.settings import Settings

PROOF = "proof"
"""Name of all steps that are asked for each month."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step."""

    name: str
    why: str
    """What it is for, to people."""
    run: Callable[[Bench], Result]
    minutes: float
    """How long it takes, with what a person does. Own guess."""
    needed: str | None = None
    """Why the lamp is not armed without it; None where it is."""
    after: tuple[str, ...] = ()
    """Steps that must not have failed: it would be dangerous, or tell nothing."""
    at_hand: str | None = None
    """What it wants from the shop."""
    proof: bool = False
    """It is asked for again each month."""


STEPS: tuple[Step, ...] = (
    Step(
        "wired",
        "What is wired, and does it answer?",
        steps_outputs.what_is_wired,
        1,
        "a sensor that is silent now is silent tonight",
    ),
    Step(
        "outputs",
        "Is OFF off?",
        steps_outputs.outputs_off,
        1,
        "a relay that closes on OFF heats an empty shop",
    ),
    Step(
        "lamp",
        "Does the lamp burn on ON, only then, and does the probe see it?",
        steps_outputs.lamp_proof,
        5,
        "the lamp is held by this probe through this relay",
        after=("outputs",),
        at_hand="a board and tape",
    ),
    Step(
        "probes",
        "Which probe is which?",
        steps_probes.which_is_which,
        4,
        "a lamp that is held by the room's probe scorches the board",
    ),
    Step(
        "points",
        "Do the probes read right?",
        steps_probes.two_points,
        6,
        "there are probes that read four degrees low",
        after=("probes",),
        at_hand="crushed ice, warm water, a thermometer you trust",
    ),
    Step(
        "gauge",
        "Does the open gauge read the air?",
        steps_bag.gauge_zero,
        1,
        "a wrong zero hides a leak, or makes one",
    ),
    # each batch's dry pull asks the same of its own bag
    Step(
        "bag",
        "How deep, how fast, how tight?",
        steps_bag.empty_bag,
        10,
        after=("outputs", "gauge"),
        at_hand="an empty bag with its breather, a 60 mL syringe",
    ),
    Step(
        "cut-out",
        "Does the cut-out open, and the lamp stay dark then?",
        steps_proof.cut_out,
        4,
        "it is what catches a probe that sees a share of the heat",
        after=("outputs", "lamp"),
        at_hand="a hot-air gun",
        proof=True,
    ),
    Step(
        "dead-man",
        "Does the contactor drop when nothing moves?",
        steps_proof.dead_man,
        1,
        "it is what makes the lamp dark when the Pi is dead",
        after=("outputs", "lamp"),
        proof=True,
    ),
    Step(
        "STOP",
        "Does STOP stop?",
        steps_proof.stop_button,
        1,
        "somebody will press it",
        after=("outputs",),
        proof=True,
    ),
    Step(
        "NEXT",
        "Is NEXT seen?",
        steps_proof.next_button,
        1,
        "it speaks for you, and one that taps itself does so while you are away",
        proof=True,
    ),
    Step("sounder", "Would it wake you?", steps_proof.sounder, 1, "phones sleep", proof=True),
    Step(
        "tilt",
        "Does a leaning stand tell?",
        steps_proof.tilt,
        1,
        "a lamp that falls goes on burning",
        proof=True,
    ),
    Step(
        "float",
        "Does a full trap tell?",
        steps_proof.trap,
        1,
        "resin in the pump ends a night unseen",
        proof=True,
    ),
    Step(
        "room",
        "What if all of it fails?",
        steps_proof.room,
        2,
        "then a plug, an alarm and an extinguisher are all there is",
    ),
)
BY_NAME: Mapping[str, Step] = MappingProxyType({step.name: step for step in STEPS})


def chosen(only: Sequence[str] | None) -> tuple[Step, ...]:
    """The steps of these names, `proof` for all of the proof; all for None. Raises InputError."""
    if only is None:
        return STEPS
    asked = {name.lower() for name in only}
    unknown = asked - {name.lower() for name in BY_NAME} - {PROOF}
    if unknown:
        raise InputError(
            f"no step '{min(unknown)}': there are {', '.join(BY_NAME)}; and {PROOF} for those of"
            " each month"
        )
    return tuple(
        step for step in STEPS if step.name.lower() in asked or (step.proof and PROOF in asked)
    )


def walk(bench: Bench, steps: Sequence[Step], before: Sequence[Result] = ()) -> tuple[Result, ...]:
    """Each step once, outputs OFF between them. One that fails ends only those that hang on it,
    but outputs that do not follow end it all.

    before: what an earlier check found, for steps that are not done again
    """
    found = {result.step: result for result in before}
    bench.zero = sum(result.corrections.get("bag", 0.0) for result in before)
    mark = "SIMULATED " if bench.pretended else ""
    results: list[Result] = []
    followed = True
    for number, step in enumerate(steps, 1):
        bench.person.tell(f"\n{mark}{number} of {len(steps)}, {step.name}. {step.why}")
        if followed:
            try:
                result = _step(bench, step, found)
            except OutputError as error:
                followed = False
                result = Result(step=step.name, verdict="fail", says=str(error))
        else:
            says = "nothing is tried with outputs that do not follow"
            result = Result(step=step.name, verdict="skipped", says=says)
        bench.person.tell(f"  {result.verdict.upper()}: {result.says}")
        results.append(result)
        found[step.name] = result
    return tuple(results)


def _step(bench: Bench, step: Step, found: Mapping[str, Result]) -> Result:
    """What comes of one step. Raises OutputError."""
    for name in step.after:
        if name in found and found[name].verdict == "fail":
            says = f"not while {name} fails"
            return Result(step=step.name, verdict="skipped", says=says)
    try:
        return step.run(bench)
    except Failed as finding:
        return Result(step=step.name, verdict="fail", says=str(finding))
    except Skipped:
        return Result(step=step.name, verdict="skipped", says="not done this time")
    finally:
        bench.rig.apply(OUTPUTS_OFF)


def missing(results: Sequence[Result]) -> dict[str, str]:
    """The steps a lamp is not armed without and that were not passed, and why they are needed."""
    verdicts = {result.step: result.verdict for result in results}
    return {
        step.name: step.needed
        for step in STEPS
        if step.needed is not None and verdicts.get(step.name) not in ("pass", "not fitted")
    }


def whole(
    settings: Settings, results: Sequence[Result], now_utc: float, simulated: bool
) -> BenchRecord:
    """The record of a check of everything.

    now_utc: the calendar, seconds since 1970 UTC
    """
    day = datetime.fromtimestamp(now_utc, UTC)
    return BenchRecord(
        version=2,
        name=f"{'SIMULATED ' if simulated else ''}bench check of {day:%Y-%m-%d}",
        made_utc=now_utc,
        proof_utc=now_utc,
        simulated=simulated,
        wiring=wiring(settings),
        results=tuple(results),
    )


def renewed(before: BenchRecord, results: Sequence[Result], now_utc: float) -> BenchRecord:
    """The record with some of its steps done again; its year runs from the whole check.

    A step that was skipped this time stays as it was. now_utc: as in `whole`
    """
    again = {result.step: result for result in results if result.verdict != "skipped"}
    proved = {step.name for step in STEPS if step.proof} <= again.keys()
    return before.model_copy(
        update={
            "results": tuple(again.get(found.step, found) for found in before.results),
            "proof_utc": now_utc if proved else before.proof_utc,
        }
    )
