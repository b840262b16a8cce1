"""A learned model is taken within the rule, or by a held press; never while a firing is on, never another furnace's."""

from dataclasses import replace

import pytest

from supervisor.firing import commands as c
from supervisor.firing.presses import Asked
from supervisor.logbook.records import ModelRow
from supervisor.model.learned import Model
from tests.supervisor.firing.knowing import as_described
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake, furnace_at_hand, running


def at_rest() -> FurnaceAtHand:
    hand = furnace_at_hand()
    hand.wait(1.0)
    return hand


def adopt(hand: FurnaceAtHand, model: Model, *, objections: tuple[str, ...] = (), ask: bool = True) -> c.Answer:
    return hand.send(c.Adopt(hand.by(), model, 3, None, objections, ask, {"series": []}, "three melts"))


def rows(hand: FurnaceAtHand) -> list[ModelRow]:
    return [row for row in hand.records if isinstance(row, ModelRow)]


def test_a_model_within_the_rule_is_taken_for_the_next_firing_and_kept() -> None:
    hand, model = at_rest(), as_described(BENCH)
    assert adopt(hand, model).accepted
    assert hand.memory.adviser.adopted is model
    (row,) = rows(hand)
    assert row.adopted
    assert row.firing_id == 3
    assert Model.from_json(row.model).log_factors == model.log_factors


def test_the_first_that_carries_a_boost_stays_what_later_ones_are_compared_with() -> None:
    hand, first = at_rest(), as_described(BENCH)
    adopt(hand, first)
    second = as_described(BENCH, firings=4, loss=0.04)
    assert adopt(hand, second).accepted
    assert hand.memory.adviser.adopted is second
    assert hand.memory.adviser.commissioning is first


@pytest.mark.parametrize(
    ("model", "objections"),
    [
        (as_described(BENCH, firings=4, loss=0.2), ()),  # over 5 % in one firing
        (as_described(BENCH, firings=4), ("Nobody has confirmed its mass.",)),
    ],
)
def test_beyond_the_rule_only_a_held_press_takes_it(model: Model, objections: tuple[str, ...]) -> None:
    hand, first = at_rest(), as_described(BENCH)
    adopt(hand, first)
    answer = adopt(hand, model, objections=objections)
    assert answer.accepted
    assert "hold the button" in answer.sentence
    hand.run_until(lambda: hand.asked is Asked.ADOPT, 5.0)
    assert hand.memory.adviser.adopted is first
    hand.press()  # a short one is none
    assert hand.memory.adviser.adopted is first
    hand.hold_button()
    assert hand.memory.adviser.adopted is model
    assert rows(hand)[-1].who == "at the furnace"


def test_a_question_that_nobody_answers_lapses() -> None:
    hand, first = at_rest(), as_described(BENCH)
    adopt(hand, first)
    adopt(hand, as_described(BENCH, firings=4, loss=0.2))
    hand.wait(70.0)
    assert hand.asked is None
    hand.hold_button()
    assert hand.memory.adviser.adopted is first


def test_with_objections_and_nobody_to_ask_it_is_kept_and_not_taken() -> None:
    hand = at_rest()
    answer = adopt(hand, as_described(BENCH), objections=("Watches found something.",), ask=False)
    assert answer.accepted
    assert answer.sentence.startswith("Kept, not adopted")
    assert hand.memory.adviser.adopted is None
    assert not rows(hand)[0].adopted


def test_a_model_of_other_parts_is_refused() -> None:
    hand = at_rest()
    answer = adopt(hand, replace(as_described(BENCH), furnace_digest="of another one"))
    assert not answer.accepted
    assert rows(hand) == []


def test_a_firing_keeps_its_model_and_none_is_taken_meanwhile() -> None:
    hand = running(bake(to_c=500.0), start_c=450.0)
    assert not adopt(hand, as_described(BENCH)).accepted
    assert hand.memory.adviser.adopted is None
    assert hand.memory.adviser.model is None
