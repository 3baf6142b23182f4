"""Breaks the safety core on purpose, one small way at a time, and tells what no test saw.

Run it as a script, `.venv/bin/python tests/mutants.py [FILE ...]`, after
`pip install -e '.[test,mutation]'`. It works in a copy, so the tree it is started from stays as
it is. A breakage that no test sees is a survivor: either a test is missing, or the broken line
means the same and `EXPLAINED` says why. Ends with 1 when a survivor is not explained or an
explanation is out of date. A file takes from 5 min to half an hour.
"""

import os
import shutil
import sys
from collections.abc import Iterator, Mapping
from contextlib import chdir
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from time import monotonic

ROOT = Path(__file__).parent.parent
NEEDED = ("controller", "tests", "pyproject.toml")
"""What the tests of the core need of the tree."""
PATIENCE = 10.0
"""A broken core that takes this many times the usual is taken to hang, and so to be seen. Own."""

_HEAT = ("tests/batch/test_lamp_path.py", "tests/batch/test_heat.py")
_GUARDS = ("tests/batch/test_lamp_guards.py", "tests/batch/test_lamp_path.py")
_ALARMS = ("tests/batch/test_alarms.py",)
CORE: Mapping[str, tuple[str, ...]] = {
    "controller/batch/interlocks.py": (
        "tests/batch/test_lamp_path.py",
        "tests/batch/test_interlock_rows.py",
        "tests/batch/test_acts.py",
    ),
    "controller/invariants.py": ("tests/test_invariant_terms.py", "tests/test_invariants.py"),
    "controller/batch/senses.py": ("tests/batch/test_senses.py",),
    "controller/batch/second_opinion.py": ("tests/batch/test_second_opinion.py",),
    "controller/batch/gauge_doubt.py": ("tests/batch/test_gauge_doubt.py",),
    "controller/batch/pump_off.py": ("tests/batch/test_pump_off.py",),
    "controller/batch/pump_run.py": ("tests/batch/test_pump_run.py",),
    "controller/batch/exotherm.py": ("tests/batch/test_exotherm.py",),
    "controller/batch/lamp_acts.py": ("tests/batch/test_acts.py", *_HEAT),
    "controller/batch/alarm_row.py": _ALARMS,
    "controller/batch/alarm_state.py": _ALARMS,
    "controller/batch/alarms_lamp.py": _ALARMS,
    "controller/batch/alarms_bag.py": _ALARMS,
    "controller/batch/alarms_work.py": _ALARMS,
    "controller/batch/alarm_stages.py": ("tests/batch/test_alarm_stages.py",),
    "controller/batch/alarm_book.py": ("tests/batch/test_alarm_book.py", *_ALARMS),
    "controller/batch/conditions.py": ("tests/batch/test_alarms.py", "tests/batch/test_stories.py"),
    "controller/batch/lamp.py": ("tests/batch/test_lamp_band.py", *_GUARDS),
    "controller/batch/lamp_guards.py": _GUARDS,
    "controller/batch/heat_doubt.py": (
        "tests/batch/test_heat_doubt.py",
        "tests/batch/test_heat.py",
    ),
}
"""Each file of the safety core, and the tests that must see it broken, the quickest first."""

COMPARED = {
    "Lt": ("LtE", "GtE"),
    "LtE": ("Lt", "Gt"),
    "Gt": ("GtE", "LtE"),
    "GtE": ("Gt", "Lt"),
    "Eq": ("NotEq",),
    "NotEq": ("Eq",),
    "Is": ("IsNot",),
    "IsNot": ("Is",),
}
RECKONED = {"Add": "Sub", "Sub": "Add", "Mul": "Div", "Div": "Mul"}
USED = frozenset(
    {
        *(f"ReplaceComparisonOperator_{a}_{b}" for a, bs in COMPARED.items() for b in bs),
        *(f"ReplaceBinaryOperator_{a}_{b}" for a, b in RECKONED.items()),
        "ReplaceUnaryOperator_USub_UAdd",
        "ReplaceUnaryOperator_Delete_Not",
        "AddNot",
        "ReplaceTrueWithFalse",
        "ReplaceFalseWithTrue",
        "ReplaceAndWithOr",
        "ReplaceOrWithAnd",
        "ReplaceBreakWithContinue",
        "ReplaceContinueWithBreak",
        "ExceptionReplacer",
        "NumberReplacer",
        "ZeroIterationForLoop",
    }
)
"""The ways to break a line: a limit moved over its edge, a condition turned, a number one off.

Left out are those that break an annotation or an import, which any test sees."""

