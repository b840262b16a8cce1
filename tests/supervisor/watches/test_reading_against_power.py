"""The reading against the power: what a fall or a rise is taken for. Courses made by hand."""

import pytest

from supervisor.watches.history import History
from supervisor.watches.model import ColderThanPower, LidUnseen, WarmerThanPower
from supervisor.watches.off import NONE_CAME
from supervisor.watches.view import Innovations, View
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake
from tests.supervisor.watches.equipped import started


@pytest.fixture(scope="module")
def hand() -> FurnaceAtHand:
    return started(BENCH, bake(to_c=520.0), start_c=500.0)


def stepped(*, before: float, after: float, moves_k_per_s: float) -> History:
    """Three minutes of one power, then forty seconds of another, in which the reading moves."""
    history = History()
    for _ in range(180):
        history.append(740.0, 787.0, before, 0)
    for second in range(40):
        history.append(740.0 + moves_k_per_s * second, 727.0, after, 0)
    return history


def seen(hand: FurnaceAtHand, history: History, mean_10_k: float) -> View:
    memory = hand.memory
    assert memory.sample is not None
    innovations = Innovations(mean_10_k, 2.0, 0.6, 0.3, True)
    sample = memory.sample
    belief, firing, furnace = memory.belief, memory.firing, memory.furnace
    return View(
        hand.now_s, sample.inputs, belief, history, firing, furnace, memory.log, 0, 0.0, sample.board, None, innovations
    )


@pytest.mark.parametrize(
    ("after", "moves_k_per_s", "mean_10_k", "speaks"),
    [
        (0.6, -0.36, 4.4, False),  # a furnace whose sensor sees less of its element than was learned
        (0.6, -0.36, 2.8, False),
        (0.6, 0.1, 2.8, True),
        (0.2, 0.1, 2.8, False),
        (0.2, 0.1, 4.4, True),  # a relay that does not let go
        (1.0, -0.36, 2.8, False),
        (1.0, 0.0, 2.8, True),
    ],
)
def test_a_falling_reading_is_late_and_a_rising_one_is_heated(
    hand: FurnaceAtHand, after: float, moves_k_per_s: float, mean_10_k: float, *, speaks: bool
) -> None:
    history = stepped(before=1.0, after=after, moves_k_per_s=moves_k_per_s)
    found = WarmerThanPower().judge(seen(hand, history, mean_10_k))
    assert (found is not None) is speaks


@pytest.mark.parametrize(("mean_10_k", "speaks"), [(1.8, True), (0.9, False), (-0.8, False)])
def test_what_was_off_counts_while_the_last_seconds_still_are(
    hand: FurnaceAtHand, mean_10_k: float, *, speaks: bool
) -> None:
    """A reading that was late with the end of a boost by 3.4 K over two minutes, and comes back."""
    view = seen(hand, stepped(before=0.4, after=0.4, moves_k_per_s=0.0), mean_10_k)
    assert view.innovations is not None
    view = view._replace(innovations=view.innovations._replace(mean_30_k=1.0, mean_120_k=3.4))
    assert (WarmerThanPower().judge(view) is not None) is speaks


@pytest.mark.parametrize(
    ("shut_ago_s", "mean_10_k", "speaks"),
    [
        (200.0, 2.6, False),  # what a lid took is not known yet
        (200.0, 4.2, True),
        (700.0, 2.6, True),
        (None, 2.6, True),
    ],
)
def test_for_ten_minutes_after_a_lid_it_takes_more_to_be_too_warm(
    hand: FurnaceAtHand, shut_ago_s: float | None, mean_10_k: float, *, speaks: bool
) -> None:
    history = stepped(before=0.5, after=0.5, moves_k_per_s=0.0)
    view = seen(hand, history, mean_10_k)
    hand.memory.firing.lid.last_shut_s = None if shut_ago_s is None else hand.now_s - shut_ago_s
    assert (WarmerThanPower().judge(view) is not None) is speaks
    hand.memory.firing.lid.last_shut_s = None


@pytest.mark.parametrize(
    ("after", "moves_k_per_s", "speaks"),
    [
        (1.0, 0.36, False),  # the same furnace: full power has come back, and the reading rises late
        (1.0, 0.0, True),  # it has not
        (0.3, 0.36, True),  # no step
        (1.0, -0.36, True),
    ],
)
def test_when_power_comes_back_a_rising_reading_is_late_and_a_still_one_is_not_heated(
    hand: FurnaceAtHand, after: float, moves_k_per_s: float, *, speaks: bool
) -> None:
    history = stepped(before=0.3, after=after, moves_k_per_s=moves_k_per_s)
    found = ColderThanPower().judge(seen(hand, history, -4.4))
    assert (found is not None) is speaks


def cooling(duty: float, k_per_s: float) -> History:
    history = History()
    for second in range(220):
        history.append(560.0 - k_per_s * max(0, second - 180), 560.0, duty, 0)
    return history


