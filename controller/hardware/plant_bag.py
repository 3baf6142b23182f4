"""The pretend bag: pump, check valve, leaks, air out of the pores, moisture and thinner vapour.

Gas is counted as pressure times volume at the bag's temperature, [Pa m3]. Every flow between the
bag and its stores is written once and with both signs, so gas is neither made nor lost.
"""

from dataclasses import dataclass, replace
from math import exp, inf, sqrt

CHOKED = 0.528
"""Pressure ratio under which a hole passes no more air, [1]; isentropic flow of air, from memory,
to be checked."""
CHOKED_SPEED = 198.6
"""Volume of outside air a choked hole passes per area at 20 C, [m/s]; same source."""
NEARLY_STILL = 0.995
"""Pressure ratio over which flow is taken as proportional to what is left of it, [1]; own."""
STILL_SLOPE = 30.0
"""A bound on how steeply flow falls there, as share of choked flow per pressure ratio, [1]; own."""
BOILING = 0.5
"""How fast boiling thinner makes up a shortfall from its vapour pressure, [1/s]; own."""
LONGEST = 60.0
"""Longest step inside, [s]; own."""


@dataclass(frozen=True, slots=True)
class BagParameters:
    """The bag, hose and pump as they truly are."""

    volume: float = 6.0e-3
    """Free volume of bag, breather, hose and trap, [m3]; own."""
    empty_volume: float = 1.5e-3
    """The same of a bag with nothing in it, which lies flat, [m3]; own."""
    hose_volume: float = 0.05e-3
    """From the pump to a pinch in the hose, [m3]; own."""
    pump_speed: float = 3.4e-3 / 60
    """At the bag, behind hose and filter, [m3/s]; a 10 L/min pump's plate says more; own."""
    pump_ultimate: float = 8.0e3
    """Pressure the pump reaches on a blanked port, [Pa]; own."""
    leak: float = 0.8
    """Seam leak, as rise of the empty bag at full vacuum, [Pa/s]; 0.05 kPa/min, own."""
    orifice: float = 0.0
    """Area of a clean hole, discharge factor included, [m2]; own."""
    back_leak: float = 0.08
    """Check valve with the pump at rest, as such a rise, [Pa/s]; own."""
    pore_volume: float = 0.9e-3
    """Air in pores that are open to the bag, [m3]; a third of an ash board 450 x 300 x 20 mm, own.
    """
    pore_time: float = 12 * 60.0
    """Time constant at which bare pores empty into the bag, [s]; own."""
    coated_slows: float = 3.0
    """How many times slower coated pores do, [1]; own."""
    outgassing: tuple[tuple[float, float], ...] = ((600.0, 240.0), (800.0, 5400.0))
    """What breather and wood give off: rise of the closed bag, [Pa], and time constant, [s]; own.
    """


def emptied(parameters: BagParameters) -> BagParameters:
    """The same film, seams, hose and pump round no board: less room, and the same holes in it."""
    smaller = parameters.volume / parameters.empty_volume
    return replace(
        parameters,
        volume=parameters.empty_volume,
        leak=smaller * parameters.leak,
        back_leak=smaller * parameters.back_leak,
        pore_volume=0.0,
        pore_time=inf,
        outgassing=(),
    )


