"""The rows of outside.csv: figures from elsewhere, each with its unit, tolerance and source."""

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from controller.science.constants import INCH_OF_MERCURY, ZERO_CELSIUS

TABLE = Path(__file__).with_name("outside.csv")
KINDS = ("published", "from memory", "worked")
"""Seen in print or in a library's data; remembered only; worked out by another road."""
UNITS: Mapping[str, float] = {
    "-": 1, "theta": 1, "rad": 1, "%": 0.01, "vol %": 0.01, "ppm": 1,
    "Pa": 1, "hPa": 100, "kPa": 1000, "mbar": 100, "mbar/s": 100, "mmHg": 133.322387415,
    "inHg": INCH_OF_MERCURY, "psia": 6894.757293168,
    "s": 1, "h": 3600, "K": 1, "K/min": 1 / 60,
    "mm": 1e-3, "um": 1e-6, "m2": 1, "mm2/s": 1e-6, "cSt": 1e-6,
    "m3": 1, "L": 1e-3, "ft3": 0.3048**3, "cm3/min": 1e-6 / 60, "mbar l/s": 0.1,
    "uV": 1e-6, "mPa s": 1e-3, "kg/m3": 1, "g/cm3": 1000, "mg/m3": 1e-6, "g/mol": 1e-3,
    "W/(m K)": 1, "W/m2": 1, "W/(m2 K)": 1, "kJ/(kg K)": 1000, "J/g": 1000, "kJ/mol": 1000,
}  # fmt: skip
"""What one of each unit is in SI; C stands apart, see `from_si`. NIST SP 811, 2008, appendix B."""


@dataclass(frozen=True, slots=True)
class Row:
    """One figure to hold a formula against."""

    number: int
    """Its line in the file; the heading is line 1."""
    model: str
    """Key of outside_models.MODELS."""
    inputs: Mapping[str, str | float]
    """What the model is asked, its unit in the name where it is not SI."""
    expected: float
    """The answer from elsewhere, in `unit`."""
    unit: str
    """As in UNITS, or C."""
    tolerance: float
    """By how much the formula may miss it, in `unit`."""
    kind: str
    """One of KINDS."""
    source: str
    """Where the figure comes from."""
    note: str
    """What else is known of it."""

    @property
    def name(self) -> str:
        """Model and inputs, short enough to name a test."""
        told = ",".join(f"{key}={value}" for key, value in self.inputs.items())
        return f"{self.number}-{self.model}({told})".replace(" ", "_")


def read_rows(path: Path = TABLE) -> tuple[Row, ...]:
    """Every row of the table, in its order."""
    with path.open(encoding="utf-8", newline="") as file:
        return tuple(_row(number, line) for number, line in enumerate(csv.DictReader(file), 2))


def from_si(value: float, unit: str) -> float:
    """A figure in SI, told in the row's unit.

    >>> round(from_si(293.15, "C"), 6)
    20.0
    """
    return value - ZERO_CELSIUS if unit == "C" else value / UNITS[unit]


def count_by_kind(rows: Iterable[Row]) -> dict[str, int]:
    """How many rows there are of each kind."""
    counts = dict.fromkeys(KINDS, 0)
    for row in rows:
        counts[row.kind] += 1
    return counts


def _row(number: int, line: Mapping[str, str]) -> Row:
    return Row(
        number=number,
        model=line["model"],
        inputs=dict(_input(each) for each in line["inputs"].split(";") if each.strip()),
        expected=float(line["expected"]),
        unit=line["unit"],
        tolerance=float(line["tolerance"]),
        kind=line["kind"],
        source=line["source"],
        note=line["note"],
    )


def _input(text: str) -> tuple[str, str | float]:
    name, _, value = text.partition("=")
    try:
        return name.strip(), float(value)
    except ValueError:
        return name.strip(), value.strip()
