"""Warnings that the wood itself is the reason for: damp, oil, colour, heartwood, bare ends."""

from collections.abc import Iterator, Sequence

from controller.planning.catalogue import Catalogue, Thinner, Wood
from controller.planning.description import Description
from controller.planning.sheet import BatchSheet, Piece
from controller.quantities import People, say

DAMP = 0.12
"""Moisture above which little goes into the pores, [-]; own: indoor wood has 0.06 to 0.10."""


def of_the_woods(
    sheet: BatchSheet, description: Description, catalogue: Catalogue
) -> Iterator[str]:
    """What to mind of the boards, whatever the coat."""
    for name in dict.fromkeys(piece.wood for piece in sheet.pieces):
        row = catalogue.wood(name)
        if row.oily:
            yield (
                f"{name.capitalize()} is oily: wipe it with acetone on white paper a quarter of an "
                "hour before coating, lamp unplugged, and try a test piece."
            )
    for piece, line in zip(sheet.pieces, description.pieces, strict=True):
        if piece.moisture > DAMP:
            yield (
                f"{piece.name} is damp at {say(piece.moisture, 'percent', People())}: resin does "
                "not go into wet pores. Dry it first."
            )
        if line.part == "heartwood" and catalogue.wood(piece.wood).heartwood == "shut":
            yield (
                f"{piece.name}: the heartwood of {piece.wood} is shut. Expect a sealed face, not "
                "filled wood, and coat thin."
            )
    if any(not piece.ends_sealed for piece in sheet.pieces):
        yield "Bare ends let air in where resin should go: coat or tape the end grain first."
    if any(not piece.back_sealed for piece in sheet.pieces):
        yield "A bare back lets air in as well: tape or film it before the heat."


def that_bleed(on: Sequence[Piece], thinner: Thinner, catalogue: Catalogue) -> Iterator[str]:
    """What to do about a wood of one coat whose colour this thinner dissolves."""
    woods = {piece.wood: catalogue.wood(piece.wood) for piece in on}
    other = len(woods) > 1
    for name, row in woods.items():
        if not set(row.bleeds_in) & set(thinner.families):
            continue
        instead = _kinder(row, catalogue)
        way = f"thin with {instead} or not at all" if instead else "do not thin it: warm the resin"
        if other:
            yield (
                f"{thinner.name} dissolves the colour of {name}, and it runs into the other wood: "
                f"{way}, with a tray and a brush for each, or coat them apart."
            )
        else:
            yield (
                f"{thinner.name} dissolves the colour of {name}: {way}, and keep it off any light "
                "wood beside it."
            )


def _kinder(row: Wood, catalogue: Catalogue) -> str | None:
    """A thinner that leaves the colour of this wood alone; None where there is none."""
    for name, thinner in catalogue.thinners.items():
        known = thinner.solvent is not None or thinner.mixture is not None
        if known and not set(row.bleeds_in) & set(thinner.families):
            return name
    return None