_INTERLOCKS = "controller/batch/interlocks.py"
_FREE_AT = "return max(zone.tidied_at + PURGE, max(zone.tidied_at, zone.out_at) + SETTLE)"
_AIRED_MEANWHILE = "SETTLE begins no sooner than the airing and is far longer, so it ends later"
_BOOK = "controller/batch/alarm_book.py"
_WRONG = "wrong = (name for name, cause in causes.items() if cause.there(False, 0.0))"
_ONLY_NAMES = "it chooses what is looked at; what is looked at more than needed raises nothing"
_DOUBT = "controller/batch/heat_doubt.py"
_DROVE = "[a + b for a, b in zip(conduction, drive, strict=True)], 0.0, drive[0], drive[-1]"
_DRIVEN = "[a - b for a, b in zip(driven, drive, strict=True)],"
_FACES = "for i, (was, column) in enumerate(zip(faces, self._columns, strict=True)):"
_GAINS = "for row, gain in zip(self._covariance, gains, strict=True):"
_ENTRIES = "row[:] = [entry - gain * weight for entry, weight in zip(row, weights, strict=True)]"
_RUN = "controller/batch/pump_run.py"
_QUICKEST = "pull.quickest = max(rate, pull.quickest or 0.0)"
_EXOTHERM = "controller/batch/exotherm.py"
_KEPT = "while len(run.warmth) > 1 and view.now - run.warmth[1][0] >= RISE_TIME:"
_ONLOOKER = "controller/invariants.py"
_BURNED = "lambda told, seen: told.burned.get(told.side, 0.0) <= FACE_TIME,"
_NEVER_LIT = "a side that has not burned yet is far under the hour, one second more or less"
EXPLAINED: Mapping[tuple[str, str, str], str] = {
    ("controller/batch/lamp.py", "return True", "return False"): (
        "of a hand at the probe: it has put the watch off, so the next line is no watch either"
    ),
    (_ONLOOKER, _BURNED, _BURNED.replace("0.0", "1.0")): _NEVER_LIT,
    (_ONLOOKER, _BURNED, _BURNED.replace("0.0", "-1.0")): _NEVER_LIT,
    (_INTERLOCKS, "PURGE = 180.0", "PURGE = 181.0"): _AIRED_MEANWHILE,
    (_INTERLOCKS, "PURGE = 180.0", "PURGE = 179.0"): _AIRED_MEANWHILE,
    (_INTERLOCKS, _FREE_AT, _FREE_AT.replace("at + PURGE", "at - PURGE")): _AIRED_MEANWHILE,
    (_BOOK, _WRONG, _WRONG.replace("False", "True")): _ONLY_NAMES,
    (_BOOK, _WRONG, _WRONG.replace("0.0", "1.0")): _ONLY_NAMES,
    (_BOOK, _WRONG, _WRONG.replace("0.0", "-1.0")): _ONLY_NAMES,
    (_DOUBT, _DROVE, _DROVE.replace("True", "False")): (
        "a step refuses a list of another length itself"
    ),
    (_DOUBT, _DRIVEN, _DRIVEN.replace("True", "False")): (
        "a step gives back as many nodes as it gets, and those were compared before it"
    ),
    (_DOUBT, _FACES, _FACES.replace("True", "False")): (
        "the columns were taken apart into four above, and four were put in their place"
    ),
    (_DOUBT, _GAINS, _GAINS.replace("True", "False")): "the gains are made of these very rows",
    (_DOUBT, _ENTRIES, _ENTRIES.replace("True", "False")): (
        "each row was multiplied with six numbers above, and there are six rows"
    ),
    (_RUN, _QUICKEST, _QUICKEST.replace("0.0", "-1.0")): "a piece falls, so no rate is under zero",
    (_EXOTHERM, _KEPT, _KEPT.replace("> 1", "> 2")): (
        "of two readings the second is this step's, and no time has passed since it"
    ),
}
"""Breakages that mean the same: (file, the line, the broken line) to the reason."""


