"""Whoever presses whatever while anything breaks, nothing comes about that must never be."""

import pytest
from hypothesis import HealthCheck, settings
from hypothesis.stateful import run_state_machine_as_test
from phones_story import Phones

ANY_SPEED = (HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much)


def test_many_phones_at_once_bring_about_nothing_that_must_never_be() -> None:
    run_state_machine_as_test(
        Phones,
        settings=settings(
            max_examples=25,
            stateful_step_count=40,
            derandomize=True,
            database=None,
            suppress_health_check=ANY_SPEED,
        ),
    )


@pytest.mark.volume
def test_many_more_phones_bring_it_about_neither() -> None:
    run_state_machine_as_test(
        Phones,
        settings=settings(
            max_examples=400,
            stateful_step_count=50,
            print_blob=True,
            suppress_health_check=ANY_SPEED,
        ),
    )
