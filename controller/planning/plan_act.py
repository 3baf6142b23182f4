"""What a PLAN act carries: the sheet, and a name for the batch that nobody has used."""

import re
from datetime import UTC, datetime

from controller.planning.sheet import BatchSheet
from controller.planning.sheet_json import sheet_to_json

LONGEST_NAME = 40
"""Letters of the batch's name in its id; own: the whole stays within what the link takes."""


def plan_values(sheet: BatchSheet, told_utc: float) -> dict[str, str | float | bool]:
    """The values of a PLAN act.

    told_utc: the rig's calendar, epoch [s]; two batches of one name are told apart by it
    """
    name = re.sub(r"[^a-z0-9]+", "-", sheet.name.lower())[:LONGEST_NAME].strip("-") or "batch"
    told = datetime.fromtimestamp(told_utc, UTC)
    return {"sheet": sheet_to_json(sheet), "id": f"{name}-{told:%Y%m%d-%H%M%S}"}
