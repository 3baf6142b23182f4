"""The blanks of a batch description as a form: what each is called, may hold, and holds now."""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from math import floor, log10
from typing import get_args

from pydantic.fields import FieldInfo

from controller.errors import InputError
from controller.planning.catalogue import Catalogue
from controller.planning.form_blanks import GROUPS, Blank, Group
from controller.quantities import (
    parse_altitude,
    parse_area,
    parse_density,
    parse_length,
    parse_mass,
    parse_pressure,
    parse_pressure_difference,
    parse_temperature,
    parse_volume,
)
from controller.quantities.said import (
    FLUID_OUNCE,
    FOOT,
    INCH,
    INCH_OF_MERCURY,
    OUNCE,
    ZERO_CELSIUS,
)


def _units(
    parse: Callable[[str], float], *offered: tuple[str, float]
) -> Callable[[str], tuple[str, ...]]:
    """Says a typed text in each unit: its name, and how much of SI one of it is."""

    def said(text: str) -> tuple[str, ...]:
        value = parse(text)
        return tuple(f"{_short(value / one)} {name}" for name, one in offered)

    return said


def _short(number: float) -> str:
    """Three digits that count, and every one before the point."""
    if number == 0:
        return "0"
    decimals = max(0, 2 - floor(log10(abs(number))))
    text = f"{number:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _temperature(text: str) -> tuple[str, ...]:
    celsius = parse_temperature(text) - ZERO_CELSIUS
    degrees = (("°C", celsius), ("°F", celsius * 1.8 + 32))
    return tuple(f"{round(value, 1) + 0.0:g} {name}" for name, value in degrees)


def _pressure(text: str) -> tuple[str, ...]:
    # between the words there is the shop's air, which the form does not know
    pressure = parse_pressure(text)
    units = (("inHg", INCH_OF_MERCURY), ("kPa", 1e3), ("mbar", 100.0))
    offered = units if pressure.kind == "vacuum" else units[1:]
    return tuple(f"{_short(pressure.value / one)} {name} {pressure.kind}" for name, one in offered)


def _coat_weight(text: str) -> float:
    mass, _, area = text.partition("/")
    return parse_mass(mass) / parse_area(f"1 {area}")


UNITS: dict[str, Callable[[str], tuple[str, ...]]] = {
    "length": _units(parse_length, ("mm", 1e-3), ("in", INCH)),
    "altitude": _units(parse_altitude, ("m", 1.0), ("ft", FOOT)),
    "mass": _units(parse_mass, ("g", 1e-3), ("oz", OUNCE)),
    "coat_weight": _units(_coat_weight, ("g/m2", 1e-3), ("oz/ft2", OUNCE / FOOT**2)),
    "density": _units(parse_density, ("g/mL", 1e3), ("kg/m3", 1.0)),
    "volume": _units(parse_volume, ("L", 1e-3), ("fl oz", FLUID_OUNCE)),
    "air": _units(parse_volume, ("m3", 1.0), ("ft3", FOOT**3)),
    "air_pressure": _units(parse_pressure_difference, ("hPa", 100.0), ("inHg", INCH_OF_MERCURY)),
    "temperature": _temperature,
    "pressure": _pressure,
}
"""Kinds of quantity with several units on offer: a typed text, said in each."""


@dataclass(frozen=True, slots=True)
class FormField:
    """One blank, filled in or not."""

    key: str
    """Where its value stands: "pieces 1 thickness", counted as people count."""
    group: str
    """Key of its group."""
    label: str
    """What it asks for."""
    kind: str
    """How it is filled in: 'text', 'choice', 'several', 'tick', 'count', 'moment' or 'hour'."""
    text: str
    """As it was typed; empty where it was left out."""
    units: tuple[str, ...]
    """The same value in each unit on offer; empty where there is one unit, or no value."""
    choices: tuple[str, ...]
    """What a 'choice' or 'several' is chosen from."""
    without: str
    """What holds where it is left out; empty for what must be filled in."""
    hint: str
    """A few words more."""


def form(description: Mapping[str, object], catalogue: Catalogue) -> tuple[FormField, ...]:
    """Every blank of the form for these tables, in order, whatever is wrong with them."""
    return tuple(field for group in GROUPS for field in _of_group(group, description, catalogue))


