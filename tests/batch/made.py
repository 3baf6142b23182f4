"""A made-up batch sheet and rig facts, for stories told to the engine."""

from dataclasses import replace

from controller.batch.signals import RigFacts, Role, Wiring
from controller.planning.sheet import (
    Bag,
    BatchSheet,
    Board,
    Coat,
    FlashOff,
    Heat,
    Mix,
    Piece,
    Resin,
)

ZERO = 273.15
HOUR = 3600.0


def made_sheet(*, coats: int = 1, bagged: bool = True, thinner: float = 0.004) -> BatchSheet:
    """An invented washboard, sealed at ends and back."""
    piece = Piece(
        name="washboard",
        wood="white ash",
        length=0.45,
        width=0.30,
        thickness=0.020,
        moisture=0.08,
        ends_sealed=True,
        back_sealed=True,
    )
    coat = Coat(
        number=1,
        face="A",
        pieces=("washboard",),
        board=Board(
            thickness=0.020,
            conductivity=0.16,
            density=670.0,
            heat_capacity=1560.0,
            porosity=0.55,
            moisture=0.08,
            face_loss=11.0,
            back_loss=0.5,
        ),
        probe_on="washboard",
        mix=Mix(
            a=0.026,
            b=0.012,
            thinner_name="ethanol" if thinner else None,
            thinner=thinner,
            coat=0.035,
        ),
        heat=Heat(
            band_low=43 + ZERO,
            band_high=47 + ZERO,
            trip=57 + ZERO,
            window_low=32 + ZERO,
            window_high=38 + ZERO,
            target_mean=38 + ZERO,
            settles_at=85 + ZERO,
            reachable=True,
            advice=None,
            preheat=300.0,
            soak=1500.0,
            lamp_on=1300.0,
            opens=55.0,
            shuts=260.0,
            handling=180.0,
        ),
        bag=Bag(
            target=27e3,
            restart=37e3,
            possible=12e3,
            boil_limit=20e3,
            leak_limit=11.3,
            let_up=True,
        )
        if bagged
        else None,
        resin=Resin(
            name="laminating 2:1 slow",
            reference=23 + ZERO,
            activation_energy=55e3,
            pot_life=40 * 60.0,
            gel_early=3 * HOUR,
            gel_late=7 * HOUR,
            gel_is_guess=False,
            open_early=12 * HOUR,
            open_late=24 * HOUR,
            coldest=12 + ZERO,
            uncured_glass=-22 + ZERO,
            cured_glass=90 + ZERO,
            glass_curvature=0.4,
        ),
        flash_off=FlashOff(
            early=36 * HOUR if thinner else 0.0,
            late=54 * HOUR if thinner else 0.0,
            reference=20 + ZERO,
            activation_energy=40e3,
        ),
    )
    return BatchSheet(
        name="Washboard, ash",
        shop="Eelgrass Boatworks",
        pieces=(piece,),
        coats=tuple(replace(coat, number=number + 1) for number in range(coats)),
        cautions=(),
        sources={},
    )


def made_facts(**changes: object) -> RigFacts:
    """A wired simulated rig in good order."""
    facts = RigFacts(
        simulated=True,
        lamp=Wiring.WIRED,
        pump=Wiring.WIRED,
        gauge=Wiring.WIRED,
        probes=frozenset(Role),
        lamp_flux=700.0,
        lamp_min_on=5.0,
        lamp_min_off=5.0,
        probe_lag=10.0,
        close_watch=False,
        pump_ultimate=8e3,
        pump_min_off=60.0,
        air_pressure=101325.0,
        record="SIMULATED record",
        record_in_date=True,
        day_check_done=False,
        zone_clear=True,
        clock_trusted=True,
        log_trouble=None,
    )
    return replace(facts, **changes)  # type: ignore[arg-type]
