"""Nobody answers: at no moment does that give more heat than answering would have given."""

from itertools import accumulate

import pytest

from hardware.ports import CYCLE_S
from supervisor.firing.states import HEATED
from tests.supervisor.furnace_at_hand import FurnaceAtHand, melt, running


def wh(hand: FurnaceAtHand, minutes: float) -> list[float]:
    """Energy ordered since now, minute by minute."""
    power_w = hand.memory.furnace.full_power_w
    minute_wh = []
    for _ in range(round(minutes)):
        before_s = hand.relay_on_s
        hand.wait(60.0)
        minute_wh.append((hand.relay_on_s - before_s) * power_w / 3600.0)
    return list(accumulate(minute_wh))


@pytest.mark.parametrize("start_c", [450.0, 530.0, 620.0])
def test_silence_never_gives_more_heat_than_answers_and_ends_in_none(start_c: float) -> None:
    there, away = (running(melt(), start_c=start_c) for _ in range(2))
    there.answer_everything()
    answered, silent = wh(there, 35.0), wh(away, 35.0)
    window_wh = there.memory.furnace.full_power_w * there.memory.furnace.relay_window_s / 3600.0
    for minute, (one, other) in enumerate(zip(silent, answered, strict=True), start=1):
        assert one <= other + window_wh, minute
    assert silent[-1] < answered[-1]
    share = [float(row.duty) for row in away.rows()[-60:]]
    assert max(share) <= 1.0


def test_from_first_liquid_on_silence_ends_every_heat() -> None:
    hand = running(melt(), start_c=620.0)
    hand.run_until(lambda: hand.asked is not None, 60.0)
    hand.press()
    run = hand.memory.firing.run
    assert run is not None
    hand.run_until(lambda: run.gate.may_be_liquid, 1800.0)
    hand.run_until(lambda: hand.state not in HEATED, 2400.0)  # nobody comes
    before_s = hand.relay_on_s
    for _ in range(round(1200.0 / CYCLE_S)):
        hand.turn()
    assert hand.relay_on_s == before_s
