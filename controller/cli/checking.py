"""`warmdraw check`: the rig on the bench, and the record of it."""

import signal
import sys
import tempfile
import time
from argparse import Namespace
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import FrameType

from controller.cli import places
from controller.cli.saying import complain, say
from controller.commissioning import walk
from controller.commissioning.bench import Bench
from controller.commissioning.record import (
    IN_DATE,
    PROOF_IN_DATE,
    BenchRecord,
    Result,
    keep,
    keep_attempt,
    read_attempt,
    read_bench_record,
    withdraw,
)
from controller.daemon.clock import clock_trusted
from controller.errors import InputError
from controller.settings import Settings

BROKEN_OFF = "the check was broken off: outputs are OFF, and nothing was written"


class AtTheBench:
    """The person at the terminal."""

    def tell(self, text: str) -> None:
        """Show a line."""
        say(text)

    def ask(self, question: str, careful: str) -> str:
        """Their answer. Raises InputError when the terminal is gone."""
        sys.stdout.write(f"  {question} > ")
        sys.stdout.flush()
        answer = sys.stdin.readline()
        if not answer:
            raise InputError(BROKEN_OFF)
        return answer.strip()


class Careful:
    """One who has everything at hand and does everything right."""

    def tell(self, text: str) -> None:
        """Show a line."""
        say(text)

    def ask(self, question: str, careful: str) -> str:
        """What a careful person answers, shown as if it had been typed."""
        say(f"  {question} > {careful}")
        return careful


@dataclass(slots=True)
class PretendClock:
    """Rig time that passes when it is waited for."""

    now: float = 0.0

    def __call__(self) -> float:
        return self.now

    def pause(self, seconds: float) -> None:
        """Let so many [s] pass, at once."""
        self.now += seconds


def check(args: Namespace) -> int:
    """Walk through the bench; 0 when the lamp may be armed by what was found."""
    settings, own = places.settings_or_example(args)
    if args.rehearse and not settings.rig.pretended:
        raise InputError(
            '--rehearse answers for the person, and backend is "raspberry": a real rig is checked'
            " by somebody who looks"
        )
    try:
        with _folders(settings, args, own) as placed:
            code = _checked(placed, args)
        if not own and args.state is None and not args.list:
            say("There is no rig.toml, so this was the example rig, and its record is gone again.")
        return code
    except KeyboardInterrupt:
        complain(BROKEN_OFF)
        raise


def _checked(settings: Settings, args: Namespace) -> int:
    steps = walk.chosen(["wired"] if args.list else args.only)
    before = None if args.only is None else _before(settings)
    with _bench(settings, args) as bench:
        if args.list:
            (result,) = walk.walk(bench, steps)
            return 0 if result.verdict == "pass" else 1
        _opening(bench, steps)
        found = () if before is None else before.results
        results = walk.walk(bench, steps, found)
        _deaf()
        return _written(settings, before, results)


def _opening(bench: Bench, steps: Sequence[walk.Step]) -> None:
    marked = ", SIMULATED" if bench.pretended else ""
    at_hand = ", ".join(step.at_hand for step in steps if step.at_hand is not None)
    minutes = sum(step.minutes for step in steps)
    tell = bench.person.tell
    tell(f"Bench check of {bench.settings.rig.name}{marked}: about {minutes:.0f} min.")
    if at_hand:
        tell(f"Have at hand: {at_hand}.")
    tell(
        "Enter goes on, skip leaves a step out, Ctrl-C ends it with every output OFF.\n"
        "Local code and licensed practice come first; nothing here makes this rig a safety device."
    )
    if not bench.pretended and not clock_trusted():
        tell(
            f"The clock is not synced and says {datetime.now(UTC):%Y-%m-%d %H:%M} UTC: the record"
            " is dated by it. If that is wrong, end here and set it."
        )


def _before(settings: Settings) -> BenchRecord:
    """The check some of which is done again: the record in force, or the newest that failed."""
    folder = settings.rig.state_folder
    before = read_bench_record(folder) or read_attempt(folder)
    if before is None or not before.in_date(settings, time.time()):
        raise InputError(
            "a step alone adds to a check in date of a rig that is wired as it was, and there is"
            " none: run the whole of warmdraw check"
        )
    return before


