"""How hot the lamp can get the face, by what the face takes up and by how far off it hangs."""

from collections.abc import Iterator

from controller.planning.answers.case import Case
from controller.planning.answers.line import Line, Told
from controller.planning.answers.warm_board import heat_task
from controller.planning.heat_course import settles_at
from controller.planning.lamp_flux import flux_at
from controller.science.slab import steady_back, steady_mean

SAME = 1.0
"""Fluxes that differ by less are the same, [W/m2]; own: rounding."""
_STEADY = "own: what is taken up against what is lost, controller/science/slab.py, lamp.absorbed "


def lamp_lines(case: Case) -> Iterator[Line]:
    """What is within reach, and what the lamp's distance says of it."""
    yield _reach(case)
    yield _flux(case)
    if case.description.heat.distance is not None:
        yield _from_distance(case, case.description.heat.distance)


def _reach(case: Case) -> Line:
    heat, room = case.coat.heat, case.description.shop.room
    slab = heat_task(case).slab
    source = _STEADY + _absorbed_source(case)
    thickness, conductivity = slab.thickness, slab.conductivity
    face = heat.settles_at
    figures = {
        "face": Told("temperature", face, source),
        "mean": Told(
            "temperature",
            steady_mean(face, room, slab.back_h, conductivity, thickness),
            source,
        ),
        "back": Told(
            "temperature",
            steady_back(face, room, slab.back_h, conductivity, thickness),
            source,
        ),
        "low": Told("temperature", heat.band_low, "own: the band this board needs"),
    }
    back = "lined" if case.description.heat.back == "lined" else "open"
    text = (
        f"Left on for good, with the back {back}, this lamp brings the face to {{face}}, the mean "
        "to {mean}, the back to {back}: "
    )
    text += (
        "the band from {low} is within reach."
        if heat.reachable
        else "the band from {low} is out of reach, or takes too long."
    )
    if face > heat.trip:
        figures["trip"] = Told("temperature", heat.trip, "own: 10 °C over the band, at most 60 °C")
        text += " It is never left on: the trip is at {trip}."
    return Line("warmth.reach", "within reach", text, figures, not heat.reachable)


def _flux(case: Case) -> Line:
    planned, lamp = heat_task(case).flux, case.settings.lamp
    flux = {"flux": Told("flux", planned, _absorbed_source(case))}
    if abs(planned - lamp.absorbed) > SAME:
        why = "reckoned from the lamp's power and its distance"
    elif "absorbed" in lamp.model_fields_set:
        why = "your lamp.absorbed"
    else:
        why = "a first guess"
    text = f"The face is taken to absorb {{flux}}, {why}. "
    text += "Each heat tells better: put what it finds into lamp.absorbed."
    return Line("warmth.flux", "lamp", text, flux)


def _from_distance(case: Case, distance: float) -> Line:
    lamp, task = case.settings.lamp, heat_task(case)
    band = flux_at(lamp, distance)
    source = (
        "own: lamp.power and heat.distance as told, 85 % in a beam of 30° half angle, all lamps on "
        "one spot; taken up: [1] Kang and others, 2011, bare wood in sunlight, to be checked"
    )
    figures = {
        "distance": Told("length", distance, "told: heat.distance"),
        "least": Told("flux", band.least, source),
        "likely": Told("flux", band.likely, source),
        "most": Told("flux", band.most, source),
        "cool": Told("temperature", settles_at(task, band.least), source),
        "hot": Told("temperature", settles_at(task, band.most), source),
    }
    which = "the lamp" if lamp.count == 1 else f"the {lamp.count} lamps"
    text = (
        f"From {{distance}}, {which} would give the face {{least}} to {{most}}, likely {{likely}}: "
        "it would settle at {cool} to {hot}. No figure for such a lamp was found in print: warm a "
        "scrap and calibrate."
    )
    outside = "absorbed" in lamp.model_fields_set and not band.holds(lamp.absorbed)
    if outside:
        figures["told"] = Told("flux", lamp.absorbed, "told: the rig's lamp.absorbed")
        text += (
            " Your lamp.absorbed, {told}, lies outside that, and the sheet's times hang on the "
            "distance: measure it anew, or leave it out."
        )
    return Line("warmth.distance", "by distance", text, figures, outside)


def _absorbed_source(case: Case) -> str:
    if abs(heat_task(case).flux - case.settings.lamp.absorbed) > SAME:
        return "own: reckoned from told lamp.power and heat.distance"
    if "absorbed" in case.settings.lamp.model_fields_set:
        return "told: the rig's lamp.absorbed"
    return "own: default of lamp.absorbed, one lamp at its maker's clearance"
