"""The batch sheet and everything it answers, section by section in the order of the work."""

from collections.abc import Callable, Iterator
from types import ModuleType

from controller.planning.answers import (
    boards,
    clocks,
    cup,
    draw,
    fresh_air,
    let_up,
    thinness,
    vacuum,
    warmth,
)
from controller.planning.answers.case import Case
from controller.planning.answers.cases_of_a_sheet import cases
from controller.planning.answers.line import Line, Section
from controller.planning.batch_plan import plan
from controller.planning.catalogue import Catalogue, built_in
from controller.planning.description import Description
from controller.planning.sheet import BatchSheet
from controller.settings import Settings

OF_A_COAT: tuple[ModuleType, ...] = (
    warmth,
    cup,
    thinness,
    draw,
    vacuum,
    let_up,
    clocks,
    fresh_air,
)
"""Who answers for a coat, in the order of the work; each has section(case), None for no answer."""


def answers(
    description: Description, settings: Settings, catalogue: Catalogue | None = None
) -> tuple[BatchSheet, tuple[Section, ...]]:
    """The sheet the engine works from, and the sections a person reads.

    Raises InputError as `plan` does.
    """
    catalogue = catalogue or built_in()
    sheet = plan(description, settings, catalogue)
    return sheet, tuple(_sections(cases(description, settings, sheet, catalogue)))


def _sections(every: tuple[Case, ...]) -> Iterator[Section]:
    yield boards.section(every)
    for case in every:
        for room in OF_A_COAT:
            answer: Callable[[Case], Section | None] = room.section
            found = answer(case)
            if found is not None:
                yield found
    if every[0].sheet.cautions:
        yield _cautions(every[0].sheet)


def _cautions(sheet: BatchSheet) -> Section:
    """The sheet's warnings; their sentences are whole, with no gaps in them."""
    lines = tuple(
        Line(f"cautions.{number}", "mind", text, care=True)
        for number, text in enumerate(sheet.cautions, 1)
    )
    return Section("cautions", "Cautions", "What could spoil it?", lines)


__all__ = ["OF_A_COAT", "answers", "cases"]
