"""Ten kills; the full number is run by `python -m tests.end_to_end.kills --trials 200`."""

from collections.abc import Callable

import pytest

from tests.end_to_end.held_up import AGAIN
from tests.end_to_end.kills import kill_many

TRIALS = 10


@pytest.mark.processes
def test_furnace_goes_cold_and_the_supervisor_comes_back_stopped_whenever_it_is_killed(
    record_property: Callable[[str, object], None],
) -> None:
    kills = kill_many(TRIALS, first_seed=1, at_once=5)
    record_property(AGAIN, sum(kill.again for kill in kills))
    assert [kill for kill in kills if kill.faults] == []
    assert any(kill.contactor_was_in for kill in kills)
