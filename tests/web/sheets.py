"""What the service answers to a batch description, with a made-up thing or two for it to tell."""

from dataclasses import asdict
from typing import Any

from controller.errors import InputError
from controller.page.sheets import start_tables
from controller.planning.answers.line import Line, Section, Told
from controller.planning.catalogue import built_in
from controller.planning.description import Description, description_of
from controller.planning.form_blanks import GROUPS
from controller.planning.sheet_form import faults_of, form


def start() -> dict[str, Any]:
    """The ash washboard."""
    return start_tables(None)


def reckon(tables: dict[str, Any]) -> dict[str, Any]:
    """As POST /api/sheet answers."""
    faults: list[dict[str, Any]] = []
    sections = None
    try:
        sections = [asdict(section) for section in _told(description_of(tables))]
    except InputError as error:
        faults = [asdict(fault) for fault in faults_of(error, "sheet", tables)]
    return {
        "faults": faults,
        "sections": sections,
        "groups": [
            {"key": group.key, "title": group.title, "table": group.table, "row": group.row}
            for group in GROUPS
        ],
        "fields": [asdict(field) for field in form(tables, built_in())],
        "time_zone": "Europe/Berlin",
    }


def _told(description: Description) -> tuple[Section, ...]:
    area = sum(piece.length * piece.width for piece in description.pieces)
    mass = Told("mass", area * description.coats[0].weight, "worked: area times coat weight")
    thick = Told("length", description.pieces[0].thickness, "told: pieces 1 thickness")
    boards = (Line("boards.size", "size", "The first is {thick} thick.", {"thick": thick}),)
    cup = (
        Line("cup.mix", "mix", "The boards get {mass}.", {"mass": mass}),
        Line("cup.spare", "spare", "Nothing beyond the {mass}.", {"mass": mass}),
        Line("cup.scale", "scale", "This scale is too coarse.", care=True),
    )
    return (
        Section("boards", "Boards", "Are they dry enough?", boards),
        Section("coat 1 cup", "Coat 1: the cup", "How much do I mix?", cup),
    )