@dataclass(frozen=True, slots=True)
class Survivor:
    """A breakage that no test saw."""

    file: str
    line: int
    was: str
    """The line, stripped."""
    became: str
    """The broken line, stripped."""

    @property
    def why(self) -> str | None:
        """Why it means the same; None when nobody has said."""
        return EXPLAINED.get((self.file, self.was, self.became))


def command(tests: tuple[str, ...]) -> str:
    """What runs these tests, stopping at the first that fails."""
    quiet = "-o addopts= --import-mode=importlib -p no:cacheprovider -x -q"
    return f"{sys.executable} -m pytest {quiet} {' '.join(tests)}"


def broken(file: str, tests: tuple[str, ...]) -> Iterator[Survivor | None]:
    """Break a file in each way, in the present folder; None for a breakage that was seen.

    Raises SystemExit when the tests fail on the file as it is.
    """
    # not at the top: the tool is an extra, and the tests look at every module here
    from cosmic_ray.commands.init import init
    from cosmic_ray.mutating import mutate_and_test
    from cosmic_ray.testing import run_tests
    from cosmic_ray.work_db import WorkDB, use_db
    from cosmic_ray.work_item import TestOutcome

    began = monotonic()
    outcome, said = run_tests(command(tests), 3600.0)
    if outcome is not TestOutcome.SURVIVED:
        raise SystemExit(f"{file}: its tests fail on the file as it is:\n{said}")
    timeout = 60.0 + PATIENCE * (monotonic() - began)
    lines = Path(file).read_text().splitlines()
    with use_db("mutants.sqlite", WorkDB.Mode.create) as work:
        init([Path(file)], work, {})
        for item in work.work_items:
            (mutation,) = item.mutations
            number = mutation.start_pos[0]
            way = mutation.operator_name.partition("/")[2]
            if way not in USED or lines[number - 1].startswith("@"):
                continue
            result = mutate_and_test(item.mutations, command(tests), timeout)
            if result.is_killed:
                yield None
            else:
                yield Survivor(file, number, *_changed(str(result.diff)))


def _changed(diff: str) -> tuple[str, str]:
    """The line that a diff takes out and the one it puts there."""
    rows = [row for row in diff.splitlines() if row[:3] not in ("---", "+++")]
    was, became = next((a, b) for a, b in pairwise(rows) if a[:1] == "-" and b[:1] == "+")
    return was[1:].strip(), became[1:].strip()


def main(files: list[str]) -> int:
    """Break the files, or the whole core when none is named, and print what was found."""
    chosen = files or list(CORE)
    unknown = sorted(set(chosen) - set(CORE))
    if unknown:
        raise SystemExit(f"not in the safety core: {', '.join(unknown)}")
    unexplained = 0
    with TemporaryDirectory(prefix="warmdraw-mutants-") as folder:
        for name in NEEDED:
            copy = shutil.copytree if (ROOT / name).is_dir() else shutil.copy
            copy(ROOT / name, Path(folder) / name)
        os.environ |= {"PYTHONPATH": folder, "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
        with chdir(folder):
            for file in chosen:
                unexplained += _report(file)
    return 1 if unexplained else 0


def _report(file: str) -> int:
    """Break one file and print its score and survivors; how many of these stand unexplained."""
    found: list[Survivor] = []
    count = 0
    for survivor in broken(file, CORE[file]):
        count += 1
        if survivor is not None:
            found.append(survivor)
            why = survivor.why or "NOT EXPLAINED"
            _say(f"{file}:{survivor.line}: {why}\n  - {survivor.was}\n  + {survivor.became}")
    seen = {(each.file, each.was, each.became) for each in found}
    stale = [key for key in EXPLAINED if key[0] == file and key not in seen]
    for _, was, became in stale:
        _say(f"{file}: explained, but seen or gone: {was} -> {became}")
    missing = [each for each in found if each.why is None]
    share = (count - len(found)) / count if count else 1.0
    _say(
        f"{file}: {count - len(found)} of {count} seen, {share:.1%}; "
        f"{len(found) - len(missing)} explained, {len(missing)} not"
    )
    return len(missing) + len(stale)


def _say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
