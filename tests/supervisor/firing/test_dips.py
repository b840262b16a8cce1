"""Dip readings far from the estimate: a slip of the pen moves nothing, a second one like it does. Simulated."""

from dataclasses import replace

import pytest

from supervisor.firing import commands as c
from supervisor.firing.notes import AGAIN_AFTER_S, FAR_K
from supervisor.rehearsal.copied import in_a_copy
from tests.supervisor.firing.knowing import all_liquid
from tests.supervisor.furnace_at_hand import FurnaceAtHand


@pytest.fixture(scope="module")
def melted() -> FurnaceAtHand:
    """All metal is liquid, and estimated without doubt."""
    return all_liquid(60)


def metal_c(hand: FurnaceAtHand) -> float:
    estimate = hand.memory.adviser.estimate
    assert estimate is not None
    return estimate.metal_c


def dipped(hand: FurnaceAtHand, *readings_c: float, apart_s: float = AGAIN_AFTER_S + 5.0) -> tuple[str, float, float]:
    """What was answered to the last of them, and the estimate before and after."""
    answer, before_c = None, metal_c(hand)
    for reading_c in readings_c:
        answer = hand.note(c.NoteKind.DIP, temperature_c=reading_c)
        hand.wait(apart_s)
    assert answer is not None
    assert answer.accepted
    return answer.sentence, before_c, metal_c(hand)


@pytest.mark.parametrize("reading_c", [73.0, 1400.0])
def test_a_reading_far_from_the_estimate_is_kept_and_not_believed(melted: FurnaceAtHand, reading_c: float) -> None:
    said, before_c, after_c = in_a_copy(lambda: dipped(melted, reading_c))
    assert said.startswith("Noted, and not believed yet. The estimate said")
    assert "Dip again" in said
    assert abs(after_c - before_c) < 10.0


def test_until_another_one_is_believed_nothing_is_said_of_the_metal(melted: FurnaceAtHand) -> None:
    def doubts() -> list[str]:
        found = []
        for reading_c in (73.0, 72.0, round(metal_c(melted))):
            melted.note(c.NoteKind.DIP, temperature_c=float(reading_c))
            melted.wait(10.0)
            estimate = melted.memory.adviser.estimate
            assert estimate is not None
            found.append(estimate.doubt)
        return found

    first, second, third = in_a_copy(doubts)
    assert first == second == "The last dip reading is far from what is reckoned: dip again."
    assert third == ""


def test_it_stands_in_the_log_as_not_believed_and_nothing_is_learned_from_it(melted: FurnaceAtHand) -> None:
    def noted() -> dict[str, object]:
        melted.note(c.NoteKind.DIP, temperature_c=73.0)
        melted.wait(2.0)
        return dict(melted.events("note")[-1].detail)

    assert in_a_copy(noted) == {
        "kind": "dip reading",
        "mass_kg": None,
        "temperature_c": 73.0,
        "text": "",
        "believed": False,
    }


def test_a_second_one_like_it_is_believed_but_not_a_tap_twice(melted: FurnaceAtHand) -> None:
    far_c = metal_c(melted) + FAR_K + 40.0
    said, before_c, after_c = in_a_copy(lambda: dipped(melted, far_c, far_c + 5.0))
    assert said == "Noted."  # it had nothing to say of its own meanwhile
    assert after_c > before_c + 50.0
    said, before_c, after_c = in_a_copy(lambda: dipped(melted, far_c, far_c, apart_s=2.0))
    assert said.startswith("Noted, and not believed yet.")
    assert abs(after_c - before_c) < 10.0


def test_a_reading_near_the_estimate_corrects_it_at_once(melted: FurnaceAtHand) -> None:
    said, before_c, after_c = in_a_copy(lambda: dipped(melted, metal_c(melted) + 15.0))
    assert said.startswith("Noted. The estimate said")
    assert after_c > before_c + 5.0


def test_while_the_estimate_does_not_know_any_reading_counts(melted: FurnaceAtHand) -> None:
    def doubting() -> str:
        adviser = melted.memory.adviser
        assert adviser.estimate is not None
        adviser.estimate = replace(adviser.estimate, doubt="Metal may be missing.")
        return melted.note(c.NoteKind.DIP, temperature_c=900.0).sentence

    assert in_a_copy(doubting) == "Noted."
