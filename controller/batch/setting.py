"""The resin setting: its age, when it gels, when the bag may be opened, when cold stalls it.

Equivalent age alone is optimistic in the cold, where a resin turns glassy before it is cured; so
below the coldest temperature of its class no credit is given at all (own, and on the safe side),
and a kinetic model with that glass in it runs beside the age: it tells cured from only cold.
"""

from controller.batch.state import Run
from controller.planning.cure_model import cure_model
from controller.planning.sheet import Resin
from controller.science.constants import ZERO_CELSIUS
from controller.science.cure import age_gained, arrhenius_factor
from controller.science.kinetics import GEL, CureState, advanced, speed_at, state_of

MILESTONES = ("gel_early", "gel_late", "open_early", "open_late")
"""The resin's ages whose passing is remembered, as its fields are called."""
STALL_TIME = 1800.0
"""How long it must be too cold before it is called a stall, [s]. Own."""
POT_WARNING = 0.75
"""Share of the pot life at which the person is told; common practice, no source."""


def credit(seconds: float, temperature: float, resin: Resin) -> float:
    """Age gained in `seconds` at `temperature` [K], in seconds at the resin's reference."""
    if not temperature >= resin.coldest:
        return 0.0
    return age_gained(seconds, temperature, resin.reference, resin.activation_energy)


def grow_older(run: Run, now: float, seconds: float, temperature: float) -> None:
    """Add one step at the film's temperature [K] to the run's age, and watch for a stall."""
    if run.mixed_at is None:
        return
    resin = run.coat.resin
    run.film = temperature
    gain(run, now, seconds, temperature)
    if temperature < resin.coldest:
        run.cold_since = now if run.cold_since is None else run.cold_since
    else:
        run.cold_since = None


def gain(run: Run, now: float, seconds: float, temperature: float) -> None:
    """Add the age of the `seconds` before `now`, and write down when a milestone was passed."""
    resin, before = run.coat.resin, run.age
    run.age += credit(seconds, temperature, resin)
    # at freezing point no resin of the catalogue cures, and the model is asked no colder
    if temperature > ZERO_CELSIUS:
        speed = speed_at(cure_model(resin), temperature)
        run.conversion = advanced(speed, run.conversion, seconds)
    for name in MILESTONES:
        age = getattr(resin, name)
        if before < age <= run.age:
            run.passed[name] = now - seconds * (run.age - age) / (run.age - before)


def networked(run: Run) -> bool:
    """By the model, its molecules hang together: warmed, it would not flow again."""
    return run.conversion >= GEL


def cure_state(run: Run, temperature: float) -> CureState:
    """What the mix is at the film's temperature [K], by the model."""
    return state_of(cure_model(run.coat.resin), run.conversion, temperature)


def only_cold(run: Run, temperature: float) -> bool:
    """It is hard to the nail because it is cold, not because it is cured."""
    return cure_state(run, temperature) in (CureState.GLASSY, CureState.GLASSY_BEFORE_GEL)


def stalled(run: Run, now: float) -> bool:
    """It has been too cold to set for half an hour."""
    return run.cold_since is not None and now - run.cold_since >= STALL_TIME


def too_cold(run: Run, now: float) -> float | None:
    """How much too cold to set it has been for half an hour, [K]; under zero, how much it is not.

    None where it has been too cold for less than that, and before anything is mixed.
    """
    if run.film is None or (run.cold_since is not None and not stalled(run, now)):
        return None
    return run.coat.resin.coldest - run.film


def reached_at(milestone: str, run: Run, now: float, temperature: float) -> float | None:
    """Rig time at which the run passed one of MILESTONES, or will if it stays at this temperature.

    None when it would never get there: too cold to set, or not mixed.
    """
    if milestone in run.passed:
        return run.passed[milestone]
    resin = run.coat.resin
    if run.mixed_at is None or not temperature >= resin.coldest:
        return None
    factor = arrhenius_factor(temperature, resin.reference, resin.activation_energy)
    left: float = getattr(resin, milestone) - run.age
    return now + left / factor


def pot_share(run: Run) -> float:
    """Share of the pot life that is gone, the mix reckoned at the temperatures it has been at."""
    return run.age / run.coat.resin.pot_life
