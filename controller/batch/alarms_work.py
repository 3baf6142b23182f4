"""The alarms of the work itself, of the controller and of its record.

Delays and deadbands: 1 % of 100 K and 60 s is the usual start for a temperature (from memory, to be
checked).
"""

from controller.batch.alarm_row import AlarmRow, Priority

P2, P3 = Priority.P2, Priority.P3

WORK_ALARMS: dict[str, AlarmRow] = {
    "work interrupted": AlarmRow(
        P2,
        "The controller restarted in the middle of the work. The lamp is off.",
        "Power was cut, or the controller was started anew.",
        "The board cools; resin in the cup goes on setting.",
        "Look at the rig, then RE-ARM, RESUME or ABANDON.",
        10,
    ),
    "power was away": AlarmRow(
        P2,
        "Power was away before the resin had gelled. The bag is pulled again if it is whole.",
        "A breaker that tripped, or a cut of the mains.",
        "The film may have lifted.",
        "Look at the film and the gauge.",
        20,
    ),
    "flash-off unwatched": AlarmRow(
        P3,
        "The controller was away while solvent was leaving. That time is not counted.",
        "Power was cut, or the controller was started anew.",
        "The solvent is out later than was told.",
        "Look at the new day it is expected, and weigh the board.",
        600,
    ),
    "pot life": AlarmRow(
        P2,
        "The mix in the cup is at the end of its pot life.",
        "It was mixed too early or too warm, or the coat took long.",
        "It strings, then it sets; a full cup gets hot enough to smoke.",
        "Stop using it. Spread what is left out in a tray, outdoors.",
        5,
    ),
    "too cold to set": AlarmRow(
        P3,
        "It is {film} at the film: too cold for this resin to set.",
        "A heater that went off in the night, or a shop colder than was planned for.",
        "The resin goes glassy instead of curing and is soft when it warms.",
        "Warm the room, not with the lamp and not with an open flame. It opens later.",
        120,
        off_delay=60.0,
        deadband=1.0,
    ),
    "controller late": AlarmRow(
        P3,
        "The controller was held up for more than 2 s under the lamp. The lamp was cut.",
        "A Pi that throttles, a card that hangs, or another program that takes the processor.",
        "The board cools.",
        "Look at the board, then RE-ARM. If it comes again, look at the Pi's cooling and supply.",
        10,
    ),
    "record damaged": AlarmRow(
        P2,
        "The record was found damaged, and what was in hand could not be read in it.",
        "A memory card that wears out, or power cut while it was written.",
        "Nobody watches a bag that may be under way: its pump is off.",
        "Look at the rig. Is a bag under vacuum, keep its pump on by hand. The old record lies "
        "beside the new one; plan the batch anew, and change the card.",
        15,
    ),
    "record not written": AlarmRow(
        P3,
        "The record cannot be written. What happens now is kept in memory only.",
        "A memory card that is full, worn out or locked.",
        "A power cut would lose this night's record, and with it the hold that goes on.",
        "Free space on the card or change it when the batch allows.",
        600,
        off_delay=10.0,
    ),
    "check due": AlarmRow(
        P3,
        "The bench check, or the monthly proof of cut-out and dead-man, ends within three days or "
        "is over.",
        "A month since the proof, or a year since the whole check.",
        "The lamp is watched more closely, or not armed at all, in the middle of a plan.",
        "Run warmdraw check before the next heat.",
        600,
        off_delay=60.0,
    ),
}
"""What may be wrong with the rest."""