class Bag:
    """Gas in the bag and in the pores behind it, and in a hose that is pinched off."""

    def __init__(self, parameters: BagParameters, air: float, temperature: float) -> None:
        """An open bag in air of `air`, [Pa], at `temperature`, [K]."""
        self.parameters = self._usual = parameters
        self.empty = False
        """Nothing is in it: it lies on the bench, not over the board."""
        self.pressure = air
        """Absolute, [Pa]."""
        self.pore = air
        """Absolute pressure of the air in the pores, [Pa]."""
        self.sealed = False
        """The film is taped down and the port shut: only leaks and the pump move gas."""
        self.film_on = False
        """Film lies over the board, sealed or let up."""
        self.coated = False
        """Resin lies on the pores."""
        self.extra_leak = 0.0
        """A hole that should not be, as rise of the empty bag at full vacuum, [Pa/s]."""
        self.extra_back_leak = 0.0
        """What a failed check valve adds with the pump at rest, as such a rise, [Pa/s]."""
        self.hose_off = 0.0
        """Rise through an open hose, [Pa/s]; 0 while it is on."""
        self.worn = 0.0
        """How far the pump stays above its ultimate pressure, [Pa]."""
        self.blocked = False
        """Nothing passes from the bag to the pump."""
        self.pinched = False
        """Nothing passes there either, and the gauge is on the pump's side."""
        self._hose = air
        self._temperature = temperature
        self._stores = [rise for rise, _ in parameters.outgassing]
        self._damp = 0.0

    @property
    def leak(self) -> float:
        """Rise of the empty bag at full vacuum with the pump at rest, [Pa/s]."""
        parameters = self.parameters
        hole = parameters.orifice * CHOKED_SPEED * 101325.0 / parameters.volume
        back = self.hose_off or parameters.back_leak + self.extra_back_leak
        if self._cut_off:
            back = 0.0
        return parameters.leak + hole + self.extra_leak + back

    @property
    def at_gauge(self) -> float:
        """What the gauge is on, absolute, [Pa]: the bag, or the pump's side of a pinch."""
        return self._hose if self.pinched else self.pressure

    @property
    def _cut_off(self) -> bool:
        return self.blocked or self.pinched

    @property
    def gas(self) -> float:
        """All gas in bag, pores and what is still to come off, [Pa m3]."""
        parameters = self.parameters
        return (
            parameters.volume * (self.pressure + sum(self._stores))
            + parameters.pore_volume * self.pore
        )

    def seal(self, air: float) -> None:
        """Film on, taped down, port connected; it stays at the pressure it has.

        air: what is in it where an empty one was shut, [Pa]
        """
        if self.empty:
            self._take(self._usual, air)
        if not self.film_on:
            self._fill_stores()
        self.film_on = self.sealed = True

    def seal_empty(self, air: float) -> None:
        """Shut another bag with nothing but air of `air`, [Pa], in it, on the same hose."""
        self._take(emptied(self._usual), air)
        self.sealed = self.empty = True

    def _take(self, parameters: BagParameters, air: float) -> None:
        """Another bag, open."""
        self.parameters, self.pressure, self.pore = parameters, air, air
        self._fill_stores()
        self.sealed = self.film_on = self.empty = False

    def _fill_stores(self) -> None:
        self._stores, self._damp = [rise for rise, _ in self.parameters.outgassing], 0.0

    def dampen(self, rise: float) -> None:
        """Wet what lies in it, so that it gives off so much more, [Pa], as fast as its wood does;
        0 takes nothing back."""
        if self._stores and rise != self._damp:
            self._stores[0] += max(0.0, rise - self._damp)
            self._damp = rise

    def vent(self) -> None:
        """Air let in, film still on."""
        self.sealed = False

    def open(self, air: float) -> None:
        """Film off; an empty bag is put away."""
        self.sealed = self.film_on = False
        if self.empty:
            self._take(self._usual, air)

    def dose(self, volume: float, air: float) -> None:
        """Let so much air, [m3], of `air`, [Pa], in at once; an open bag is none the fuller."""
        if self.sealed:
            self.pressure += volume * air / self.parameters.volume

    def step(
        self, seconds: float, pumping: bool, air: float, temperature: float, floor: float
    ) -> float:
        """Move the gas on; gives back the thinner vapour that boiled off, [Pa m3].

        seconds: length, [s]       pumping: the pump turns        air: outside pressure, [Pa]
        temperature: of the gas at the end, [K]      floor: vapour pressure of the thinner, [Pa]
        """
        warmed = temperature / self._temperature
        self._temperature = temperature
        if self.pinched:
            self._breathe(seconds, pumping, air)
        if not self.sealed:
            self.pressure = air
            self.pore = air + (self.pore - air) * exp(-seconds / self._pore_time)
            return 0.0
        self.pressure *= warmed
        self.pore *= warmed
        boiled, left = 0.0, seconds
        quick = self._quickest(pumping, air)
        while left > 0:
            near = BOILING if self.pressure < floor + 500.0 else 0.0
            length = min(left, LONGEST, 0.25 / (quick + near))
            boiled += self._runge_kutta(length, pumping, air, floor)
            left -= length
        return boiled

    def pinch(self, shut: bool) -> None:
        """Pinch the hose between the bag and the gauge, or let it go."""
        if shut and not self.pinched:
            self._hose = self.pressure
        self.pinched = shut

    def _breathe(self, seconds: float, pumping: bool, air: float) -> None:
        """The pump's side of a pinch, by itself."""
        parameters = self.parameters
        if pumping and not self.hose_off:
            end = min(parameters.pump_ultimate + self.worn, self._hose)
            rate = parameters.pump_speed / parameters.hose_volume
        else:
            back = self.hose_off or parameters.back_leak + self.extra_back_leak
            end, rate = air, back * parameters.volume / parameters.hose_volume / air
        self._hose = end + (self._hose - end) * exp(-rate * seconds)

    @property
    def _pore_time(self) -> float:
        parameters = self.parameters
        return parameters.pore_time * (parameters.coated_slows if self.coated else 1.0)

    def _quickest(self, pumping: bool, air: float) -> float:
        """A bound on how fast the bag's pressure can respond, [1/s]."""
        parameters = self.parameters
        pump = parameters.pump_speed / parameters.volume if pumping else 0.0
        pores = (1 + parameters.pore_volume / parameters.volume) / self._pore_time
        fading = max((1 / time for _, time in parameters.outgassing), default=0.0)
        hole = STILL_SLOPE * parameters.orifice * CHOKED_SPEED / parameters.volume
        return pump + pores + fading + hole + self.leak / air

    def _runge_kutta(self, length: float, pumping: bool, air: float, floor: float) -> float:
        """One classical fourth-order step; gives back the vapour boiled off, [Pa m3]."""
        start = [self.pressure, self.pore, 0.0, *self._stores]
        one = self._flows(start, pumping, air, floor)
        two = self._flows(_on(start, one, length / 2), pumping, air, floor)
        three = self._flows(_on(start, two, length / 2), pumping, air, floor)
        four = self._flows(_on(start, three, length), pumping, air, floor)
        end = [
            value + length / 6 * (a + 2 * b + 2 * c + d)
            for value, a, b, c, d in zip(start, one, two, three, four, strict=True)
        ]
        self.pressure, self.pore, boiled = end[:3]
        self._stores = end[3:]
        return boiled

    def _flows(self, state: list[float], pumping: bool, air: float, floor: float) -> list[float]:
        """Rates of bag pressure, pore pressure, boiled vapour [Pa m3/s] and each store."""
        parameters = self.parameters
        pressure, pore = state[0], state[1]
        volume = parameters.volume
        emptiness = 1 - pressure / air
        rise = (parameters.leak + self.extra_leak) * emptiness
        if parameters.orifice:
            rise += _through_hole(pressure / air) * parameters.orifice * CHOKED_SPEED * air / volume
        if self._cut_off:
            pass
        elif self.hose_off:
            rise += self.hose_off * emptiness
        elif pumping:
            above = max(0.0, pressure - parameters.pump_ultimate - self.worn)
            rise -= parameters.pump_speed / volume * above
        else:
            rise += (parameters.back_leak + self.extra_back_leak) * emptiness
        fill = (pressure - pore) / self._pore_time
        rates = [0.0, fill, 0.0]
        rise -= fill * parameters.pore_volume / volume
        for store, (_, time) in zip(state[3:], parameters.outgassing, strict=True):
            given = store / time * max(0.0, emptiness)
            rates.append(-given)
            rise += given
        if pressure < floor:
            boiling = BOILING * (floor - pressure)
            rates[2] = boiling * volume
            rise += boiling
        rates[0] = rise
        return rates


def _on(start: list[float], rates: list[float], length: float) -> list[float]:
    """The state `length`, [s], further on at these rates."""
    return [value + length * rate for value, rate in zip(start, rates, strict=True)]


def _through_hole(ratio: float) -> float:
    """Flow through a clean hole as a share of its choked flow; `ratio` inside over outside, [1].

    The usual ellipse between choked and still, within 1 % of isentropic flow; common practice,
    no source.
    """
    if ratio <= CHOKED:
        return 1.0
    if ratio > NEARLY_STILL:
        return _through_hole(NEARLY_STILL) * (1 - ratio) / (1 - NEARLY_STILL)
    return sqrt(1 - ((ratio - CHOKED) / (1 - CHOKED)) ** 2)
