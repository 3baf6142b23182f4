"""The batch sheet as JSON text: how it is stored, and how it travels with a PLAN act.

Two shapes are read: the bare sheet, and `{"sheet": ..., "sections": [...]}`, the sheet with its
answers.
"""

from dataclasses import dataclass
from typing import Any

from pydantic import TypeAdapter, ValidationError
from pydantic_core import from_json

from controller.errors import InputError
from controller.planning.answers.line import Section
from controller.planning.sheet import BatchSheet


@dataclass(frozen=True, slots=True)
class Answered:
    """A sheet with what it tells a person."""

    sheet: BatchSheet
    """What the engine works from."""
    sections: tuple[Section, ...]
    """What is read; empty where only the sheet was written."""


_SHEET = TypeAdapter(BatchSheet)
_ANSWERED = TypeAdapter(Answered)


def sheet_to_json(sheet: BatchSheet) -> str:
    """The sheet as JSON text, SI units as in its docstrings."""
    return _SHEET.dump_json(sheet).decode()


def sheet_from_json(text: str) -> BatchSheet:
    """The sheet from either shape. Raises InputError, with every fault, where it is none."""
    return answers_from_json(text).sheet


def answers_json(sheet: BatchSheet, sections: tuple[Section, ...]) -> str:
    """The sheet and its sections as JSON text; figures in SI, each with its kind and source."""
    return _ANSWERED.dump_json(Answered(sheet, sections)).decode()


def answers_from_json(text: str) -> Answered:
    """The sheet and its sections from either shape. Raises InputError, as above."""
    try:
        if _is_answered(text):
            return _ANSWERED.validate_json(text)
        return Answered(_SHEET.validate_json(text), ())
    except ValidationError as error:
        faults = "; ".join(
            f"{'.'.join(str(part) for part in fault['loc'])}: {fault['msg']}"
            for fault in error.errors()
        )
        raise InputError(f"this is no batch sheet: {faults}") from error


def _is_answered(text: str) -> bool:
    try:
        found: Any = from_json(text)
    except ValueError:
        # told by the sheet's own reading, in its words
        return False
    return isinstance(found, dict) and "sections" in found
