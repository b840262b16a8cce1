"""Three of each fault, side by side; the full number is run by `python -m tests.campaigns.processes --trials 100`."""

from collections.abc import Callable

import pytest

from tests.campaigns.processes import FAULTS, trials
from tests.end_to_end.held_up import AGAIN

EACH = 3
NAMES = tuple(name for name in FAULTS if name != "kill -9")  # ten kills are in tests/end_to_end/test_kills.py


@pytest.mark.processes
def test_whatever_happens_to_the_supervisor_the_furnace_goes_cold_in_time(
    record_property: Callable[[str, object], None],
) -> None:
    found = trials(EACH, first_seed=1, at_once=6, names=NAMES)
    record_property(AGAIN, sum(trial.again for trial in found))
    assert [trial for trial in found if trial.faults] == []
    assert len(found) == EACH * len(NAMES)
    assert sum(trial.relay_off_s is not None for trial in found) > EACH, "the relay was on at many of them"
