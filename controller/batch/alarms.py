"""The alarms: one table of what may call a person. Which of them stand now is in `alarm_book.py`.

An alarm needs something done by a person now; what does not is an event. P1 latches: it stays
until its cause is gone and somebody has acknowledged it, and as long as it stays the lamp is
dark.
"""

from dataclasses import dataclass
from enum import StrEnum


class Priority(StrEnum):
    """How soon somebody is needed."""

    P1 = "P1"
    """Now, whoever is near: heat, fire, an output out of hand."""
    P2 = "P2"
    """Soon enough to wake for: the batch is being lost."""
    P3 = "P3"
    """Today."""


@dataclass(frozen=True, slots=True)
class AlarmRow:
    """One alarm of the table."""

    priority: Priority
    says: str
    """What is wrong; {named} gaps are quantities of the alarm."""
    consequence: str
    """What happens if nobody comes."""
    do: str
    """What to do."""
    minutes_to_act: float
    """About how long there is for it."""
    latched: bool = False
    """Stays until acknowledged, and holds the lamp off."""


P1, P2, P3 = Priority.P1, Priority.P2, Priority.P3

ALARMS: dict[str, AlarmRow] = {
    "face over trip": AlarmRow(
        P1,
        "The face reached {face}, the trip temperature. The lamp was cut.",
        "The board scorches.",
        "Look at the board. Pull the lamp's plug if it still burns. Raise the lamp before RE-ARM.",
        1,
        True,
    ),
    "lamp does not go off": AlarmRow(
        P1,
        "The lamp was told off, and it burns on as far as can be seen.",
        "Heat without limit: fire.",
        "Pull the lamp's plug now. Do not use this relay again before it has been proved.",
        1,
        True,
    ),
    "probe fell": AlarmRow(
        P1,
        "The face reading fell while the lamp was on. The lamp was cut.",
        "The lamp would burn on a probe that does not touch the board, or a bulb is gone.",
        "Press the probe back under its tape, look at the bulb, then ACKNOWLEDGE and RE-ARM.",
        2,
        True,
    ),
    "probe jumped": AlarmRow(
        P2,
        "The face reading jumped as no board can. The lamp was cut.",
        "The lamp would burn on a wrong number.",
        "Look at the probe and its cable, then ACKNOWLEDGE and RE-ARM.",
        2,
        True,
    ),
    "probe frozen": AlarmRow(
        P1,
        "The face reading stands still under a burning lamp. The lamp was cut.",
        "The lamp would burn on an old number.",
        "Unplug the probe and plug it in again, then ACKNOWLEDGE and RE-ARM.",
        2,
        True,
    ),
    "probe disagrees": AlarmRow(
        P1,
        "From afar the face is at {seen}, and the probe has another figure. The lamp was cut.",
        "The lamp would burn on a probe half off its seat: the board gets far hotter than is said.",
        "Press the probe down under its tape, look at the board, then ACKNOWLEDGE and RE-ARM.",
        2,
        True,
    ),
    "lamp tilted": AlarmRow(
        P1,
        "The lamp leans or fell. It was cut.",
        "A hot bulb against wood, cloth or a can sets it alight.",
        "Pull the plug, set the lamp up and secure it by two means. Then ACKNOWLEDGE and RE-ARM.",
        1,
        True,
    ),
    "cut-out open": AlarmRow(
        P1,
        "The lamp's thermal cut-out has opened: the board may be far hotter than the probe says.",
        "A probe half off its seat would have the board scorched once the cut-out is reset.",
        "Leave the lamp dark. Press the probe down, let all cool, reset the cut-out by hand, then "
        "ACKNOWLEDGE and RE-ARM.",
        2,
        True,
    ),
    "face probe lost": AlarmRow(
        P2,
        "No good reading from the face probe. The lamp is off.",
        "The board cools, and nobody knows how hot it is.",
        "Look at the probe's cable and plug. When it reads again, ACKNOWLEDGE.",
        5,
        True,
    ),
    "lamp not seen": AlarmRow(
        P2,
        "The lamp was lit for 30 s and the face probe did not see it.",
        "The lamp would burn on a probe that looks elsewhere.",
        "Is it plugged in, is the bulb whole, does the probe touch this board? Then ACKNOWLEDGE "
        "and RE-ARM.",
        10,
        True,
    ),
    "lamp not fed": AlarmRow(
        P2,
        "The lamp was told on, and its line stays dead. The command was taken back.",
        "The board never gets warm, and a lamp that comes back by itself finds nobody ready.",
        "Look at plug, breaker, relay and contactor, in that order; a bulb is not looked at here. "
        "Then ACKNOWLEDGE and RE-ARM.",
        10,
        True,
    ),
    "no rise": AlarmRow(
        P2,
        "Two minutes of lamp and the face did not warm. This lamp settles at about {settles}.",
        "The board never gets warm.",
        "Look at plug, breaker, bulb, relay and probe, in that order. Then ACKNOWLEDGE and RE-ARM.",
        10,
        True,
    ),
    "lamp time spent": AlarmRow(
        P2,
        "This face has had all its lamp time and is not in the band.",
        "The board is not warm enough to draw.",
        "Lower the lamp within its maker's clearance, line the back, or plan a cooler band.",
        15,
    ),
    "nobody there": AlarmRow(
        P2,
        "Nobody has pressed PRESENT. The lamp is off.",
        "The board cools.",
        "Come to the board and press PRESENT.",
        5,
    ),
    "pump does not pull": AlarmRow(
        P2,
        "The pump has run for a minute and the bag is still at {bag}.",
        "The resin gels in a bag without vacuum.",
        "Is the pump running, the hose on, the valve open, the bag shut?",
        10,
    ),
    "vacuum lost": AlarmRow(
        P2,
        "The bag is at {bag} and the pump does not bring it back, before the resin has gelled.",
        "The film lifts and the pores let go.",
        "Look at hose and pump, then along the tape. Press pleats down; RESEAL if a seam is open.",
        10,
    ),
    "bag leaks": AlarmRow(
        P2,
        "The bag leaks: {rise}, in a straight line, before the resin has gelled.",
        "The pump runs all night or the vacuum goes.",
        "Listen along the tape with the pump off: corners, pleats, probe wires, port.",
        20,
    ),
    "pump starts too often": AlarmRow(
        P2,
        "The pump started more than six times in an hour, before the resin has gelled.",
        "A leak grows, and the pump wears.",
        "Listen along the tape; press the pleats down.",
        30,
    ),
    "bag gauge lost": AlarmRow(
        P2,
        "No good reading from the bag gauge. The pump stays as it was.",
        "A leak would not be seen.",
        "Look at the gauge's plug and wire. Read the dial gauge, if there is one, by hand.",
        15,
    ),
    "gauge frozen": AlarmRow(
        P2,
        "The pump ran and the bag gauge did not move by one step. The pump is off, and what the "
        "gauge has read since it stands still proves nothing.",
        "A leak would not be seen, before the resin has gelled.",
        "Look at the bag. Does the pump run, is its valve open? Then unplug the gauge and plug it "
        "in again.",
        15,
    ),
    "gauge zero moved": AlarmRow(
        P3,
        "The bag gauge is {off} away from the air, with the bag open to it.",
        "Every vacuum told is wrong by that much.",
        "Run warmdraw check --only gauge before the next pull.",
        600,
    ),
    "trap full": AlarmRow(
        P2,
        "The vacuum trap is full. The pump is off, and the bag is on its check valve.",
        "Resin or solvent in the pump destroys it; without it the bag lets go before the gel.",
        "Shut the bag's valve, empty the trap, open the valve, then ACKNOWLEDGE.",
        10,
    ),
    "pump left to a person": AlarmRow(
        P2,
        "The controller was away and the bag is not proved. The pump stays off.",
        "The bag loses its vacuum before the resin has gelled.",
        "Look at the bag. If it is whole, press RESUME.",
        10,
    ),
    "work interrupted": AlarmRow(
        P2,
        "The controller restarted in the middle of the work. The lamp is off.",
        "The board cools; resin in the cup goes on setting.",
        "Look at the rig, then RE-ARM, RESUME or ABANDON.",
        10,
    ),
    "power was away": AlarmRow(
        P2,
        "Power was away before the resin had gelled. The bag is pulled again if it is whole.",
        "The film may have lifted.",
        "Look at the film and the gauge.",
        20,
    ),
    "pot life": AlarmRow(
        P2,
        "The mix in the cup is at the end of its pot life.",
        "It strings, then it sets; a full cup gets hot enough to smoke.",
        "Stop using it. Spread what is left out in a tray, outdoors.",
        5,
    ),
    "too cold to set": AlarmRow(
        P3,
        "It is {film} at the film: too cold for this resin to set.",
        "The resin goes glassy instead of curing and is soft when it warms.",
        "Warm the room, not with the lamp and not with an open flame. It opens later.",
        120,
    ),
    "controller late": AlarmRow(
        P3,
        "The controller was held up for more than 2 s under the lamp. The lamp was cut.",
        "The board cools.",
        "Look at the board, then RE-ARM. If it comes again, look at the Pi's cooling and supply.",
        10,
    ),
    "record not written": AlarmRow(
        P3,
        "The record cannot be written. What happens now is kept in memory only.",
        "A power cut would lose this night's record.",
        "Free space on the card or change it when the batch allows.",
        600,
    ),
}
"""Every alarm there is."""
