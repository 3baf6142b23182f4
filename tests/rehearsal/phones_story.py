"""Two to eight phones over one rig, by chance: who presses what, what breaks, what time it is."""

import dataclasses
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import note
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from phones_rig import BEGINS, ManyPhones, act, rig_in

from controller.batch.acts import CARRIES, Act, ActKind
from controller.batch.signals import Role
from controller.batch.snapshot import Press, Snapshot
from controller.batch.stages import Stage
from controller.hardware.faults import FAULTS
from controller.planning.sheet_json import sheet_to_json
from controller.rehearsal.chance import WIRED

PHONES = st.integers(0, 7)
FIGURES = st.floats(-1e9, 1e9, allow_nan=False)
ANYTHING = st.one_of(st.booleans(), FIGURES, st.text(max_size=8))
SENSIBLE: dict[str, st.SearchStrategy[str | float | bool]] = {
    "plug_in_reach": st.just(True),
    "smoke_alarm": st.just(True),
    "aired": st.just(True),
    "reason": st.just("looked along the tape"),
    "place": st.just("loft rack"),
    "what": st.sampled_from(["board", "sister", "coupon"]),
    "role": st.sampled_from([*Role, "bag", "barometer", "gun"]),
    "value_c": st.floats(-10.0, 90.0),
    "value_pa": st.floats(0.0, 110e3),
}
"""What a person would say; of everything else a mass in grams."""
GRAMS = st.floats(0.1, 900.0)
AGO = st.one_of(st.just(0.0), st.just(0.0), st.floats(0.0, 900.0), st.floats(0.0, 2e5))
"""How long ago a press is told to have been, [s]."""
SHORT = st.sampled_from([1.0, 2.0, 3.0, 8.0, 20.0, 45.0, 120.0])
NAMES = sorted({name for row in CARRIES.values() for name in row} | {"sheet", "id"})