@pytest.mark.parametrize("owed", [0.0, NONE_CAME + 0.5])
def test_a_fall_as_under_an_open_lid_is_missing_heat_where_the_meter_says_so(hand: FurnaceAtHand, owed: float) -> None:
    fastest = BENCH.response.fastest_fall_c_per_s * ((530.0 + 273.15) / (830.0 + 273.15)) ** 4
    power = hand.memory.firing.power
    power.expected_then = power.expected - owed
    view = seen(hand, cooling(0.3, 0.4 * fastest), -3.0)
    assert spoken(view) == ({"colder-than-power"} if owed else {"lid-unseen"})


def spoken(view: View) -> set[str]:
    return {watch.id for watch in (ColderThanPower(), LidUnseen()) if watch.judge(view) is not None}


@pytest.mark.parametrize(("duty", "who"), [(0.1, "lid-unseen"), (0.34, "colder-than-power")])
def test_a_fall_that_missing_heat_explains_is_no_lids(hand: FurnaceAtHand, duty: float, who: str) -> None:
    power = hand.memory.firing.power
    power.expected_then = power.expected
    fastest = BENCH.response.fastest_fall_c_per_s * ((530.0 + 273.15) / (830.0 + 273.15)) ** 4
    assert spoken(seen(hand, cooling(duty, 0.35 * fastest), -3.0)) == {who}


@pytest.mark.parametrize(
    ("owed", "slows", "reckoned", "speaks"),
    [(25.0, True, False, True), (25.0, False, False, False), (5.0, True, False, False), (25.0, True, True, False)],
)
def test_full_power_that_no_meter_pulse_pays_for_under_a_reading_that_slows_down_is_missing(
    hand: FurnaceAtHand, owed: float, *, slows: bool, reckoned: bool, speaks: bool
) -> None:
    power = hand.memory.firing.power
    power.expected_then = power.expected - owed
    history, read_c = History(), 60.0
    for second in range(240):
        read_c += 0.8 * (0.98 ** max(0, second - 120) if slows else 1.0)
        history.append(read_c, 400.0, 1.0, 0)
    view = seen(hand, history, 0.0)
    if not reckoned:
        view = view._replace(innovations=None)
    assert spoken(view) == ({"colder-than-power"} if speaks else set())


def with_nothing_learned(hand: FurnaceAtHand, mean_10_k: float, mean_120_k: float | None) -> View:
    """At a quiet hold, where the reading does not move."""
    history = History()
    for _ in range(400):
        history.append(740.0, 740.0, 0.4, 0)
    return seen(hand, history, 0.0)._replace(innovations=Innovations(mean_10_k, mean_10_k, mean_120_k, None, False))


@pytest.mark.parametrize(
    ("mean_10_k", "mean_120_k", "who"),
    [
        (-0.9, -0.2, set()),  # as far as healthy ones came
        (-1.6, -1.4, set()),  # half more metal than was entered
        (-1.2, -0.1, {"colder-than-power"}),  # missing heat, half a minute after it went
        (-1.2, None, set()),  # not long after a lid
        (-2.0, None, {"colder-than-power"}),
        (-1.8, -1.8, {"colder-than-power"}),
        (1.2, 0.2, set()),
        (1.7, 0.3, {"warmer-than-power"}),
        (2.0, 1.0, {"warmer-than-power"}),
    ],
)
def test_with_nothing_learned_less_is_told(
    hand: FurnaceAtHand, mean_10_k: float, mean_120_k: float | None, who: set[str]
) -> None:
    view = with_nothing_learned(hand, mean_10_k, mean_120_k)
    warmer = WarmerThanPower().judge(view)
    assert spoken(view) | ({warmer.watch} if warmer is not None else set()) == who


@pytest.mark.parametrize(
    ("shut_ago_s", "moves_k_per_s", "owed", "speaks"),
    [
        (70.0, -0.1, 25.0, True),
        (70.0, 0.1, 25.0, False),  # it is heated, and the meter silent: that has a watch of its own
        (70.0, -0.1, 5.0, False),
        (30.0, -0.1, 25.0, False),  # it still falls from the open lid
    ],
)
def test_after_a_lid_full_power_without_a_pulse_under_a_falling_reading_is_missing_heat(
    hand: FurnaceAtHand, monkeypatch: pytest.MonkeyPatch, shut_ago_s: float, moves_k_per_s: float, owed: float,
    *, speaks: bool,
) -> None:  # fmt: skip
    """Nothing is held against the model for three minutes after a lid."""
    firing = hand.memory.firing
    monkeypatch.setattr(firing.lid, "last_shut_s", hand.now_s - shut_ago_s)
    monkeypatch.setattr(firing.power, "expected", firing.power.expected_then + owed)
    history = History()
    for second in range(200):
        history.append(640.0 + moves_k_per_s * second, 680.0, 1.0, 0)
    view = seen(hand, history, 0.0)._replace(innovations=Innovations(None, None, None, None, True))
    assert (ColderThanPower().judge(view) is not None) is speaks
