"""Which part of the plant each of its faults sits in, and what it does there."""

from collections.abc import Mapping

from controller.hardware.plant_bag import Bag
from controller.hardware.plant_lamp import Lamp
from controller.hardware.plant_probes import Probes
from controller.hardware.plant_shop import Shop


def break_lamp(lamp: Lamp, faults: Mapping[str, float]) -> None:
    """Set the lamp's faults to those that are on, by name and value."""
    lamp.stuck_on = "lamp_stuck_on" in faults
    lamp.inverted = "lamp_inverted" in faults
    lamp.stuck_off = "lamp_stuck_off" in faults
    lamp.dead_share = min(1.0, faults.get("bulb_out", 0.0))
    lamp.strength = faults.get("lamp_strong", 1.0)
    lamp.knocked = "lamp_tilted" in faults
    lamp.cut_out_broken = "cut_out_open" in faults
    lamp.cut_out_bridged = "cut_out_bridged" in faults
    lamp.contactor_welded = "dead_man_stuck" in faults


def break_probes(probes: Probes, faults: Mapping[str, float]) -> None:
    """The same for the probes' places."""
    probes.fallen = "probe_fell" in faults or "board_gone" in faults
    probes.share = faults.get("probe_half_seated", 1.0)
    probes.lit_by = faults.get("probe_lit", 0.0)


def break_bag(bag: Bag, faults: Mapping[str, float], larger: float) -> None:
    """The same for bag, hose, trap and pump.

    larger: the usual bag's free volume beside this one's, [1]; a hole raises a smaller one faster
    """
    bag.extra_leak = larger * faults.get("leak", 0.0)
    bag.extra_back_leak = larger * faults.get("check_valve_fails", 0.0)
    bag.hose_off = larger * faults.get("hose_off", 0.0)
    bag.worn = faults.get("pump_worn", 0.0)
    bag.blocked = "trap_full" in faults
    bag.dampen(faults.get("outgassing", 0.0))
    bag.pinch("line_pinched" in faults)


def break_shop(shop: Shop, faults: Mapping[str, float]) -> None:
    """The same for the shop's air."""
    shop.drops = {name: faults.get(name, 0.0) for name in shop.drops}
    shop.front = faults.get("weather", 0.0)
