"""One line of a batch sheet: words with gaps, the figures for the gaps, and where each is from."""

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Told:
    """A figure with its unit's kind and its source."""

    kind: str
    """One of quantities.KINDS."""
    value: float
    """In SI, as quantities.Figure has it; a clock is UTC epoch seconds."""
    source: str
    """`[1] ...`, `own...`, `common practice, no source`, `from memory...`, `told...`, `row ...`."""


@dataclass(frozen=True, slots=True)
class Line:
    """One thing the sheet says."""

    key: str
    """Dotted name, the same for the same thing on every sheet: "cup.parts"."""
    label: str
    """A word or two in front of it, in lower case."""
    text: str
    """A sentence or less, with a {gap} for each figure."""
    figures: dict[str, Told] = field(default_factory=dict)
    """What goes in the gaps, by name."""
    care: bool = False
    """It warns: it is marked, not only coloured."""


@dataclass(frozen=True, slots=True)
class Section:
    """The lines that answer one question."""

    key: str
    """"boards", "cup", ...; with "coat 1 " and so on in front where it is a coat's."""
    title: str
    """As a heading."""
    question: str
    """What the person asks, in their words, with a question mark."""
    lines: tuple[Line, ...]
    """In the order they are read."""
