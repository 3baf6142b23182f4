"""The alarms of lamp, board and face probe. All but the last are silent without a lamp at work.

No row here waits: what guards a lamp speaks at once, and looks twice in its own place.
"""

from controller.batch.alarm_row import AlarmRow, Danger, Priority

P1, P2 = Priority.P1, Priority.P2

LAMP_ALARMS: dict[str, AlarmRow] = {
    "face over trip": AlarmRow(
        P1,
        "The face reached {face}, the trip temperature. The lamp was cut.",
        "The lamp hangs too low or is too strong, or a draught it was set for has stopped.",
        "The board scorches.",
        "Look at the board. Pull the lamp's plug if it still burns. Raise the lamp before RE-ARM.",
        1,
        True,
        Danger.RUNAWAY,
    ),
    "lamp does not go off": AlarmRow(
        P1,
        "The lamp was told off, and it burns on as far as can be seen.",
        "The relay's contact is welded, or it is wired the wrong way round.",
        "Heat without limit: fire.",
        "Pull the lamp's plug now. Do not use this relay again before it has been proved.",
        1,
        True,
        Danger.OUTPUT,
    ),
    "lamp live beside solvent": AlarmRow(
        P1,
        "The lamp's line is live, and there may be solvent vapour in its zone.",
        "A welded relay, and a plug that was put in again before the zone was clear.",
        "A hot bulb lights the vapour.",
        "Cut its mains at the breaker, not at a plug inside the zone. No sparks. Air the room, "
        "then look at the relay.",
        1,
        True,
        Danger.VAPOUR,
    ),
    "probe fell": AlarmRow(
        P1,
        "The face reading fell while the lamp was on. The lamp was cut.",
        "The tape let go in the heat, somebody moved the board, or a bulb burnt out.",
        "The lamp would burn on a probe that does not touch the board, or a bulb is gone.",
        "Press the probe back under its tape, look at the bulb, then ACKNOWLEDGE and RE-ARM.",
        2,
        True,
        Danger.BLIND,
    ),
    "probe jumped": AlarmRow(
        P2,
        "The face reading jumped as no board can. The lamp was cut.",
        "A loose plug, a broken cable, or the board taken away under the lamp.",
        "The lamp would burn on a wrong number.",
        "Look at the probe and its cable, then ACKNOWLEDGE and RE-ARM.",
        2,
        True,
    ),
    "probe frozen": AlarmRow(
        P1,
        "The face reading stands still under a burning lamp. The lamp was cut.",
        "A probe that lost its feed for a moment and repeats its last figure.",
        "The lamp would burn on an old number.",
        "Unplug the probe and plug it in again, then ACKNOWLEDGE and RE-ARM.",
        2,
        True,
        Danger.BLIND,
    ),
    "probe disagrees": AlarmRow(
        P1,
        "From afar the face is at {seen}, and the probe has another figure. The lamp was cut.",
        "The probe is half off its seat, or the thermometer looks past the board.",
        "The lamp would burn on a probe half off its seat: the board gets far hotter than is said.",
        "Press the probe down under its tape, look at the board, then ACKNOWLEDGE and RE-ARM.",
        2,
        True,
        Danger.BLIND,
    ),
    "lamp tilted": AlarmRow(
        P1,
        "The lamp leans or fell. It was cut.",
        "A stand that was knocked, a cable somebody tripped over, a clamp that slipped.",
        "A hot bulb against wood, cloth or a can sets it alight.",
        "Pull the plug, set the lamp up and secure it by two means. Then ACKNOWLEDGE and RE-ARM.",
        1,
        True,
        Danger.FALLEN,
    ),
    "cut-out open": AlarmRow(
        P1,
        "The lamp's thermal cut-out has opened: the board may be far hotter than the probe says.",
        "A probe half off its seat, a lamp too low, or air that cannot get away.",
        "A probe half off its seat would have the board scorched once the cut-out is reset.",
        "Leave the lamp dark. Press the probe down, let all cool, reset the cut-out by hand, then "
        "ACKNOWLEDGE and RE-ARM.",
        2,
        True,
        Danger.FALLEN,
    ),
    "face probe lost": AlarmRow(
        P2,
        "No good reading from the face probe. The lamp is off.",
        "A plug half out, a broken cable, or a bus that one bad probe holds down.",
        "The board cools, and nobody knows how hot it is.",
        "Look at the probe's cable and plug. When it reads again, ACKNOWLEDGE.",
        5,
        True,
    ),
    "lamp not seen": AlarmRow(
        P2,
        "The lamp was lit for 30 s and the face probe did not see it.",
        "No mains, a dead bulb, or a probe that lies on another board.",
        "The lamp would burn on a probe that looks elsewhere.",
        "Is it plugged in, is the bulb whole, does the probe touch this board? Then ACKNOWLEDGE "
        "and RE-ARM.",
        10,
        True,
    ),
    "lamp not fed": AlarmRow(
        P2,
        "The lamp was told on, and its line stays dead. The command was taken back.",
        "A plug that is out, a breaker that tripped, or a relay that does not close.",
        "The board never gets warm, and a lamp that comes back by itself finds nobody ready.",
        "Look at plug, breaker, relay and contactor, in that order; a bulb is not looked at here. "
        "Then ACKNOWLEDGE and RE-ARM.",
        10,
        True,
    ),
    "no rise": AlarmRow(
        P2,
        "Two minutes of lamp and the face did not warm. This lamp settles at about {settles}.",
        "A bulb that burnt out, mains that are gone, a lamp too weak or too far away.",
        "The board never gets warm.",
        "Look at plug, breaker, bulb, relay and probe, in that order. Then ACKNOWLEDGE and RE-ARM.",
        10,
        True,
    ),
    "lamp time spent": AlarmRow(
        P2,
        "This face has had all its lamp time and is not in the band.",
        "A lamp too far away, a cold draught, or a bare back that loses the heat.",
        "The board is not warm enough to draw.",
        "Lower the lamp within its maker's clearance, line the back, or plan a cooler band.",
        15,
    ),
    "nobody there": AlarmRow(
        P2,
        "Nobody has pressed PRESENT. The lamp is off.",
        "The person at the lamp went away or did not look at the phone.",
        "The board cools.",
        "Come to the board and press PRESENT.",
        5,
    ),
    "exotherm": AlarmRow(
        P1,
        "It is {film} at the film and getting hotter by itself, with the lamp off.",
        "Resin that lies too thick under the film, in a pool or a fold.",
        "It smokes, melts the bag and can set the board alight.",
        "Switch the pump off, take the film off outdoors, spread the resin thin. Spread what is "
        "left in the cup in a tray outdoors; never shut it in.",
        5,
        True,
        Danger.EXOTHERM,
        off_delay=60.0,
    ),
}
"""What may be wrong with what heats."""
