"""Be back by: an hour that the gate does not come before, and all that it is withdrawn for."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from hardware.ports import Level
from supervisor.firing.back import MARGIN_S, OWNS_UP_FOR_S
from supervisor.firing.firing import MassDoubt
from supervisor.firing.presses import Asked
from supervisor.link.back import OTHERWISE
from supervisor.model.countdown import GateAhead
from tests.campaigns.back import told
from tests.supervisor.firing.knowing import as_described
from tests.supervisor.firing.watched import may_go_away
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, furnace_at_hand, melt

SOON_S = 120.0


def away(*, rate_c_per_h: float = 900.0) -> FurnaceAtHand:
    """A learned furnace that heats, whose owner may go away; for two minutes."""
    hand = furnace_at_hand()
    hand.memory.firing.adviser.adopted = as_described(BENCH)
    hand.memory.firing.drained = True
    hand.start(melt(rate_c_per_h=rate_c_per_h))
    may_go_away(hand)
    hand.wait(SOON_S)
    return hand


def back(hand: FurnaceAtHand) -> dict[str, Any]:
    return dict(hand.shown()["be_back"])


def said(hand: FurnaceAtHand) -> str:
    shown = hand.shown()["headline"]
    return " ".join((shown["before"], shown["key"], shown["after"]))


def ahead(hand: FurnaceAtHand, *, early_min: float, likely_min: float) -> None:
    """The look ahead says this, from now."""
    adviser = hand.memory.firing.adviser
    adviser.gate_ahead, adviser.minutes_from_s = GateAhead(likely_min, early_min), hand.now_s
    hand.wait(1.0)


def test_the_hour_is_the_gates_early_edge_less_five_minutes_and_says_what_happens_otherwise() -> None:
    hand = away()
    found, adviser = back(hand), hand.memory.firing.adviser
    assert adviser.gate_ahead is not None
    early_s = adviser.minutes_from_s + 60.0 * adviser.gate_ahead.early
    assert hand.now_s + found["in_s"] == pytest.approx(early_s - MARGIN_S, abs=130.0)
    assert found["limit"] == "gate"
    assert found["far"] == "Be no further away than five minutes."
    assert said(hand) == f"Heating, all solid. Be back by {{hour}} {OTHERWISE}"
    assert hand.shown()["headline"]["tone"] == "calm"
    said_s = hand.now_s + found["in_s"]
    hand.run_until(lambda: hand.asked is Asked.GATE, 3600.0)
    assert hand.now_s > said_s


def test_it_is_never_beyond_the_next_sign_due() -> None:
    hand = away(rate_c_per_h=300.0)
    due_s = hand.memory.firing.attendance.due_s
    assert due_s is not None
    assert hand.memory.firing.back.gate_s is not None
    assert hand.memory.firing.back.gate_s > due_s
    assert hand.now_s + back(hand)["in_s"] == pytest.approx(due_s)
    assert back(hand)["limit"] == "sign"


def not_reached(hand: FurnaceAtHand) -> None:
    hand.memory.firing.reach.heard = False


def lid_not_fitted(hand: FurnaceAtHand) -> None:
    assert hand.memory.sample is not None
    sample = hand.memory.sample
    hand.memory.sample = sample._replace(inputs=sample.inputs._replace(lid=Level.NOT_FITTED))


def mass_doubted(hand: FurnaceAtHand) -> None:
    assert hand.memory.firing.run is not None
    hand.memory.firing.run.mass_doubt = MassDoubt(2.0, 1.3, "It heats otherwise.")


def pot_not_known(hand: FurnaceAtHand) -> None:
    estimate = hand.memory.firing.adviser.estimate
    assert estimate is not None
    hand.memory.firing.adviser.estimate = replace(estimate, doubt="The pot was not known to be drained.")


def nothing_learned(hand: FurnaceAtHand) -> None:
    hand.memory.firing.adviser.model = None


def lid_open(hand: FurnaceAtHand) -> None:
    hand.furnace.lid(True)
    hand.wait(0.5)


def sensor_open(hand: FurnaceAtHand) -> None:
    hand.inject("sensor_open")
    hand.wait(0.5)


def held(hand: FurnaceAtHand) -> None:
    hand.hold()


@pytest.mark.parametrize(
    ("happens", "why"),
    [
        (not_reached, "lamp and sounder"),
        (lid_not_fitted, "No lid switch"),
        (mass_doubted, "What is in the pot is doubted."),
        (pot_not_known, "not known to be drained"),
        (nothing_learned, "Nothing is learned"),
        (lid_open, ""),
        (sensor_open, ""),
        (held, ""),
    ],
)
def test_it_is_gone_at_once_with_any_doubt(happens: Callable[[FurnaceAtHand], None], why: str) -> None:
    hand = away()
    assert back(hand)["in_s"] is not None
    happens(hand)
    assert back(hand)["in_s"] is None
    assert why in back(hand)["why_not"]
    assert "Be back" not in said(hand)
    if why:
        assert why in said(hand)
        assert hand.shown()["headline"]["tone"] == "stay"


def test_without_a_clock_it_is_minutes_and_never_more_than_twenty() -> None:
    hand = away()
    for known in hand.memory.firing.reach.known.values():
        known.confirmed_s = 0.0
    hand.memory.firing.reach.utc_ms = None
    assert back(hand)["within_min"] == 20
    assert said(hand) == f"Heating, all solid. Be back within 20 min: the clock is not set. {OTHERWISE}"
    assert "{hour}" not in said(hand)


def test_it_moves_by_much_alone_and_then_owns_up() -> None:
    hand = away()
    ahead(hand, early_min=30.0, likely_min=32.0)
    hand.wait(OWNS_UP_FOR_S + 1.0)
    first_s = hand.now_s + back(hand)["in_s"]
    ahead(hand, early_min=26.5, likely_min=28.5)  # a minute and a half sooner: two minutes have gone
    assert hand.now_s + back(hand)["in_s"] == pytest.approx(first_s)
    assert back(hand)["moved"] is None

    ahead(hand, early_min=22.0, likely_min=24.0)
    moved = back(hand)["moved"]
    assert hand.now_s + back(hand)["in_s"] == pytest.approx(hand.now_s - 1.0 + 17.0 * 60.0, abs=2.0)
    assert moved["by_s"] < -120.0
    assert f"{round(-moved['by_s'] / 60.0)} min sooner: it heats faster than expected. {OTHERWISE}" in said(hand)
    assert hand.shown()["headline"]["tone"] == "wanted"
    hand.memory.firing.back.moved_s = hand.now_s - OWNS_UP_FOR_S - 1.0
    assert back(hand)["moved"] is None


def test_a_wide_band_lets_it_tremble_by_a_third_of_it() -> None:
    hand = away()
    ahead(hand, early_min=28.0, likely_min=40.0)
    first_s = hand.memory.firing.back.gate_s
    ahead(hand, early_min=24.5, likely_min=36.5)
    assert hand.memory.firing.back.gate_s == first_s
    ahead(hand, early_min=23.0, likely_min=35.0)
    assert hand.memory.firing.back.gate_s != first_s


def test_mains_that_came_up_are_named() -> None:
    hand = away()
    ahead(hand, early_min=40.0, likely_min=42.0)
    hand.memory.firing.back.ratio = 0.9  # it was promised at lower mains
    hand.wait(300.0)  # until the meter has counted enough
    ahead(hand, early_min=24.0, likely_min=26.0)
    assert "sooner: the mains came up." in said(hand)


def test_a_minute_before_it_says_now() -> None:
    hand = away()
    ahead(hand, early_min=5.5, likely_min=7.0)
    assert said(hand) == f"All solid. Be back now: the gate asks soon. {OTHERWISE}"
    assert hand.shown()["headline"]["tone"] == "wanted"


@pytest.mark.parametrize("seed", range(5, 8))
def test_the_gate_is_not_reached_before_an_hour_that_was_said(seed: int) -> None:
    found = told(seed)
    assert found.latest_s is not None
    assert not found.broken