class Phones(RuleBasedStateMachine):
    """Everybody presses at once, and nothing that must never be comes about."""

    def __init__(self) -> None:
        super().__init__()
        self._folder = TemporaryDirectory(prefix="warmdraw-phones-")
        self.rig: ManyPhones
        self.pages: list[Snapshot] = []
        """What each phone shows, which may be long gone."""
        self.said: list[Act] = []
        """Every act so far."""

    @initialize(stage=st.sampled_from(BEGINS), phones=st.integers(2, 8))
    def begins(self, stage: Stage, phones: int) -> None:
        self.rig = rig_in(stage, Path(self._folder.name))
        self.pages = [self.rig.page()] * phones

    # --- people

    @rule(phone=PHONES)
    def looks(self, phone: int) -> None:
        self.pages[phone % len(self.pages)] = self.rig.page()

    @rule(phone=PHONES, ago=AGO, data=st.data(), fresh=st.booleans())
    def presses_what_is_open(
        self, phone: int, ago: float, data: st.DataObject, fresh: bool
    ) -> None:
        if fresh:
            self.looks(phone)
        page = self.pages[phone % len(self.pages)]
        presses = [press for press in (page.press, *page.others) if press is not None]
        if presses:
            press = data.draw(st.sampled_from(presses))
            values = data.draw(_said(press))
            self._send(act(self._name(), ActKind(press.act), page, ago, **values))

    @rule(phone=PHONES)
    def presses_what_is_due(self, phone: int) -> None:
        self.looks(phone)
        page = self.pages[phone % len(self.pages)]
        if page.press is not None:
            asked = {name: _yes(name) for name in page.press.asks}
            self._send(act(self._name(), ActKind(page.press.act), page, **asked))

    @rule(phone=PHONES)
    def hears_every_alarm(self, phone: int) -> None:
        page = self.pages[phone % len(self.pages)]
        self._send(
            *(
                act(self._name(number), ActKind.ACKNOWLEDGE, page, alarm=alarm.id)
                for number, alarm in enumerate(page.alarms)
            )
        )

    @rule(
        kind=st.sampled_from(ActKind),
        batch=st.sampled_from([None, "batch-1", "batch-2", "ghost"]),
        stage=st.sampled_from([None, *Stage, "NOWHERE"]),
        ago=AGO,
        values=st.dictionaries(st.sampled_from(NAMES), ANYTHING, max_size=3),
    )
    def presses_anything(
        self,
        kind: ActKind,
        batch: str | None,
        stage: str | None,
        ago: float,
        values: dict[str, str | float | bool],
    ) -> None:
        self._send(
            Act(
                id=self._name(),
                kind=kind,
                batch=batch,
                stage=None if stage is None else str(stage),
                by="stranger",
                ago=ago,
                values=values,
            )
        )

    @rule(phone=PHONES, number=st.integers(1, 3))
    def plans(self, phone: int, number: int) -> None:
        page, sheet = self.pages[phone % len(self.pages)], sheet_to_json(self.rig.sheet)
        self._send(act(self._name(), ActKind.PLAN, page, sheet=sheet, id=f"batch-{number}"))

    @rule(phones=st.lists(PHONES, min_size=2, max_size=4), data=st.data())
    def press_in_one_second(self, phones: list[int], data: st.DataObject) -> None:
        acts = []
        for number, phone in enumerate(phones):
            page = self.pages[phone % len(self.pages)]
            presses = [press for press in (page.press, *page.others) if press is not None]
            if presses:
                press = data.draw(st.sampled_from(presses))
                values = data.draw(_said(press))
                acts.append(act(self._name(number), ActKind(press.act), page, **values))
        self._send(*acts)

    @precondition(lambda self: self.said)
    @rule(data=st.data(), twice=st.booleans())
    def taps_again(self, data: st.DataObject, twice: bool) -> None:
        again = data.draw(st.sampled_from(self.said))
        self._send(again, *([again] if twice else []))

    @precondition(lambda self: self.said)
    @rule(data=st.data(), kind=st.sampled_from(ActKind))
    def sends_another_act_with_a_known_id(self, data: st.DataObject, kind: ActKind) -> None:
        known = data.draw(st.sampled_from(self.said))
        self._send(dataclasses.replace(known, kind=kind))

    @rule(phone=PHONES)
    def stops(self, phone: int) -> None:
        self._send(act(self._name(), ActKind.STOP, self.pages[phone % len(self.pages)]))

    @rule(down=st.booleans())
    def moves_the_stop_button(self, down: bool) -> None:
        self.rig.press_stop(down)
        self.rig.wait(1.0)

    # --- the world

    @rule(seconds=SHORT)
    def time_passes(self, seconds: float) -> None:
        self.rig.wait(seconds)

    @precondition(lambda self: self.rig.runner.engine.tick > 1.0)
    @rule(hours=st.floats(0.1, 2.0))
    def a_long_hold_goes_on(self, hours: float) -> None:
        """Where a tick is long: in a hold, in flash-off, when all is done."""
        self.rig.wait(min(hours * 3600.0, 150.0 * self.rig.runner.engine.tick))

    @rule(name=st.sampled_from(WIRED), role=st.sampled_from(Role), size=st.floats(0.5, 2.0))
    def something_breaks(self, name: str, role: Role, size: float) -> None:
        fault = FAULTS[name]
        value = None if fault.unit == "-" else max(fault.least, fault.usual * size)
        self.rig.rig.add_fault(name, value, role)
        self.rig.wait(1.0)

    @rule()
    def all_is_put_right(self) -> None:
        for name in WIRED:
            for role in Role:
                self.rig.rig.clear_fault(name, role)
        self.rig.wait(1.0)

    @rule(seconds=st.floats(0.1, 30.0))
    def the_controller_is_killed(self, seconds: float) -> None:
        self.rig.stop_dead(seconds, mains=True)

    @rule(seconds=st.sampled_from([1.0, 20.0, 90.0, 1200.0, 9000.0]))
    def the_power_is_cut(self, seconds: float) -> None:
        self.rig.stop_dead(seconds, mains=False)

    @rule(seconds=st.sampled_from([-200 * 86400.0, -3600.0, -1.0, 1.0, 3600.0, 200 * 86400.0]))
    def the_calendar_is_set(self, seconds: float) -> None:
        self.rig.clock += seconds
        self.rig.wait(1.0)

    @rule(trusted=st.booleans())
    def the_calendar_is_or_is_not_synced(self, trusted: bool) -> None:
        self.rig.trusted = trusted

    # --- what must hold

    @invariant()
    def no_rule_is_broken(self) -> None:
        assert self.rig.onlooker.unsafe == []

    def teardown(self) -> None:
        if hasattr(self, "rig"):
            self.rig.close()
            self.rig.watch.had_one_effect(Path(self._folder.name) / "log.db")
        self._folder.cleanup()

    # --- how

    def _send(self, *acts: Act) -> None:
        for each in acts:
            note(f"{self.rig.now + 1.0:.0f} s: {each}")
        self.rig.send(*acts)
        self.said += acts

    def _name(self, number: int = 0) -> str:
        return f"act-{len(self.said) + number:04d}"


def _yes(name: str) -> str | float | bool:
    return {"reason": "fine", "place": "loft rack", "what": "board"}.get(name, True)


@st.composite
def _said(draw: st.DrawFn, press: Press) -> dict[str, str | float | bool]:
    """What the press asks for, mostly sensible, now and then anything at all."""
    values = {}
    for name in press.asks:
        sensible = SENSIBLE.get(name, GRAMS)
        values[name] = draw(st.one_of(sensible, sensible, sensible, ANYTHING))
    return values
