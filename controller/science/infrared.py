"""What an infrared thermometer's reading says of the surface it looks at."""

from controller.errors import RangeError


def true_surface(
    reading: float, set_emissivity: float, emissivity: float, reflected: float
) -> float:
    """Temperature of a surface from what an infrared thermometer says of it, [K].

    reading: of the thermometer, [K], above 0
    set_emissivity: the thermometer is set to, [-], above 0, to 1
    emissivity: of the surface, [-], above 0, to 1; bare and oiled wood some 0.9, common practice,
    no source
    reflected: temperature of what the surface mirrors, mostly the room, [K], above 0

    Both ways of telling the same radiation, es Tr^4 + (1 - es) T0^4 = e T^4 + (1 - e) T0^4, solved
    for T (own, from Stefan-Boltzmann). It counts radiation of all wavelengths where a thermometer
    sees 8 to 14 um: beside Planck's law in that band it gives up to 0.25 K too little, readings to
    60 degC, emissivities from 0.85, a 20 degC room. That is to too cold, the wrong side for a limit
    on heat. A lamp or its warm glass in the mirror counts as `reflected` and is never known well:
    read with the lamp off.
    Raises RangeError outside the ranges, and where the mirror image alone would be more than what
    was read.

    >>> true_surface(323.15, set_emissivity=1, emissivity=0.9, reflected=293.15) - 273.15
    52.86
    """
    if not (min(reading, reflected) > 0 and 0 < set_emissivity <= 1 and 0 < emissivity <= 1):
        raise RangeError(
            f"no surface from {reading:g} K at emissivity {set_emissivity:g}, truly {emissivity:g},"
            f" with {reflected:g} K mirrored: temperatures above 0 K, emissivities above 0 and to 1"
        )
    own = set_emissivity * reading**4 + (emissivity - set_emissivity) * reflected**4
    if not own > 0:
        raise RangeError(
            f"{reading:g} K was read and the mirror image of {reflected:g} K alone is more: the"
            " surface mirrors something colder, or its emissivity is not so low"
        )
    surface: float = (own / emissivity) ** 0.25
    return surface
