"""A heat that goes on after a guard has caught its probe is judged by what the probe reads now."""

import pytest
from tale import PlantTale, run_in

from controller.batch.acts import ActKind
from controller.batch.lamp_acts import PROBE_GUARDS
from controller.batch.stages import Stage

LOOKED = dict.fromkeys(("zone_clear", "purged", "plug_in_reach", "smoke_alarm"), True)


def warming() -> PlantTale:
    tale = PlantTale(run_in(Stage.PREHEAT))
    tale.rig.day_check_at = 0.0
    tale.plant.person_did(str(ActKind.START))
    return tale


def caught() -> PlantTale:
    """A probe that came off four minutes into the heat, and the guard that saw it."""
    tale = warming()
    for _ in range(240):
        tale.does(ActKind.PRESENT) if tale.now % 120 == 0 else tale.step()
    assert not tale.raised()
    tale.plant.add_fault("probe_fell")
    while tale.stage is not Stage.STOPPED:
        tale.step()
    return tale


def test_the_estimate_begins_anew_at_the_reading_of_a_probe_that_was_put_back() -> None:
    tale = caught()
    assert tale.run.stop_cause in PROBE_GUARDS
    tale.plant.clear_fault("probe_fell")
    tale.wait(300)
    heat = tale.engine.heat
    assert heat is not None and heat.gain != 1.0
    again(tale)
    face = tale.plant.read(tale.now).face
    assert face is not None
    assert heat.gain == pytest.approx(1.0, abs=0.01)
    assert heat.mean == pytest.approx(face.value, abs=1.0)


def test_a_healthy_heat_after_it_is_taken_for_healthy() -> None:
    tale = caught()
    tale.plant.clear_fault("probe_fell")
    tale.wait(300)
    raised = len(tale.raised())
    again(tale)
    for _ in range(900):
        tale.does(ActKind.PRESENT) if tale.now % 120 == 0 else tale.step()
    assert len(tale.raised()) == raised
    assert tale.stage is Stage.SOAK


def test_what_a_healthy_probe_taught_outlives_a_stop() -> None:
    tale = warming()
    tale.wait(200)
    heat = tale.engine.heat
    assert heat is not None
    taught = heat.gain
    tale.does(ActKind.STOP)
    again(tale)
    assert heat.gain == pytest.approx(taught, abs=0.02) and taught != 1.0


def again(tale: PlantTale) -> None:
    for alarm in list(tale.rig.alarms):
        tale.does(ActKind.ACKNOWLEDGE, alarm=alarm.id)
    tale.does(ActKind.RE_ARM)
