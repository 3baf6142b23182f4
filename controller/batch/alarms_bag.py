"""The alarms of bag, pump, gauge and trap.

Delays and deadbands: 2 % of the span to the air and 15 s is the usual start for a pressure (from
memory, to be checked); the longer ones are own.
"""

from controller.batch.alarm_row import AlarmRow, Priority

P2, P3 = Priority.P2, Priority.P3
PRESSURE_BAND = 2e3
"""2 % of the air, [Pa]."""
PRESSURE_OFF = 15.0
"""How long a pressure or its gauge must be well again, [s]."""

BAG_ALARMS: dict[str, AlarmRow] = {
    "pump does not pull": AlarmRow(
        P2,
        "The pump runs, and for a minute the bag has been at {bag} and gets no further.",
        "A hose that is off, a valve that is shut, a bag left open, or a pump that does not turn.",
        "The resin gels in a bag without vacuum.",
        "Is the pump running, the hose on, the valve open, the bag shut?",
        10,
        off_delay=PRESSURE_OFF,
        deadband=PRESSURE_BAND,
    ),
    "pump feels no bag": AlarmRow(
        P2,
        "The gauge is at {bag} and fell far faster than when this bag was first pulled.",
        "A pinched hose, a shut valve, or a hose that slipped off the bag and closed itself.",
        "The gauge looks perfect, and the board has no vacuum while the resin gels.",
        "Press the film with a finger: is it hard? Free the hose, open the valve, and put the "
        "gauge on the bag, not at the pump.",
        10,
        off_delay=PRESSURE_OFF,
    ),
    "pump does not go off": AlarmRow(
        P2,
        "The pump was told off, and the bag goes on as if it ran: it is at {bag}.",
        "The pump's relay is welded shut, or the pump is plugged in beside it.",
        "It runs all night, hot and with solvent in it, and no leak can be told.",
        "Does the pump run? Pull its plug; the bag holds on its check valve. Have the relay "
        "changed, or switch the pump by hand.",
        20,
        off_delay=PRESSURE_OFF,
    ),
    "vacuum lost": AlarmRow(
        P2,
        "The bag is at {bag} and the pump does not bring it back.",
        "A hose that slipped off, a seam that opened, or a pump that stopped.",
        "Before the resin has gelled the film lifts and the pores let go.",
        "Look at hose and pump, then along the tape. Press pleats down; RESEAL if a seam is open. "
        "Once it has gelled, look at the film in the morning.",
        10,
        on_delay=60.0,
        off_delay=PRESSURE_OFF,
        deadband=PRESSURE_BAND,
    ),
    "bag leaks": AlarmRow(
        P2,
        "The bag leaks: {rise}, in a straight line, before the resin has gelled.",
        "A pleat or a probe wire under the tape, a splinter in the film, or a seam that warmed.",
        "The pump runs all night or the vacuum goes.",
        "Listen along the tape with the pump off: corners, pleats, probe wires, port.",
        20,
        off_delay=PRESSURE_OFF,
    ),
    "pump starts too often": AlarmRow(
        P2,
        "The pump started more than six times in an hour, before the resin has gelled.",
        "A leak that grows, or a check valve that lets air back.",
        "A leak grows, and the pump wears.",
        "Listen along the tape; press the pleats down.",
        30,
        deadband=2.0,
    ),
    "bag gauge lost": AlarmRow(
        P2,
        "No good reading from the bag gauge. The pump stays as it was.",
        "A plug half out, a broken wire, or a converter that hangs.",
        "A leak would not be seen.",
        "Look at the gauge's plug and wire. Read the dial gauge, if there is one, by hand.",
        15,
        off_delay=PRESSURE_OFF,
    ),
    "gauge frozen": AlarmRow(
        P2,
        "The pump ran and the bag gauge did not move by one step. The pump is off, and what the "
        "gauge has read since it stands still proves nothing.",
        "A converter that repeats its last figure, resin in the gauge's port, or a shut valve.",
        "A leak would not be seen, before the resin has gelled.",
        "Look at the bag. Does the pump run, is its valve open? Then unplug the gauge and plug it "
        "in again.",
        15,
    ),
    "gauge zero moved": AlarmRow(
        P3,
        "The bag gauge is {off} away from the air, with the bag open to it.",
        "A gauge that aged or got wet, or a wire with a bad joint.",
        "Every vacuum told is wrong by that much.",
        "Run warmdraw check --only gauge before the next pull.",
        600,
        on_delay=10.0,
        deadband=200.0,
    ),
    "trap full": AlarmRow(
        P2,
        "The vacuum trap is full. The pump is off, and the bag is on its check valve.",
        "Too much resin on the board, or a bleeder that lies on the port.",
        "Resin or solvent in the pump destroys it; without it the bag lets go before the gel.",
        "Shut the bag's valve, empty the trap, open the valve, then ACKNOWLEDGE.",
        10,
    ),
    "pump left to a person": AlarmRow(
        P2,
        "The controller was away and the bag is not proved. The pump stays off.",
        "Power was cut for long, or the bag lost its vacuum meanwhile.",
        "The bag loses its vacuum before the resin has gelled.",
        "Look at the bag. If it is whole, press RESUME.",
        10,
    ),
}
"""What may be wrong with what holds the vacuum."""
