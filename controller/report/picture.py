"""One coat of a batch as a picture: its traces alone, to put into a page or a document.

The picture of a night in the README is made anew with
`warmdraw simulate good-night --state FOLDER` and
`warmdraw report batch-1 --state FOLDER --config controller/rig.example.toml --picture FILE`.
"""

from dataclasses import replace

from controller.errors import InputError
from controller.quantities import People
from controller.report.account import NOT_SAID, SIMULATED, read_account
from controller.report.figures import figures
from controller.report.lines import alarms_of, day
from controller.report.traces import draw
from controller.store.queries import LogReader


def night_picture(
    reader: LogReader,
    batch_id: str,
    units: People,
    time_zone: str,
    *,
    coat: int = 1,
    simulated: bool | None = None,
    air_pressure: float | None = None,
) -> str:
    """The traces of one coat as an SVG file on white paper of its own, marked where simulated.

    time_zone, simulated, air_pressure: as for the record
    coat: its number on the sheet

    Raises InputError for a batch, coat or zone that is not there, and where the log cannot be
    read or has no samples of the coat.
    """
    units = replace(units, zone=time_zone)
    account = read_account(reader, batch_id)
    passage = next((passage for passage in account.passages if passage.coat.number == coat), None)
    if passage is None:
        raise InputError(f"batch {batch_id!r} has not come to a coat {coat}; name one that it had")
    air = figures(reader, account, passage).air
    alarms = [(told.number, told.raised_at) for told in alarms_of(account)]
    sheet = draw(reader, account, passage, units, air_pressure if air is None else air, alarms)
    if sheet is None:
        raise InputError(f"batch {batch_id!r}: nothing was sampled of coat {coat}; no picture")
    pretended = account.simulated if simulated is None else simulated
    mark = {True: SIMULATED, None: NOT_SAID, False: ""}[pretended]
    began = passage.stages[0].began_utc if passage.stages else account.batch.planned_utc
    heading = f"{account.sheet.name}, coat {coat}: the night of {day(began, units.zone)}"
    return sheet.picture(mark, heading) + "\n"
