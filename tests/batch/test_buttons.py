"""The wired buttons: what each stands for, and what the record says of them."""

import pytest
from made import made_facts
from tale import Tale, heated, in_stage

from controller.batch.acts import ActKind
from controller.batch.events import EventKind
from controller.batch.stages import Stage


def test_the_stop_button_is_named_in_the_record_and_in_what_is_said() -> None:
    tale = heated()
    tale.stop = True
    tale.step()
    assert (tale.stage, tale.run.stop_cause) == (Stage.STOPPED, "STOP from the STOP button")
    assert tale.of_kind(EventKind.ACT)[-1].data["by"] == "the STOP button"
    assert "STOP from the STOP button" in tale.shown().sentence.text


def test_the_stop_button_held_down_is_one_stop_and_works_without_a_batch() -> None:
    tale = Tale()
    tale.stop = True
    tale.wait(5)
    assert [event.text for event in tale.of_kind(EventKind.ACT)] == ["STOP from the STOP button."]


def test_next_is_the_word_of_somebody_beside_the_lamp_whenever_it_is_tapped() -> None:
    tale = heated()
    said = tale.run.word_at
    tale.next = True
    tale.step()
    assert tale.run.word_at == tale.now != said
    assert tale.of_kind(EventKind.ACT)[-1].text == "PRESENT from the NEXT button."


def test_next_holds_presence_for_a_whole_heat_in_close_watch() -> None:
    tale = heated(made_facts(close_watch=True))
    for _ in range(20):
        tale.wait(60)
        tale.next = True
        tale.step()
    assert "nobody there" not in tale.raised()


def test_next_says_what_is_due_before_it_says_presence() -> None:
    tale = heated()
    tale.does(ActKind.FLIP)
    tale.step()
    tale.next = True
    tale.step()
    assert tale.run.lamp.side == "B"


@pytest.mark.parametrize("stage", [None, Stage.PLANNED, Stage.PULLDOWN, Stage.HOLD])
def test_next_with_nothing_due_is_told_and_does_nothing(stage: Stage | None) -> None:
    tale = Tale() if stage is None else in_stage(stage)
    if stage is not None:
        tale.rig.zone.tidied_at = 0.0
    before = None if stage is None else tale.stage
    tale.step()
    tale.next = True
    tale.step()
    assert [event.text for event in tale.of_kind(EventKind.NOTE)] == [
        "The NEXT button was tapped and nothing waits for it."
    ]
    assert not tale.of_kind(EventKind.ACT)
    assert before is None or tale.stage is before
