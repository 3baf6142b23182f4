"""The walk through the steps: what ends it, what hangs on what, and what a person may type."""

from pathlib import Path

import pytest
from benches import Person, bench, settings, step

from controller.batch.signals import Commands
from controller.commissioning.record import Result
from controller.commissioning.walk import BY_NAME, STEPS, walk
from controller.errors import OutputError


def verdicts(results: tuple[Result, ...]) -> dict[str, str]:
    return {result.step: result.verdict for result in results}


def test_no_lamp_is_plugged_in_whose_off_is_not_off(tmp_path: Path) -> None:
    with bench(settings(tmp_path), Person({"Are the relays open": "no"})) as on:
        found = verdicts(walk(on, STEPS))
    skipped = {"lamp", "bag", "STOP"}
    assert {name for name, verdict in found.items() if verdict == "fail"} == {"outputs"}
    assert {name for name, verdict in found.items() if verdict == "skipped"} == {
        name for name, step in BY_NAME.items() if "outputs" in step.after
    }
    assert skipped < found.keys()


def test_what_failed_before_holds_for_a_step_that_is_done_alone(tmp_path: Path) -> None:
    before = (Result(step="lamp", verdict="fail", says="its relay does not open"),)
    with bench(settings(tmp_path)) as on:
        (alone,) = walk(on, (BY_NAME["dead-man"],), before)
        assert (alone.verdict, alone.says) == ("skipped", "not while lamp fails")
        mended = walk(on, (BY_NAME["lamp"], BY_NAME["dead-man"]), before)
    assert verdicts(mended) == {"lamp": "pass", "dead-man": "pass"}


def test_the_steps_that_others_hang_on_come_before_them() -> None:
    names = list(BY_NAME)
    for found in STEPS:
        assert all(names.index(name) < names.index(found.name) for name in found.after)


def test_outputs_that_do_not_follow_end_it_all(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with bench(settings(tmp_path)) as on:
        apply = on.rig.apply

        def stuck(commands: Commands) -> None:
            if commands.lamp:
                raise OutputError("lamp on GPIO17 was switched ON and reads OFF; pull its plug")
            apply(commands)

        monkeypatch.setattr(on.rig, "apply", stuck)
        found = walk(on, STEPS)
    assert [result.verdict for result in found] == ["pass"] * 2 + ["fail"] + ["skipped"] * 12
    assert found[2].says.endswith("pull its plug")


def test_the_bag_is_judged_by_a_gauge_whose_zero_is_known(tmp_path: Path) -> None:
    found = []
    before = (Result(step="gauge", verdict="pass", says="", corrections={"bag": -2e3}),)
    for earlier, off in (((), 0.0), (before, 2e3)):
        with bench(settings(tmp_path)) as on:
            on.watch(1.0)
            on.rig.add_fault("gauge_offset", off)  # type: ignore[attr-defined]
            found.append(walk(on, (BY_NAME["bag"],), earlier)[0].figures["ultimate_pa"])
    assert found[0] == pytest.approx(found[1], abs=60.0)


@pytest.mark.parametrize("name", list(BY_NAME))
def test_a_person_who_goes_away_at_any_question_leaves_every_output_off(
    tmp_path: Path, name: str
) -> None:
    class GoneError(Exception):
        pass

    class Leaving(Person):
        left = 0

        def ask(self, question: str, careful: str) -> str:
            self.left -= 1
            if self.left < 0:
                raise GoneError
            return super().ask(question, careful)

    questions = 0
    while True:
        person = Leaving()
        person.left = questions
        with bench(settings(tmp_path), person) as on:
            try:
                result = step(on, name)
            except GoneError:
                questions += 1
                assert on.rig.outputs() == Commands()
                continue
        break
    assert result.verdict == "pass"
    assert questions > 0 or name == "wired"


def test_yes_is_yes_and_anything_else_is_asked_again(tmp_path: Path) -> None:
    said = ["", "maybe", "Y"]
    with bench(settings(tmp_path), Answering(said)) as on:
        assert on.yes("Is it?")
    assert said == []


def test_a_fact_is_told_in_words(tmp_path: Path) -> None:
    with bench(settings(tmp_path), Answering(["", "ok", "yes", "done", "den"])) as on:
        assert on.fact("In which room?", "") == "den"


class Answering(Person):
    """Says these, one after another, then what a careful person does."""

    def __init__(self, said: list[str], to: str = "") -> None:
        """to: part of the question"""
        super().__init__()
        self._said, self._to = said, to

    def ask(self, question: str, careful: str) -> str:
        if self._to in question and self._said:
            return self._said.pop(0)
        return super().ask(question, careful)


def test_a_bath_that_is_none_is_asked_for_again(tmp_path: Path) -> None:
    person = Answering(["45", "20 C", "45C"], to="thermometer say")
    with bench(settings(tmp_path), person) as on:
        assert step(on, "points").verdict == "pass"
    assert any("A bath from" in line for line in person.heard)


@pytest.mark.parametrize("name", ["lamp", "dead-man", "STOP", "sounder", "bag"])
def test_a_person_who_walks_away_leaves_every_output_off(tmp_path: Path, name: str) -> None:
    class GoneError(Exception):
        pass

    with bench(settings(tmp_path)) as on:
        ticks = [0]
        wait = on.pause

        def pause(seconds: float) -> None:
            ticks[0] += 1
            if on.rig.outputs() != Commands():
                raise GoneError
            wait(seconds)

        on.pause = pause
        with pytest.raises(GoneError):
            step(on, name)
        assert on.rig.outputs() == Commands()
