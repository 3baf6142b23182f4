"""What a heat lamp sends to a board, what wood takes up of it, and how hot the face gets."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan, cos, exp, log, pi

from controller.errors import RangeError
from controller.science.face_loss import HOTTEST_AIR, free_convection_up, radiation_loss

WIEN = 2.897771955e-3
"""Wavelength of the peak times temperature, [m K]. [1] CODATA 2018; from memory, to be checked."""
SECOND_RADIATION = 1.438776877e-2
"""Second radiation constant, h c / k, [m K]. [1] CODATA 2018; from memory, to be checked."""


@dataclass(frozen=True, slots=True)
class Share:
    """A share known only as a range."""

    low: float
    """[-]"""
    likely: float
    """[-]"""
    high: float
    """[-]"""


ABSORPTIVITY = Share(low=0.31, likely=0.40, high=0.57)
"""Of bare wood for the light of a lamp, [-]; it grows with density and darkness. [1] Kang and
others, 2011, on solar absorptivity and infrared emissivity of bare wood, abstract: 0.396, from
0.308 to 0.570, in sunlight. A filament is redder than the sun and one paper is no law: measure the
lamp on the board. Title to be checked."""
FILAMENT = 2400.0
"""Temperature of a heat lamp's filament, [K]; makers and sellers say 2200 to 2400; common practice,
no source."""
LAMP_EFFICIENCY = 0.85
"""Share of a reflector lamp's power that leaves as a beam, [-]; own: no published figure found."""
BEAM_HALF_ANGLE = pi / 6
"""From the axis to where a reflector lamp is half as bright, [rad]; own: 30 degrees, no published
figure found."""


def beam_exponent(half_angle: float) -> float:
    """How narrow a beam is: m of a brightness that goes as cos^m off the axis, [-].

    half_angle: from the axis to where it is half as bright, [rad], above 0, under pi / 2

    -ln 2 / ln cos (own, the definition turned round). Raises RangeError outside the range.

    >>> beam_exponent(half_angle=pi / 3)
    1.0
    """
    if not 0 < half_angle < pi / 2:
        raise RangeError(
            f"half angle {half_angle:g} rad: above 0 and under {pi / 2:.3f}; 0.52 is 30 degrees"
        )
    return -log(2) / log(cos(half_angle))


def irradiance(power: float, efficiency: float, distance: float, exponent: float) -> float:
    """What a lamp sends to a board straight under it, [W/m2]; the board takes up a share of it.

    power: electrical, [W]      efficiency: share that leaves in the beam, [-], 0 to 1
    distance: from the lamp's face, [m]      exponent: of beam_exponent, [-], 0 or more

    eta P (m + 1) / (2 pi d^2) (own: a point with a cos^m beam, all of it forward). Nearer than some
    two lamp widths the lamp is no point and this is too much. Off by the tens of per cent by which
    efficiency and angle are guessed. Raises RangeError outside the ranges.

    >>> irradiance(250, efficiency=0.85, distance=0.3, exponent=beam_exponent(pi / 6))
    2186.6
    """
    if not (power > 0 and 0 < efficiency <= 1 and distance > 0 and exponent >= 0):
        raise RangeError(
            f"no lamp of {power:g} W, efficiency {efficiency:g} at {distance:g} m with a beam of "
            f"cos^{exponent:g}: all above 0, the efficiency a share"
        )
    return efficiency * power * (exponent + 1) / (2 * pi * distance**2)


def irradiance_of_lamps(
    on_axis: float, distance: float, aside: Sequence[float], exponent: float
) -> float:
    """What several like lamps, all looking straight down, send to one spot, [W/m2].

    on_axis: of one lamp straight under it, irradiance, [W/m2]      distance: of their plane, [m]
    aside: how far each lamp is to the side of the spot, [m]; one number for each lamp
    exponent: of beam_exponent, [-], 0 or more

    on_axis times the sum of cos^(m + 3) of each lamp's angle: its beam, its longer way twice, and
    the slant at which it strikes (own). Errs as irradiance does. Raises RangeError outside the
    ranges.

    >>> irradiance_of_lamps(1230, distance=0.4, aside=[0.15, 0.15], exponent=4.82)
    1470.6
    """
    if not (on_axis >= 0 and distance > 0 and exponent >= 0):
        raise RangeError(
            f"no lamps of {on_axis:g} W/m2 at {distance:g} m with a beam of cos^{exponent:g}: the "
            "distance above 0, the rest 0 or more"
        )
    shares: float = sum(cos(atan(side / distance)) ** (exponent + 3) for side in aside)
    return on_axis * shares


