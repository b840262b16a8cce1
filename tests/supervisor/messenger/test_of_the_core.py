"""What is told of a furnace at work: snapshots by the core itself, and faults as the simulated furnace has them."""

from typing import Any

import pytest

from supervisor.link.snapshot import snapshot
from supervisor.messenger.decide import Heard, Memory, Message, decide
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, melt, running
from tests.supervisor.messenger.saying import UTC_MS, to

LABELS: dict[str, Any] = {"run": "r1", "boot": "b1", "version": "0"}


class Told:
    """A messenger that hears the furnace at hand once a second."""

    def __init__(self, hand: FurnaceAtHand) -> None:
        self.hand, self.memory = hand, Memory()

    def wait(self, seconds: float) -> list[Message]:
        """Let time pass; what was told meanwhile."""
        found = []
        for _ in range(round(seconds)):
            self.hand.wait(1.0)
            now_s = self.hand.memory.belief.monotonic_s
            utc_ms = UTC_MS + round(now_s * 1000)
            shown = {**snapshot(self.hand.memory), **LABELS, "utc_ms": utc_ms, "age_s": 0.0}
            found += decide(self.memory, Heard(shown, 0.0, now_s, utc_ms))
        return found


def test_nothing_is_told_of_a_firing_without_trouble_from_start_to_end() -> None:
    hand = running(bake(to_c=470.0, hold_s=300.0), start_c=450.0)
    told = Told(hand)
    found = told.wait(200.0)
    assert found == []
    hand.stop()
    assert told.wait(60.0) == []


@pytest.mark.parametrize(
    ("fault", "says"),
    [
        ("sensor_open", "The sensor wire broke."),
        ("emergency_stop", "The emergency stop was pressed, or its wire is broken."),
        ("limiter_trip", "The over-temperature limiter opened: believe it."),
    ],
)
def test_a_trip_is_one_message_with_its_cause_and_heat_proved_off(fault: str, says: str) -> None:
    told = Told(running(bake(to_c=600.0)))
    told.wait(5.0)
    told.hand.inject(fault)
    found = told.wait(100.0)
    assert to(found) == [("first", 1, says)]
    assert "Heat is off: the contactor reads open." in found[0].body


def test_a_contactor_that_stays_in_is_told_as_not_proved_off_with_the_breaker() -> None:
    told = Told(running(bake(to_c=600.0)))
    told.wait(5.0)
    told.hand.inject("contactor_welded")
    told.hand.inject("emergency_stop")
    found = told.wait(60.0)
    assert found
    assert len(found) <= 3
    assert all("Heat is off" not in message.body for message in found)
    assert "breaker" in found[0].body


def test_a_sign_that_nobody_gives_is_told_to_the_first_and_then_to_the_second_contact() -> None:
    told = Told(running(melt(to_c=740.0), start_c=450.0))
    found: list[Message] = []
    for _ in range(60):
        found += told.wait(60.0)
        if any(message.order == "second" for message in found):
            break
    assert [message.order for message in found][:2] == ["first", "second"]
    assert "button" in found[0].body
    assert told.hand.memory.firing.state.value != "stopped"
