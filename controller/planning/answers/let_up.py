"""What letting the bag up before gel would press in, until when, and when it is not offered."""

from collections.abc import Iterator

from controller.planning.answers.calendar_moments import after_lamp_on, moment
from controller.planning.answers.case import Case
from controller.planning.answers.draw import coat_volume
from controller.planning.answers.film_course import evening_of
from controller.planning.answers.line import Line, Section, Told
from controller.planning.answers.pore_room import (
    PoreRoom,
    Taken,
    face_lets_in,
    flowing_mix,
    gel_after_stroke,
    pore_rooms,
    thirsty_rooms,
)
from controller.planning.answers.two_laws import LAWS
from controller.planning.answers.where_from import of_resin
from controller.planning.sheet import Bag
from controller.science.pores import fill_by_release

BUBBLING = 900.0
"""Under vacuum until the bubbles out of the pores have slackened, [s]; own: 10 to 15 min."""
_BOYLE = "own: Boyle's law, 1 less bag over air, pores at the bag's pressure and shut; upper bound"
_FACE = (
    "own estimate, no published figure: the least of Boyle's law and what the face lets through "
    "before gel, by Darcy's law in a thickening mix"
)


def section(case: Case) -> Section | None:
    """Whether letting the bag up before gel is worth it; None for a coat without a bag."""
    bag = case.coat.bag
    if bag is None:
        return None
    lines = _offered(case, bag) if bag.let_up else _not_offered(case)
    return Section(
        f"coat {case.coat.number} let_up",
        f"Coat {case.coat.number}: letting up",
        "Would letting the bag up press more in?",
        (*lines, _held()),
    )


def pressed_in(case: Case, bag: Bag, since: float) -> Taken:
    """What goes into all pieces when the bag is let up this long after the first stroke, [m3].

    since: [s]; nothing more goes in once it is past the gel
    """
    share = fill_by_release(bag.target, case.air_pressure)
    mix, drive = flowing_mix(case), case.air_pressure - bag.target
    # the drive falls as the pores fill: half of it on the whole at the tight end
    pull, filled = Taken(drive / 2, drive), Taken(share, share)
    taken = [face_lets_in(room, mix, pull, since, filled) for room in thirsty_rooms(case)]
    return Taken(sum(each.least for each in taken), sum(each.most for each in taken))


def _offered(case: Case, bag: Bag) -> Iterator[Line]:
    evening, gel = evening_of(case.coat), gel_after_stroke(case)
    soon = evening.sealed + BUBBLING - evening.stroke
    yield Line(
        "let_up.share",
        "in theory",
        "Ends and back are sealed, so it is on offer. Pores emptied to {bag} and let up to the air "
        "would fill to {share} at the most.",
        {
            "bag": Told("pressure_abs", bag.target, "worked: the set vacuum"),
            "share": Told("percent", fill_by_release(bag.target, case.air_pressure), _BOYLE),
        },
    )
    if gel.early is None:
        yield Line(
            "let_up.latest",
            "until",
            "Let up while it flows: no gel is foreseen in this shop, so look at a witness film.",
            care=True,
        )
        return
    source = f"{LAWS}; {of_resin(case, 'gel_early')}"
    figures = {"latest": moment(case, evening.stroke + gel.early, source)}
    if soon >= gel.early:
        yield Line(
            "let_up.latest",
            "until",
            "It may gel from {latest}" + after_lamp_on(case) + ", before the bag has been pulled "
            "and has bubbled out: leave it held.",
            figures,
            care=True,
        )
        return
    figures["soon"] = moment(case, evening.stroke + soon, "own: bag shut, and 15 min to bubble out")
    yield Line(
        "let_up.latest",
        "until",
        "Best when the bubbles slacken, about {soon}; {latest} at the latest"
        + after_lamp_on(case)
        + ", when the first of it may gel. The mix thickens all the while: later presses in less.",
        figures,
    )
    rooms = thirsty_rooms(case)
    if rooms:
        yield from _volumes(case, bag, soon, gel.early)
    else:
        yield Line(
            "let_up.shut",
            "coated before",
            "An earlier coat has shut this face: letting up gains next to nothing. Leave it held.",
        )


def _volumes(case: Case, bag: Bag, soon: float, latest: float) -> Iterator[Line]:
    early, late = pressed_in(case, bag, soon), pressed_in(case, bag, (soon + latest) / 2)
    rooms, holds = thirsty_rooms(case), coat_volume(case)
    pores = sum(room.pores for room in rooms)
    figures = {
        "least": Told("volume", early.least, _FACE),
        "most": Told("volume", early.most, _FACE),
        "pores": Told("volume", pores, "worked: size of the pieces times their share of air"),
        "late": Told("volume", late.most, _FACE),
        "holds": Told("volume", holds, "worked: mix for the boards over its density"),
    }
    text = (
        "The face would let in {least} to {most} of the {pores} of pores; half-way to gel {late} "
        "at the most."
    )
    if early.most > holds:
        text += (
            " The coat is only {holds}: without more on the face, air follows the resin in. Flood "
            "it before the film goes on, or do not let up."
        )
    else:
        del figures["holds"]
    yield Line("let_up.volume", "it could press in", text, figures, early.most > holds)
    yield Line(
        "let_up.after",
        "then",
        "Let it up slowly and leave it up: a second pull would draw it out again. The film no "
        "longer presses, so look that nothing lifts.",
    )


def _not_offered(case: Case) -> Iterator[Line]:
    rooms: tuple[PoreRoom, ...] = pore_rooms(case)
    bare = [f"{room.name}: {' and '.join(room.bare)}" for room in rooms if room.bare]
    yield Line(
        "let_up.bare",
        "not offered",
        f"Bare ({'; '.join(bare)}). Letting up would fill the pores with air from there, which "
        "gets in far more easily than resin. Seal them before the heat and it is on offer.",
    )


def _held() -> Line:
    return Line(
        "let_up.held",
        "held through gel",
        "A vacuum that is held through gel presses nothing in: pores and bag have the same "
        "pressure. It holds the film down, no more.",
    )