def wien_peak(temperature: float) -> float:
    """Wavelength at which a black body is brightest, [m].

    temperature: [K], above 0; RangeError otherwise

    >>> 1e6 * wien_peak(temperature=2400)
    1.207
    """
    if not temperature > 0:
        raise RangeError(f"black body at {temperature:g} K: must be above 0 K")
    return WIEN / temperature


def blackbody_fraction(wavelength_temperature: float) -> float:
    """Share of a black body's power that comes at shorter wavelengths than this, [-].

    wavelength_temperature: wavelength times temperature, [m K], 0 or more

    15 / pi^4 sum e^(-n x) / n (x^3 + 3 x^2 / n + 6 x / n^2 + 6 / n^3) with x = c2 / (lambda T), the
    band of Planck's law term by term [1]; to 1e-9. A filament is not black: tungsten sends a
    little more of the short waves. Raises RangeError for a negative product.

    [1] Incropera and DeWitt, table 12.1, whose rows it gives to 5e-5; from memory, to be checked.

    >>> blackbody_fraction(2.5e-6 * 2400)
    0.7378
    """
    if not wavelength_temperature >= 0:
        raise RangeError(f"wavelength times temperature {wavelength_temperature:g} m K: 0 or more")
    # Planck's e^-x has run out of numbers long before, and a share under 1e-20 is none
    if wavelength_temperature < SECOND_RADIATION / 60:
        return 0.0
    x = SECOND_RADIATION / wavelength_temperature
    if x < 0.05:
        # the series is slow here; what lies at longer waves is small and smooth
        return 1 - 15 / pi**4 * x**3 * (1 / 3 - x / 8 + x**2 / 60)
    terms = (
        exp(-n * x) / n * (x**3 + 3 * x**2 / n + 6 * x / n**2 + 6 / n**3)
        for n in range(1, int(30 / x) + 2)
    )
    return 15 / pi**4 * sum(terms)


def steady_face_under(
    absorbed: float,
    room: float,
    emissivity: float,
    size: float,
    back_h: float,
    conductivity: float,
    thickness: float,
) -> float:
    """Face temperature with the lamp on for ever over a board that lies face up, [K].

    absorbed: by the face, irradiance times absorptivity, [W/m2], 0 or more      room: [K]
    emissivity: of the face, [-]      size: face_loss.plate_size, [m]
    back_h: film coefficient behind the board, [W/(m2 K)]; 0 for a perfect lining
    conductivity: [W/(m K)]      thickness: [m]

    Where radiation_loss, free_convection_up and what goes through the board to the back add up to
    what is absorbed; halved until 1e-6 K is left. Unlike slab.steady_face its losses grow with the
    temperature. Still air, so it errs to too hot. Raises RangeError for a board or loss outside its
    range, and where the lamp would take the face past the film that air_at covers, some 230 degC.

    >>> steady_face_under(2186.6 * 0.40, 293.15, 0.9, 0.06, 0, 0.16, 0.02) - 273.15
    79.8
    """
    if not (absorbed >= 0 and back_h >= 0 and min(conductivity, thickness) > 0):
        raise RangeError(
            f"no steady face of {absorbed:g} W/m2 on {thickness:g} m of {conductivity:g} W/(m K) "
            f"over {back_h:g} W/(m2 K): the board above 0, the rest 0 or more"
        )
    through = back_h / (1 + back_h * thickness / conductivity)

    def lost(face: float) -> float:
        air = free_convection_up(face, room, size) + through
        return radiation_loss(emissivity, face, room) + air * (face - room)

    # the film of air is as warm as the mean of face and room
    low, high = room, 2 * HOTTEST_AIR - room
    if lost(high) < absorbed:
        raise RangeError(
            f"{absorbed:.0f} W/m2 would take the face past {high - 273.15:.0f} degC; wood scorches "
            "far below: move the lamp away"
        )
    while high - low > 1e-6:
        middle = (low + high) / 2
        low, high = (middle, high) if lost(middle) < absorbed else (low, middle)
    return (low + high) / 2
