"""Reads a rig.toml: settings, or every fault of the file at once, a line each."""

import difflib
import re
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from controller.errors import InputError
from controller.quantities import shown
from controller.settings.sections import Settings, clashes

EXAMPLE = "rig.example.toml"
_PLAIN = {
    "bool_type": "true or false",
    "int_type": "a whole number",
    "string_type": "text in quotes",
    "tuple_type": "a list, [...]",
}


def default_settings_text() -> str:
    """The documented example of a rig.toml: a whole simulated rig, every key with its comment."""
    return files("controller").joinpath(EXAMPLE).read_text(encoding="utf-8")


def read_settings(path: Path) -> Settings:
    """The settings in this file.

    Raises InputError: a first line with the count, then a line for each fault of the file.
    """
    try:
        text = path.read_bytes().decode("utf-8")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise InputError(f"{path}: 1 fault\n{path} line {line}: not UTF-8 text") from error
    except OSError as error:
        raise InputError(
            f"{path}: {error.strerror}; copy the example {EXAMPLE} there and fill it in"
        ) from error
    return parse_settings(text, str(path))


def parse_settings(text: str, name: str = "rig.toml") -> Settings:
    """The settings in this text; `name` is what the faults call it. Raises InputError, as above."""
    try:
        tables = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        found = re.search(r"line ([0-9]+)", str(error))
        line = int(found[1]) if found else text.count("\n") + 1
        why = re.sub(r" \(at .*\)$", "", shown(str(error)))
        raise InputError(f"{name}: 1 fault\n{name} line {line}: not TOML: {why}") from error
    try:
        # a table left out is an empty one, so that each key it must have is named
        return Settings.model_validate({key: {} for key in Settings.model_fields} | tables)
    except ValidationError as error:
        lines = [_line(fault) for fault in error.errors(include_url=False) if fault["loc"]]
        lines += clashes(tables)
        count = f"{len(lines)} fault" + ("s" if len(lines) > 1 else "")
        raise InputError(
            "\n".join([f"{name}: {count}", *(f"{name}: {x}" for x in lines)])
        ) from error


def _line(fault: ErrorDetails) -> str:
    key = ".".join(str(part) for part in fault["loc"])
    value = fault["input"]
    if fault["type"] == "missing":
        return f"{key}: missing; e.g. {fault['loc'][-1]} = {_toml(_in_example(fault['loc']))}"
    if fault["type"] == "extra_forbidden":
        return f"{key}: no such key; {_known(fault['loc'])}"
    if fault["type"] in ("model_type", "model_attributes_type"):
        return f"{key} = {_toml(value)}: allowed: a table, [{key}]"
    why = fault["msg"]
    if fault["type"] == "value_error":
        why = str(fault["ctx"]["error"]).removeprefix(f"{shown(value)}: ")
    else:
        why = f"allowed: {_PLAIN.get(fault['type'], why.removeprefix('Input should be '))}"
    return f"{key}: {why}" if value is None else f"{key} = {_toml(value)}: {why}"


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    return f'"{shown(value)}"' if isinstance(value, str) else shown(value)


@cache
def _example() -> Mapping[str, object]:
    return tomllib.loads(default_settings_text())


def _in_example(place: tuple[int | str, ...]) -> object:
    value: object = _example()
    for part in place:
        value = value.get(str(part)) if isinstance(value, Mapping) else None
    return value


def _known(place: tuple[int | str, ...]) -> str:
    """The nearest name there is beside an unknown one, or all of them."""
    beside = _in_example(place[:-1])
    names = list(beside) if isinstance(beside, Mapping) else []
    near = difflib.get_close_matches(str(place[-1]), names, n=1)
    return f"did you mean {near[0]}?" if near else f"known here: {', '.join(names)}"
