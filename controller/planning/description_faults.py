"""The faults of a batch description, as lines a person can act on."""

import difflib
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import cache
from typing import get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from controller.errors import InputError
from controller.planning.examples import EXAMPLES, example
from controller.quantities import shown

_PLAIN = {
    "bool_type": "true or false",
    "float_type": "a number, without quotes",
    "int_type": "a whole number, without quotes",
    "string_type": "text in quotes",
    "tuple_type": "a list, [...]",
    "too_long": "at most 20",
    "too_short": "at least one",
}


def tables_of(text: str, name: str) -> dict[str, object]:
    """The text's tables. Raises InputError with the line where it is no TOML."""
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        found = re.search(r"line ([0-9]+)", str(error))
        line = int(found[1]) if found else text.count("\n") + 1
        why = shown(re.sub(r" \(at .*\)$", "", str(error)))
        there = shown(text.split("\n")[line - 1].strip())
        raise InputError(
            f"{name}: 1 fault\n{name} line {line}: not TOML: {why}: {there}; text and quantities "
            "stand in quotes"
        ) from error


@contextmanager
def faulted(name: str, model: type[BaseModel]) -> Iterator[None]:
    """Turns the model's faults into one InputError: a line with the count, then one a fault."""
    try:
        yield
    except ValidationError as error:
        lines = lines_of(error, model)
        count = f"{len(lines)} fault" + ("s" if len(lines) > 1 else "")
        raise InputError(
            "\n".join([f"{name}: {count}", *(f"{name}: {x}" for x in lines)])
        ) from error


def lines_of(error: ValidationError, model: type[BaseModel]) -> list[str]:
    """A line for each fault: where, what was written, what is allowed."""
    return [_line(fault, model) for fault in error.errors(include_url=False)]


def _line(fault: ErrorDetails, model: type[BaseModel]) -> str:
    place, value = fault["loc"], fault["input"]
    key = _key(place)
    if fault["type"] == "missing":
        return f"{key}: missing" + _for_example(place)
    if fault["type"] == "extra_forbidden":
        return f"{key}: no such key; {_beside(place, model)}"
    if fault["type"] in ("model_type", "model_attributes_type"):
        return f"{key}: allowed: a table"
    why = fault["msg"]
    if fault["type"] == "value_error":
        why = str(fault["ctx"]["error"]).removeprefix(f"{shown(value)}: ")
    elif fault["type"] in ("greater_than_equal", "less_than_equal"):
        least, most = fault["ctx"].get("ge"), fault["ctx"].get("le")
        why = f"allowed: {least} or more" if most is None else f"allowed: {most} or less"
    else:
        why = f"allowed: {_PLAIN.get(fault['type'], why.removeprefix('Input should be '))}"
    if not place:
        return why
    # a whole table in the line would hide what is wrong with it
    if value is None or (isinstance(value, Mapping | Sequence) and not isinstance(value, str)):
        return f"{key}: {why}"
    return f"{key} = {_toml(value)}: {why}"


def _key(place: tuple[int | str, ...]) -> str:
    """Where in the file: "coats 2 weight", counted as people count."""
    return " ".join(str(part + 1) if isinstance(part, int) else part for part in place)


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    return f'"{shown(value)}"' if isinstance(value, str) else shown(value)


@cache
def _model() -> Mapping[str, object]:
    # with the keys it only shows as comments
    return tomllib.loads(re.sub(r"(?m)^# (?=\[|\w+ = )", "", example(EXAMPLES[0])))


def _in_model(place: tuple[int | str, ...]) -> object:
    """What stands at this place of the example; each list of it has one table."""
    value: object = _model()
    for part in place:
        if isinstance(part, int):
            value = value[0] if isinstance(value, list) else None
        else:
            value = value.get(part) if isinstance(value, Mapping) else None
    return value


def _for_example(place: tuple[int | str, ...]) -> str:
    """What may stand there, as the example has it; nothing where the example has nothing."""
    value = _in_model(place)
    if isinstance(value, list) and isinstance(value[0], Mapping):
        return f"; e.g. a table [[{place[-1]}]]"
    return "" if value is None else f"; e.g. {place[-1]} = {_toml(value)}"


def _beside(place: tuple[int | str, ...], model: type[BaseModel]) -> str:
    """Where an unknown key would be known: in another table, under a near name, or all of them."""
    key, table = str(place[-1]), model
    for part in place[:-1]:
        if isinstance(part, str):
            table = _table_in(table.model_fields[part].annotation) or table
    tables = {name: _table_in(field.annotation) for name, field in model.model_fields.items()}
    homes = [name for name, home in tables.items() if home and key in home.model_fields]
    if len(homes) == 1:
        return f"it belongs in {_heading(homes[0], model)}"
    near = difflib.get_close_matches(key, table.model_fields, n=1)
    return f"did you mean {near[0]}?" if near else f"known here: {', '.join(table.model_fields)}"


def _heading(name: str, model: type[BaseModel]) -> str:
    """As it stands in the file: [shop], [[pieces]]."""
    many = get_origin(model.model_fields[name].annotation) is tuple
    return f"[[{name}]]" if many else f"[{name}]"


def _table_in(annotation: object) -> type[BaseModel] | None:
    """The model that a field holds, by itself or in a tuple; None where it holds a value."""
    found = [part for part in (annotation, *get_args(annotation)) if isinstance(part, type)]
    return next((part for part in found if issubclass(part, BaseModel)), None)
