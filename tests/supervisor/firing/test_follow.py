"""What a firing is held against: the data sheets, until the furnace is learned from enough melts."""

from dataclasses import replace

import pytest

from supervisor.firing.follow import Follow
from supervisor.model.learned import Model
from tests.supervisor.firing.knowing import as_described
from tests.supervisor.furnace_at_hand import BENCH


def ends_at_k(model: Model | None, *, learned: bool) -> float:
    """The mean over 10 s after seven minutes of half of full power, by a reading that climbs half a kelvin a second."""
    follow = Follow()
    follow.begin(BENCH, model, 20.0, None, learned=learned)
    for second in range(420):
        follow.second(20.0 + 0.5 * second, 1200.0, lid_open=False)
    assert follow.innovations is not None
    assert follow.innovations.mean_10_k is not None
    return follow.innovations.mean_10_k


def test_a_model_from_too_few_melts_is_no_measure_for_the_watches() -> None:
    few = replace(as_described(BENCH, sd=0.05, power=0.3), learned_from=(1, 2))
    by_data_sheets_k = ends_at_k(None, learned=False)
    assert ends_at_k(few, learned=False) == by_data_sheets_k
    assert ends_at_k(few, learned=True) != pytest.approx(by_data_sheets_k, abs=0.05)
