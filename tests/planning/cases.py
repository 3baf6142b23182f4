"""A coat to ask about, made from the ash washboard by changes to its text."""

from collections.abc import Mapping

from controller.planning.answers.case import Case
from controller.planning.answers.cases_of_a_sheet import cases
from controller.planning.answers.line import Line, Section
from controller.planning.batch_plan import plan
from controller.planning.catalogue import Catalogue, built_in
from controller.planning.description import Description, parse_description
from controller.planning.examples import example
from controller.quantities import Figure, People, fill
from controller.settings import Settings, default_settings_text, parse_settings

C = 273.15
MINUTE, HOUR, DAY = 60.0, 3600.0, 86400.0
ASH = example("washboard-ash")
SAPELE = example("washboard-sapele")


def changed(text: str, *changes: tuple[str, str]) -> str:
    """The text with each first `old` made `new`; an `old` that is not there is a fault."""
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def rig(*changes: tuple[str, str]) -> Settings:
    """The example rig with changes to its settings' text."""
    return parse_settings(changed(default_settings_text(), *changes))


def described(*changes: tuple[str, str], of: str = ASH) -> Description:
    """The example's description with changes to its text."""
    return parse_description(changed(of, *changes))


def all_cases(
    *changes: tuple[str, str],
    on: Settings | None = None,
    of: str = ASH,
    catalogue: Catalogue | None = None,
) -> tuple[Case, ...]:
    """A case for each coat of the changed example."""
    known = catalogue or built_in()
    description = parse_description(changed(of, *changes), catalogue=known)
    settings = on or rig()
    return cases(description, settings, plan(description, settings, known), known)


def case(
    *changes: tuple[str, str],
    on: Settings | None = None,
    coat: int = 1,
    of: str = ASH,
    catalogue: Catalogue | None = None,
) -> Case:
    """The case of one coat of the changed example."""
    return all_cases(*changes, on=on, of=of, catalogue=catalogue)[coat - 1]


def line(section: Section | None, key: str) -> Line:
    """The one line of that key. Fails where there is none or more than one."""
    assert section is not None
    found = [each for each in section.lines if each.key == key]
    assert len(found) == 1, (key, [each.key for each in section.lines])
    return found[0]


def keys(section: Section | None) -> list[str]:
    """The keys of a section's lines."""
    return [] if section is None else [each.key for each in section.lines]


def read(line: Line, units: People | None = None) -> str:
    """The line as a person reads it; fails on a gap without a figure."""
    values: Mapping[str, Figure] = {
        name: {"kind": told.kind, "value": told.value} for name, told in line.figures.items()
    }
    return fill(line.text, values, units or People())