def _written(settings: Settings, before: BenchRecord | None, results: tuple[Result, ...]) -> int:
    now, simulated = time.time(), settings.rig.pretended
    folder = settings.rig.state_folder
    if before is None:
        record = walk.whole(settings, results, now, simulated)
    elif all(found.verdict == "skipped" for found in results):
        complain("no step was done, and nothing is written")
        return 1
    else:
        record = walk.renewed(before, results, now)
    lacking = walk.missing(record.results)
    say("")
    if lacking:
        failed = {found.step for found in results if found.verdict == "fail"}
        if failed & lacking.keys():
            withdrawn = withdraw(folder, now)
            if withdrawn is not None:
                say(f"The record there was is out of force: {withdrawn}")
        say(f"Written down, and nothing goes by it: {keep_attempt(record, folder, now)}")
        for name, why in lacking.items():
            complain(f"{name} was not passed, and the lamp is not armed without it: {why}")
        complain(f"to go on: warmdraw check --only {' '.join(lacking)}")
        return 1
    mark = "SIMULATED, f" if simulated else "F"
    year = datetime.fromtimestamp(record.made_utc + IN_DATE, UTC)
    proof = datetime.fromtimestamp(record.proof_utc + PROOF_IN_DATE, UTC)
    say(f"{mark}or this wiring, until {year:%Y-%m-%d}: {keep(record, folder)}")
    say(f"The proof tests are due again by {proof:%Y-%m-%d}: warmdraw check --only {walk.PROOF}")
    return 0


@contextmanager
def _folders(settings: Settings, args: Namespace, own: bool) -> Iterator[Settings]:
    """The settings; the example rig's folders are its own for as long as it is looked at."""
    if own:
        yield settings
        return
    with tempfile.TemporaryDirectory(prefix="warmdraw-check-") as scratch:
        state, run = args.state or Path(scratch, "state"), args.run or Path(scratch, "run")
        yield places.with_folders(settings, state, run)


@contextmanager
def _bench(settings: Settings, args: Namespace) -> Iterator[Bench]:
    """The rig, claimed for this process alone, outputs OFF at the end however it comes."""
    from controller.daemon.main import LOCK, only_one

    people = places.people(args, settings.shop.time_zone)
    try:
        settings.rig.run_folder.mkdir(mode=0o750, parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"{settings.rig.run_folder}: {error.strerror}; see [rig]") from error
    with only_one(settings.rig.run_folder / LOCK), _ended_by_signals():
        if not settings.rig.pretended:
            # not as control opens it: a record that is bad or SIMULATED is what a check mends
            from controller.hardware.raspberry import RaspberryRig

            start = time.monotonic()

            def clock() -> float:
                return time.monotonic() - start

            with closing(RaspberryRig(settings, clock)) as real:
                yield Bench(
                    real, settings, AtTheBench(), clock, time.sleep, _nothing, real.troubles, people
                )
            return
        from controller.daemon.rigs import pretend_rig
        from controller.rehearsal.scenario import scenario

        story, passing = scenario("good-night"), PretendClock()
        person = Careful() if args.rehearse else AtTheBench()
        with closing(pretend_rig(settings, story, story.seed)) as rig:
            yield Bench(
                rig, settings, person, passing, passing.pause, rig.person_did, rig.troubles, people
            )


def _nothing(act: str) -> None:
    """On a real rig the person's own hands do it."""


@contextmanager
def _ended_by_signals() -> Iterator[None]:
    """A signal ends it as Ctrl-C does: through every `finally`, outputs OFF.

    Once is enough: a second one must not break that off.
    """
    from controller.daemon.main import heard_by

    def end(number: int, frame: FrameType | None) -> None:
        _deaf()
        raise KeyboardInterrupt

    with heard_by(end):
        yield


def _deaf() -> None:
    """No signal ends what comes now: outputs OFF, or the record being written."""
    from controller.daemon.main import SIGNALS

    for number in SIGNALS:
        signal.signal(number, signal.SIG_IGN)
