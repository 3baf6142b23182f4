"""Pump, bag and leak: how fast a bag comes down, where it settles, and what its rise tells."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt
from operator import mul

from controller.errors import RangeError
from controller.science.constants import STANDARD_ATMOSPHERE, ZERO_CELSIUS


def pump_down_pressure(
    seconds: float, start: float, ultimate: float, speed: float, volume: float
) -> float:
    """Pressure in a tight bag after pumping this long, [Pa].

    seconds: since the pump went on      start: pressure then, [Pa]
    ultimate: lowest pressure the pump reaches, [Pa]      speed: of the pump, [m3/s]
    volume: of bag, hose, breather and open pores, [m3]

    p_u + (p0 - p_u) exp(-S t / V) [1] with a steady pump speed. No leak, no hose resistance, no
    vapour from wood or thinner: the real bag is slower. Raises RangeError for a negative time, a
    start below the ultimate, and a speed or volume that is not above zero.

    [1] W. Umrath (ed.), Fundamentals of Vacuum Technology, Oerlikon Leybold, 2007, chapter 2; from
    memory, to be checked.

    >>> pump_down_pressure(60, start=101_325, ultimate=100, speed=0.001, volume=0.020)
    5139.7
    """
    _check_pump(start, ultimate, speed, volume)
    if seconds < 0:
        raise RangeError(f"pumping for {seconds:g} s: time only goes forward")
    return ultimate + (start - ultimate) * exp(-speed * seconds / volume)


def pump_down_time(
    target: float, start: float, ultimate: float, speed: float, volume: float
) -> float:
    """Time to pump a tight bag down to a target, [s].

    target: pressure wanted, [Pa]      start, ultimate, speed, volume: as in pump_down_pressure

    (V / S) ln((p0 - p_u) / (p - p_u)), the inverse of pump_down_pressure and as much too short as
    that is too fast. Raises RangeError also when the target is at or below the pump's ultimate or
    above the start.

    >>> pump_down_time(10_000, start=101_325, ultimate=100, speed=0.001, volume=0.020)
    46.5
    """
    _check_pump(start, ultimate, speed, volume)
    if not ultimate < target <= start:
        raise RangeError(
            f"target {target:.0f} Pa: this pump goes from {start:.0f} Pa down to, never quite, "
            f"{ultimate:.0f} Pa"
        )
    return volume / speed * log((start - ultimate) / (target - ultimate))


def equilibrium_pressure(ultimate: float, flow: float, speed: float) -> float:
    """Pressure at which a leaking bag settles while the pump runs, [Pa].

    ultimate: lowest pressure the pump reaches, [Pa]      flow: into the bag, [Pa m3/s]
    speed: of the pump, [m3/s]

    p_u + Q / S (own, from the steady pump speed of pump_down_pressure). A leak that spoils a night
    moves it by a few hundred pascal only: look for leaks with the pump shut off. Raises RangeError
    for a negative ultimate or flow and for a speed that is not above zero.

    >>> equilibrium_pressure(ultimate=1000, flow=0.2822, speed=0.001)
    1282.2
    """
    if min(ultimate, flow) < 0 or speed <= 0:
        raise RangeError(f"no balance of {ultimate:g} Pa, {flow:g} Pa m3/s and {speed:g} m3/s")
    return ultimate + flow / speed


def leak_flow(volume: float, rise_rate: float) -> float:
    """Flow of gas into a bag whose pressure rises with the pump shut off, [Pa m3/s].

    volume: of bag, hose, breather and open pores, [m3]      rise_rate: of the pressure, [Pa/s]

    V dp/dt [1] at one temperature; a bag that warms by 1 K rises 0.3 % with no leak at all.
    Negative when the pressure falls. Raises RangeError for a volume that is not above zero.

    [1] W. Umrath (ed.), Fundamentals of Vacuum Technology, Oerlikon Leybold, 2007, chapter 5; from
    memory, to be checked.

    >>> leak_flow(volume=0.005, rise_rate=3386.389 / 60)  # 1 inHg in a minute
    0.2822
    """
    if volume <= 0:
        raise RangeError(f"bag of {volume:g} m3: a volume must be above 0")
    return volume * rise_rate


def flow_as_standard_ml_per_min(flow: float, temperature: float) -> float:
    """The same flow of gas as air at 20 degC and 101.325 kPa, [mL/min].

    flow: pressure times volume a second, [Pa m3/s]      temperature: of the gas measured, [K]

    Q / p x 293.15 / T, the ideal gas (own choice of 20 degC: other tables count at 0 degC and
    read 7 % less). Raises RangeError at or below absolute zero.

    >>> flow_as_standard_ml_per_min(flow=0.1, temperature=293.15)  # 1 mbar l/s
    59.2
    """
    if temperature <= 0:
        raise RangeError(f"gas at {temperature:g} K: must be above 0 K")
    cubic_metres = flow / STANDARD_ATMOSPHERE * (ZERO_CELSIUS + 20) / temperature
    return cubic_metres * 1e6 * 60


def rise_curve(
    seconds: float, start: float, leak_rate: float, fading: float, time_constant: float
) -> float:
    """Pressure in a shut bag that leaks, and whose wood and thinner still give off vapour, [Pa].

    seconds: since the pump was shut off      start: pressure then, [Pa]
    leak_rate: the straight part, [Pa/s]      fading: what the vapour adds in the end, [Pa]
    time_constant: in which the vapour comes to 63 % of it, [s]

    p0 + a t + b (1 - exp(-t / tau)) (own): air leaks on at a steady rate, vapour stops at its own
    pressure. Raises RangeError for a negative time and a time constant that is not above zero.

    >>> rise_curve(600, start=1000, leak_rate=2, fading=800, time_constant=90) / 1000
    2.999
    """
    _check_time_constant(time_constant)
    if seconds < 0:
        raise RangeError(f"{seconds:g} s after the pump: time only goes forward")
    return start + leak_rate * seconds + fading * (1 - exp(-seconds / time_constant))


@dataclass(frozen=True, slots=True)
class Rise:
    """What least squares makes of a stretch of pressure readings.

    The errors take each reading's noise as its own; noise that lasts over several readings makes
    them too small.
    """

    start: float
    """Pressure at time zero, [Pa]"""
    rate: float
    """Slope of the straight part, [Pa/s]"""
    rate_error: float
    """Standard error of the slope, one sigma, [Pa/s]"""
    other: float
    """Of the second part: fading [Pa], pressure per drift [Pa/K]; 0 for a plain line"""
    scatter: float
    """Of the readings about the fit, one sigma, [Pa]"""


def straight_line(times: Sequence[float], pressures: Sequence[float]) -> Rise:
    """The straight line of least squares through the readings.

    times: since the pump was shut off, [s]      pressures: [Pa], one for each time

    Ordinary least squares (common practice, no source). Raises RangeError for fewer than three
    readings, lists of unlike length, or readings all at one time.

    >>> straight_line([0, 60, 120, 180], [1000, 1030, 1060, 1090]).rate
    0.5
    """
    since, above, spread = _about_their_means(times, pressures)
    time_0, pressure_0 = times[0] - since[0], pressures[0] - above[0]
    rate = _dot(since, above) / spread
    residuals = [p - rate * t for t, p in zip(since, above, strict=True)]
    scatter = sqrt(_dot(residuals, residuals) / (len(times) - 2))
    return Rise(pressure_0 - rate * time_0, rate, scatter / sqrt(spread), 0.0, scatter)


def straight_rate(times: Sequence[float], pressures: Sequence[float]) -> float:
    """Slope alone of that line, [Pa/s], where its errors are not asked for.

    times: since the pump was shut off, [s]      pressures: [Pa], one for each time

    Raises RangeError as `straight_line`.

    >>> straight_rate([0, 60, 120, 180], [1000, 1030, 1060, 1090])
    0.5
    """
    since, above, spread = _about_their_means(times, pressures)
    return _dot(since, above) / spread


def straight_line_with_drift(
    times: Sequence[float], pressures: Sequence[float], drift: Sequence[float]
) -> Rise:
    """The straight line left when the part that goes with a drift is taken out.

    times: since the pump was shut off, [s]      pressures: [Pa]
    drift: what else moves the pressure, one for each time; the film's temperature, [K]

    Ordinary least squares on both; `start` is at time zero with the drift of the first reading.
    Raises RangeError for fewer than four readings, lists of unlike length, readings all at one
    time, and a drift that is constant or runs straight with time: it cannot be told from a leak.

    >>> straight_line_with_drift([0, 1, 2, 3], [50, 55, 58, 65], [0, 1, 0, 1]).rate
    4.5
    """
    _check_readings(times, pressures, 4)
    if len(drift) != len(times):
        raise RangeError(f"{len(drift)} drift values for {len(times)} readings")
    return _two_parts(times, pressures, [value - drift[0] for value in drift])


def straight_and_fading(
    times: Sequence[float], pressures: Sequence[float], time_constant: float
) -> Rise:
    """The fit of rise_curve to the readings for one time constant.

    times: since the pump was shut off, [s]      pressures: [Pa]
    time_constant: of the fading part, [s]; try several and keep the least scatter

    Ordinary least squares; the error is that of a time constant known beforehand, so a little too
    small for one that was searched for. Under three time constants of readings leak and vapour
    look alike: rate_error then grows. Raises RangeError as straight_line_with_drift does.

    >>> readings = [rise_curve(t, 1000, 2, 800, 90) for t in range(0, 601, 20)]
    >>> straight_and_fading(range(0, 601, 20), readings, time_constant=90).rate
    2.0
    """
    _check_readings(times, pressures, 4)
    _check_time_constant(time_constant)
    return _two_parts(times, pressures, [1 - exp(-t / time_constant) for t in times])


def _two_parts(times: Sequence[float], pressures: Sequence[float], second: Sequence[float]) -> Rise:
    """Least squares of start + rate t + other x, on values about their means for accuracy."""
    time_0, second_0, pressure_0 = _mean(times), _mean(second), _mean(pressures)
    t = [value - time_0 for value in times]
    x = [value - second_0 for value in second]
    p = [value - pressure_0 for value in pressures]
    tt, xx, tx = _dot(t, t), _dot(x, x), _dot(t, x)
    determinant = tt * xx - tx**2
    # The share of the second part that is not itself a straight line in time; 1e-12 is rounding.
    if determinant <= 1e-12 * tt * xx:
        raise RangeError("leak and second part run alike over these readings; wait for more")
    rate = (xx * _dot(t, p) - tx * _dot(x, p)) / determinant
    other = (tt * _dot(x, p) - tx * _dot(t, p)) / determinant
    residuals = [pi - rate * ti - other * xi for ti, xi, pi in zip(t, x, p, strict=True)]
    scatter = sqrt(_dot(residuals, residuals) / (len(times) - 3))
    start = pressure_0 - rate * time_0 - other * second_0
    return Rise(start, rate, scatter * sqrt(xx / determinant), other, scatter)


def _about_their_means(
    times: Sequence[float], pressures: Sequence[float]
) -> tuple[list[float], list[float], float]:
    """Times and pressures less their means, and the times' sum of squares, [s2]."""
    _check_readings(times, pressures, 3)
    time_0, pressure_0 = _mean(times), _mean(pressures)
    since = [t - time_0 for t in times]
    spread = _dot(since, since)
    if spread == 0:
        raise RangeError(f"{len(times)} readings all at {time_0:g} s: no slope without time")
    return since, [p - pressure_0 for p in pressures], spread


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values)


def _dot(left: Sequence[float], right: Sequence[float]) -> float:
    return float(sum(map(mul, left, right)))


def _check_pump(start: float, ultimate: float, speed: float, volume: float) -> None:
    if not 0 <= ultimate <= start or min(speed, volume) <= 0:
        raise RangeError(
            f"pump of {speed:g} m3/s and {ultimate:g} Pa on {volume:g} m3 from {start:g} Pa: speed "
            "and volume must be above 0, the start not below the ultimate"
        )


def _check_time_constant(time_constant: float) -> None:
    if time_constant <= 0:
        raise RangeError(f"time constant {time_constant:g} s: must be above 0")


def _check_readings(times: Sequence[float], pressures: Sequence[float], least: int) -> None:
    if len(times) != len(pressures) or len(times) < least:
        raise RangeError(
            f"{len(times)} times and {len(pressures)} pressures: as many of each, at least {least}"
        )