def _of_group(
    group: Group, description: Mapping[str, object], catalogue: Catalogue
) -> Iterator[FormField]:
    for blank in group.blanks:
        table, _, key = blank.key.rpartition(" ")
        holder = description.get(table) if table else description
        value = holder.get(key) if isinstance(holder, Mapping) else None
        yield _field(group, blank, blank.key, value, description, catalogue)
    rows = description.get(group.table) if group.table else None
    for number, row in enumerate(rows if isinstance(rows, list | tuple) else (), 1):
        for blank in group.each:
            value = row.get(blank.key) if isinstance(row, Mapping) else None
            place = f"{group.table} {number} {blank.key}"
            yield _field(group, blank, place, value, description, catalogue)


def _field(
    group: Group,
    blank: Blank,
    place: str,
    value: object,
    description: Mapping[str, object],
    catalogue: Catalogue,
) -> FormField:
    text = _as_text(value)
    kind = blank.kind
    if kind == "moment":
        text = _for_a_picker(text)
    return FormField(
        key=place,
        group=group.key,
        label=blank.label,
        kind="text" if kind in UNITS else kind,
        text=text,
        units=in_each_unit(text, kind),
        choices=_choices(blank, description, catalogue),
        without=blank.without or _default(blank),
        hint=blank.hint,
    )


def _as_text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | tuple):
        return ", ".join(str(each) for each in value)
    return str(value)


def _for_a_picker(text: str) -> str:
    """A day and hour as a browser's own picker takes it; what is none, as it is."""
    try:
        return datetime.fromisoformat(text).strftime("%Y-%m-%dT%H:%M")
    except ValueError:
        return text


def _choices(
    blank: Blank, description: Mapping[str, object], catalogue: Catalogue
) -> tuple[str, ...]:
    if blank.kind == "several":
        pieces = description.get("pieces")
        rows = pieces if isinstance(pieces, list | tuple) else ()
        return tuple(_as_text(row.get("name")) for row in rows if isinstance(row, Mapping))
    if blank.kind != "choice":
        return ()
    if blank.of is not None:
        return tuple(getattr(catalogue, blank.of))
    return get_args(_of_model(blank).annotation)


def _default(blank: Blank) -> str:
    """What the table's own default says, as a person would type it."""
    default = _of_model(blank).get_default()
    return _as_text(default) if isinstance(default, str | bool | int) else ""


def _of_model(blank: Blank) -> FieldInfo:
    return blank.model.model_fields[blank.key.rpartition(" ")[2]]


def in_each_unit(text: str, kind: str) -> tuple[str, ...]:
    """What was typed, in each unit on offer for this kind; nothing where it cannot be read.

    >>> in_each_unit("20 mm", "length")
    ('20 mm', '0.787 in')
    """
    if kind not in UNITS or not text:
        return ()
    try:
        return UNITS[kind](text)
    except InputError:
        # the fault is told beside the blank, in the description's own words
        return ()


@dataclass(frozen=True, slots=True)
class Fault:
    """Something that keeps a sheet from being made."""

    key: str
    """Of the field it is about, as FormField has it; empty for the whole."""
    says: str
    """What is wrong and what is allowed."""


_LINE = re.compile(
    r"(?P<key>[a-z][a-z0-9_]*(?: [a-z0-9_]+)*)(?: = (?:\".*\"|[^\"].*?))?: (?P<says>.+)"
)

_OF_A_COAT = re.compile(r"coats: coat (?P<number>[0-9]+) (?P<says>.+)")
_THINNER = re.compile(r"asks for [^ ]+ % thinner;")


def faults_of(error: Exception, name: str, description: Mapping[str, object]) -> tuple[Fault, ...]:
    """What was refused, fault by fault, each at its field.

    error: as reading or planning raised it      name: what its lines begin with
    """
    lines = str(error).split("\n")
    if re.fullmatch(rf"{re.escape(name)}: [0-9]+ faults?", lines[0]):
        lines = lines[1:]
    return tuple(_fault(line.removeprefix(f"{name}: "), description) for line in lines)


def _fault(line: str, description: Mapping[str, object]) -> Fault:
    rows = description.get("pieces")
    for number, row in enumerate(rows if isinstance(rows, list | tuple) else (), 1):
        # planning calls a piece by its name, the form by its number
        called = _as_text(row.get("name")) if isinstance(row, Mapping) else ""
        if called and line.startswith(f"pieces {called} "):
            line = f"pieces {number} {line.removeprefix(f'pieces {called} ')}"
            break
    coat = _OF_A_COAT.fullmatch(line)
    if coat:
        # the coats are judged together, and told by their number
        key = "thinner_share" if _THINNER.match(coat["says"]) else "pieces"
        return Fault(f"coats {coat['number']} {key}", coat["says"])
    found = _LINE.fullmatch(line)
    return Fault(found["key"], found["says"]) if found else Fault("", line)
