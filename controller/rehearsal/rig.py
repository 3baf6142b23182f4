"""The pretend shop of a scenario: its settings, its facts, and the plant behind them.

What the plant truly is differs from what the sheet and the settings are told, drawn by the seed,
so that nothing is scored on its own numbers.
"""

from collections.abc import Callable, Iterable
from dataclasses import replace
from random import Random
from typing import Protocol

from controller.batch.acts import ActKind
from controller.batch.signals import RigFacts, Role, Wiring
from controller.hardware.plant import Plant, PlantParameters, PlantTruth
from controller.hardware.plant_bag import BagParameters
from controller.hardware.plant_board import BoardParameters
from controller.hardware.plant_coat import CoatParameters
from controller.hardware.plant_lamp import LampParameters
from controller.hardware.plant_shop import ShopParameters
from controller.hardware.rig import Rig
from controller.hardware.simulated import SimulatedRig
from controller.hardware.simulated_wiring import simulated_rig
from controller.instant import Instant
from controller.planning.batch_plan import plan
from controller.planning.description import parse_description
from controller.planning.examples import example
from controller.planning.sheet import BatchSheet, Coat
from controller.rehearsal.scenario import Scenario
from controller.rehearsal.weather import hours_from
from controller.science.air import standard_pressure
from controller.settings import Settings, default_settings_text, parse_settings

SIMULATED_RECORD = "SIMULATED record"
"""What a simulated rig brings in place of a bench record."""


class PretendRig(Rig, Protocol):
    """A rig over a plant, whatever drivers are between the two."""

    plant: Plant
    """What is sensed and switched."""

    def truth(self) -> PlantTruth:
        """What is so, whatever the sensors say."""

    def person_did(self, kind: str) -> None:
        """Do to the plant what the act `kind` says was done."""

    def add_fault(self, name: str, value: float | None = None, role: Role = Role.FACE) -> None:
        """Switch a fault on, at its usual value for None. Raises InputError."""

    def clear_fault(self, name: str, role: Role = Role.FACE) -> None:
        """Switch a fault off. Raises InputError."""


def do_by_hand(rig: PretendRig, kind: ActKind, coat: Coat | None) -> None:
    """Do to the plant what an act says was done.

    coat: the coat in hand, whose resin and thinner go on with COATED
    """
    if kind is not ActKind.COATED or coat is None:
        rig.person_did(str(kind))
        return
    rig.person_did(str(ActKind.PROBE_OFF))
    rig.plant.coat(coat.mix.coat, coat.mix.coat * coat.mix.thinner / coat.mix.total)


def settings_for(scenario: Scenario) -> Settings:
    """The shop's settings: the documented example, which is a whole simulated rig."""
    return parse_settings(default_settings_text(), "rig.example.toml")


def sheet_for(scenario: Scenario, settings: Settings) -> BatchSheet:
    """The batch sheet of the scenario's board on that rig."""
    return plan(parse_description(example(scenario.batch), scenario.batch), settings)


def plant_for(sheet: BatchSheet, scenario: Scenario, settings: Settings, seed: int) -> Plant:
    """The truth behind the sheet: the same board, lamp and bag within what a shop knows of them."""
    about = _within(scenario, seed, "rig")
    board, coat = board_for(sheet, scenario, seed)
    flux = settings.lamp.absorbed if scenario.lamp_flux is None else scenario.lamp_flux
    start = scenario.starts_at
    parameters = PlantParameters(
        board=board,
        lamp=LampParameters(flux=about(flux, 0.12)),
        coat=coat,
        bag=replace(BagParameters(), leak=about(0.8, 0.5), pump_speed=about(3.4e-3 / 60, 0.1)),
        shop=replace(
            ShopParameters(),
            start=scenario.evening.start,
            night_low=scenario.evening.night_low,
            day_high=scenario.evening.day_high,
            start_hour=start.hour + start.minute / 60,
            altitude=settings.shop.altitude,
            outdoors=() if scenario.outdoors is None else hours_from(scenario.outdoors),
        ),
    )
    return Plant(parameters, seed)


def board_for(
    sheet: BatchSheet, scenario: Scenario, seed: int
) -> tuple[BoardParameters, CoatParameters]:
    """The board a sheet is for, and its first coat, within what a shop knows of them."""
    about = _within(scenario, seed, "board")
    coat = sheet.coats[0]
    piece = sheet.piece(coat.probe_on)
    area = sum(sheet.piece(name).area for name in coat.pieces)
    gel_age = (coat.resin.gel_early + coat.resin.gel_late) / 2
    board = replace(
        BoardParameters(),
        length=area / piece.width,
        width=piece.width,
        thickness=piece.thickness,
        density=about(coat.board.density, 0.05),
        heat_capacity=about(coat.board.heat_capacity, 0.05),
        conductivity=about(coat.board.conductivity, 0.15),
    )
    resin = replace(
        CoatParameters(),
        resin=coat.mix.coat,
        solvent=coat.mix.coat * coat.mix.thinner / coat.mix.total,
        gel_age=about(gel_age, 0.15) if scenario.gel_age is None else scenario.gel_age,
    )
    return board, resin


def wired_as(
    settings: Settings,
    plant: Plant,
    seed: int,
    probes: Iterable[Role] = tuple(Role),
    probe_lag: float = 8.0,
) -> SimulatedRig:
    """The simulated rig over a plant, with what the settings name wired.

    seed: of all sensor noise      probes: those that are wired
    probe_lag: time constant of a contact probe, [s]
    """
    return simulated_rig(
        plant,
        probes,
        seed,
        panel=settings.panel,
        sense=settings.sense,
        infrared=settings.infrared,
        gauge=settings.gauge.wired == "wired",
        lamp=settings.lamp.wired == "wired",
        pump=settings.pump.wired == "wired",
        probe_lag=probe_lag,
    )


def _within(scenario: Scenario, seed: int, what: str) -> Callable[[float, float], float]:
    """Draws the truth about a value within a share of it, the same for the same seed."""
    return within(Random(f"{scenario.name} {seed} {what}"))


def within(rng: Random) -> Callable[[float, float], float]:
    """Draws what is so about a value within a share of it."""

    def about(value: float, share: float) -> float:
        return value * (1.0 + rng.uniform(-share, share))

    return about


def facts_for(
    settings: Settings,
    probes: frozenset[Role],
    *,
    simulated: bool,
    record: str | None,
    in_date: bool,
) -> Callable[[Instant], RigFacts]:
    """What is true of a rig with these settings, at any moment.

    probes: those that are wired     record: the bench record's name, if there is one
    """
    facts = RigFacts(
        simulated=simulated,
        lamp=Wiring(settings.lamp.wired),
        pump=Wiring(settings.pump.wired),
        gauge=Wiring(settings.gauge.wired),
        probes=probes,
        lamp_flux=settings.lamp.absorbed,
        lamp_min_on=settings.lamp.min_on,
        lamp_min_off=settings.lamp.min_off,
        probe_lag=20.0 if settings.probes.face is None else settings.probes.face.lag,
        close_watch=settings.rig.close_watch,
        pump_ultimate=settings.pump.ultimate_absolute(),
        pump_min_off=settings.pump.min_off,
        air_pressure=standard_pressure(settings.shop.altitude),
        record=record,
        record_in_date=in_date,
        day_check_done=False,
        zone_clear=True,
        clock_trusted=True,
        log_trouble=None,
    )

    doubted = replace(facts, clock_trusted=False)

    def at(now: Instant) -> RigFacts:
        return facts if now.trusted else doubted

    return at
