"""Reads the catalogue's data files: ours, and a folder of a person's own laid over them."""

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Generic, TypeVar

from pydantic import ValidationError

from controller.errors import InputError
from controller.planning.catalogue_rows import ResinRow, Row, ThinnerRow, WoodRow
from controller.planning.description_faults import lines_of, tables_of
from controller.quantities import shown

_R = TypeVar("_R", bound=Row)


@dataclass(frozen=True, slots=True)
class Rows:
    """Every row of the three files, checked."""

    woods: Mapping[str, WoodRow]
    """By name."""
    resins: Mapping[str, ResinRow]
    """By name."""
    thinners: Mapping[str, ThinnerRow]
    """By name."""


@dataclass(frozen=True, slots=True)
class _File(Generic[_R]):
    name: str
    model: type[_R]
    what: str

    def ours(self) -> dict[str, Any]:
        file = files("controller.planning").joinpath(self.name)
        return tables_of(file.read_text(encoding="utf-8"), self.name)

    def laid_over(self, text: str | None, faults: list[str]) -> dict[str, _R]:
        """Our rows with the rows of this text over them; what is wrong is added to the faults."""
        raw = dict(self.ours())
        known = frozenset(raw)
        if text is not None:
            try:
                theirs = tables_of(text, self.name)
            except InputError as error:
                # without its own first line, the count
                faults += str(error).split("\n")[1:]
                return {}
            for name, row in theirs.items():
                raw[name] = self._whole(name, row, raw, known, faults)
        rows = {}
        for name, row in raw.items():
            if row is None:
                continue
            try:
                rows[name] = self.model.model_validate(row)
            except ValidationError as error:
                faults += (f"{self.name} {name} {line}" for line in lines_of(error, self.model))
        return rows

    def _whole(
        self,
        name: str,
        row: object,
        raw: Mapping[str, Any],
        known: frozenset[str],
        faults: list[str],
    ) -> dict[str, Any] | None:
        """The row with the columns it leaves out; None, and a fault, where it cannot be."""
        if not name.strip() or len(name) > 60 or not name.isprintable() or set("{}") & set(name):
            faults.append(
                f"{self.name}: {shown(name)}: "
                "allowed: a name of 1 to 60 characters on one line, no { or }"
            )
        elif not isinstance(row, dict):
            faults.append(
                f'{self.name} {name}: allowed: a table, ["{name}"] and its columns under it'
            )
        elif name in known:
            if "source" not in row:
                faults.append(
                    f"{self.name} {name} source: missing; say where the new figures come from"
                )
            # with our source in its place, so that the other columns are looked at as well
            return {**raw[name], **row}
        else:
            columns = [key for key, field in self.model.model_fields.items() if field.is_required()]
            missing = [key for key in columns if key not in row]
            if not missing:
                return row
            near = difflib.get_close_matches(name, known, n=1)
            faults.append(
                f"{self.name} {name}: a new {self.what} needs every column; missing: "
                f"{', '.join(missing)}" + (f"; or did you mean {near[0]}?" if near else "")
            )
        return None


_WOODS = _File("woods.toml", WoodRow, "wood")
_RESINS = _File("resins.toml", ResinRow, "resin")
_THINNERS = _File("thinners.toml", ThinnerRow, "thinner")


@cache
def built_in_rows() -> Rows:
    """The rows that come with the controller. Raises InputError where one is out of bounds."""
    faults: list[str] = []
    rows = Rows(
        woods=_WOODS.laid_over(None, faults),
        resins=_RESINS.laid_over(None, faults),
        thinners=_THINNERS.laid_over(None, faults),
    )
    _raise(faults, "catalogue")
    return rows


def rows_in(folder: Path) -> Rows:
    """Our rows with those of the folder's files over them. Raises InputError: every fault."""
    texts: dict[str, str | None] = {}
    faults: list[str] = []
    if not folder.is_dir():
        raise InputError(f"{folder}: no such folder; is [shop] catalogue in the rig's file right?")
    names = [file.name for file in (_WOODS, _RESINS, _THINNERS)]
    for name in names:
        texts[name] = _text(folder / name, faults)
    if not faults and all(text is None for text in texts.values()):
        raise InputError(f"{folder}: nothing to read; put one of {', '.join(names)} there")
    rows = Rows(
        woods=_WOODS.laid_over(texts[_WOODS.name], faults),
        resins=_RESINS.laid_over(texts[_RESINS.name], faults),
        thinners=_THINNERS.laid_over(texts[_THINNERS.name], faults),
    )
    _raise(faults, str(folder))
    return rows


def _text(file: Path, faults: list[str]) -> str | None:
    """What the file holds; None where there is none, or it cannot be read, which is a fault."""
    try:
        return file.read_bytes().decode("utf-8")
    except FileNotFoundError:
        return None
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        faults.append(f"{file.name} line {line}: not UTF-8 text")
    except OSError as error:
        faults.append(f"{file.name}: {error.strerror}")
    return None


def _raise(faults: list[str], where: str) -> None:
    if faults:
        count = f"{len(faults)} fault" + ("s" if len(faults) > 1 else "")
        raise InputError("\n".join([f"{where}: {count}", *faults]))
