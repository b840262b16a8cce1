"""What is prepared is reckoned a little in each cycle: nobody starts on numbers that are not there yet."""

from supervisor.firing import commands as c
from supervisor.firing.adviser import FORECAST_AT_ONCE
from supervisor.firing.states import State
from supervisor.link.snapshot import snapshot
from supervisor.model.forecast import forecast
from tests.supervisor.firing.knowing import as_described, boosted_melt, knowing
from tests.supervisor.furnace_at_hand import BENCH, bake, furnace_at_hand


def test_a_learned_furnace_says_its_allowance_some_seconds_after_it_was_prepared() -> None:
    hand = knowing(model=as_described(BENCH))
    hand.wait(1.0)
    profile = boosted_melt()
    hand.prepare(profile)
    assert snapshot(hand.memory)["prepared"]["allowance_wh"] is None
    echo = (profile.name, 2.0, profile.top_c, profile.longest_s, 3000.0, True)
    early = hand.send(c.Start(hand.by(), hand.epoch, *echo))
    assert not early.accepted
    assert "still being reckoned" in early.sentence
    adviser = hand.memory.adviser
    turns = 4.0 * hand.run_until(lambda: adviser.reckoned, 60.0)
    found = adviser.forecast
    assert found is not None
    assert found.minutes is not None
    steps = 4.0 * found.minutes.high  # of a quarter minute; the slowest of the band ends it
    assert turns >= 0.8 * steps / FORECAST_AT_ONCE
    assert hand.send(hand.start_command()).accepted
    assert hand.memory.firing.run is not None
    assert hand.memory.firing.run.allowance_wh == snapshot(hand.memory)["firing"]["allowance_wh"]


def test_in_pieces_it_comes_to_what_it_comes_to_at_once() -> None:
    hand = knowing(model=as_described(BENCH))
    hand.wait(1.0)
    profile = boosted_melt()
    hand.prepare(profile)
    hand.run_until(lambda: hand.memory.adviser.reckoned, 60.0)
    found, reading_c = hand.memory.adviser.forecast, hand.memory.belief.last_c
    assert found is not None
    assert reading_c is not None
    at_once = forecast(BENCH, hand.memory.adviser.model, profile, reading_c=20.0, cap_c=profile.top_c)
    assert found.minutes is not None
    assert at_once.minutes is not None
    assert abs(found.minutes.likely / at_once.minutes.likely - 1.0) < 0.02


def test_with_nothing_learned_the_data_sheets_say_it_at_once_and_the_record_has_the_forecast() -> None:
    hand = furnace_at_hand()
    hand.wait(1.0)
    hand.prepare(bake())
    assert hand.memory.firing.prepared_allowance_wh is not None
    assert hand.send(hand.start_command()).accepted
    assert hand.state is State.STARTING
    assert hand.memory.adviser.forecast is not None
