"""What every row carries so that a flipped bit is seen: a checksum of all its other cells.

Rows with words in them carry a CRC-32, reckoned here. Samples and minutes, of which there are
very many and which SQLite itself thins out, carry a sum that SQLite can reckon: a quarter of a
CRC's cost, and a trace leaves a damaged row out before it has come to Python.
"""

import json
import zlib
from collections.abc import Sequence

Cell = str | int | None
Row = tuple[Cell, ...]

PRIME = 2**31 - 1
"""Sums are taken modulo this, so that one fills four bytes. No bit flipped in one cell leaves the
sum as it was, because no power of two times a weight is a multiple of it. Own."""
NOTHING, STRANGE = 3 * 10**12 + 1, 7 * 10**12 + 1
"""What a cell without value counts as in a sum, and a cell that is no integer: beyond all that a
reading or a time can be. Own."""


def checksum(row: Sequence[Cell]) -> int:
    """CRC-32 of the cells of a row, its own column left out.

    >>> checksum((7, "COATED", None)) == checksum((7, "COATED", 0))
    False
    """
    return zlib.crc32(json.dumps(list(row), default=repr).encode())


def sound(row: Sequence[Cell]) -> bool:
    """Whether a whole row agrees with its CRC-32, its last cell."""
    return checksum(row[:-1]) == row[-1]


def sum_sql(cells: Sequence[str]) -> str:
    """SQL for the sum of integer cells, each weighted by its place, modulo 2^31 - 1.

    cells: names of columns, or of parameters

    Two cells that change at once go unseen once in 2^31. A sum beyond SQLite's integers is
    rounded, and is so each time in the same way.
    """
    terms = " + ".join(
        f"{pow(7, 10 + place, 131071)} * CASE typeof({cell}) WHEN 'integer' THEN {cell}"
        f" WHEN 'null' THEN {NOTHING} ELSE {STRANGE} END"
        for place, cell in enumerate(cells)
    )
    return f"(({terms}) % {PRIME} + {PRIME}) % {PRIME}"


def sound_sql(cells: Sequence[str]) -> str:
    """SQL that is true of a row whose sum31 agrees, or that is from before rows had one."""
    return f"(sum31 IS NULL OR sum31 = {sum_sql(cells)})"
