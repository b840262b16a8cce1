"""The balance of a melt with its gap named, and the list of what is still open."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from supervisor.metal.closing import (
    FIRE_WATCH_MIN,
    MS_PER_MIN,
    Balance,
    Facts,
    balance,
    fire_watch,
    gap_words,
    may_close,
    still_open,
    usual_gap,
)
from supervisor.metal.descent import OUTSIDE, Holder, Ledger, Movement

MELT, OTHER, LOT = Holder("melt", 1), Holder("melt", 2), Holder("lot", 1)
NOTHING = Balance(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


def of(*, charged: float = 2.4, ingots: float = 2.31, dross: float = 0.06) -> Balance:
    return NOTHING._replace(charged_kg=charged, ingots_kg=ingots, dross_kg=dross)


def facts(**changed: Any) -> Facts:
    done = Facts(
        paper=False,
        fired=True,
        over_utc_ms=0,
        poured=True,
        balance=of(),
        ingots=4,
        counted=0,
        unweighed=(),
        dross_told=True,
        pot="drained",
        walks_utc_ms=tuple(minute * MS_PER_MIN for minute in FIRE_WATCH_MIN),
        noted_additions_kg=0.0,
        closed=False,
    )
    return done._replace(**changed)


def test_every_kilogram_has_its_place_in_the_balance() -> None:
    moves = [
        (LOT, MELT, 2.0, "charge"),
        (LOT, MELT, 0.2, "addition"),
        (OTHER, MELT, 0.1, "heel"),
        (MELT, Holder("ingot", 1), 1.9, "ingot"),
        (MELT, OUTSIDE, 0.06, "dross"),
        (MELT, OUTSIDE, 0.02, "splash"),
        (MELT, OTHER, 0.2, "heel"),
        (MELT, OUTSIDE, 0.01, "tested"),
    ]
    found = balance(Ledger(Movement(n, n, *move) for n, move in enumerate(moves)), MELT)
    assert found == pytest.approx(Balance(2.0, 0.2, 0.1, 1.9, 0.06, 0.02, 0.2, 0.01))
    assert found.in_kg == pytest.approx(2.3)
    assert found.gap_kg == pytest.approx(0.11)


def test_the_gap_has_a_name_and_is_usual_only_by_earlier_melts() -> None:
    assert gap_words(of(), None).startswith("30 g not found: burned, splashed or stuck in the pot; too few melts")
    usual = usual_gap([of()] * 5)
    assert usual is not None
    assert gap_words(of(), usual) == "30 g not found: burned, splashed or stuck in the pot, usual here."
    assert gap_words(of(ingots=2.25), usual) == "90 g not found, more than the 30 g usual here."
    assert usual_gap([of()] * 4) is None


def test_five_per_cent_missing_sends_somebody_to_look_for_a_hole() -> None:
    words = gap_words(of(ingots=2.2), usual_gap([of()] * 9))
    assert words == "140 g not found, 6% of the charge: look for a hole in the pot and for metal under it."


def test_more_out_than_in_is_said_and_keeps_the_melt_open() -> None:
    more = of(ingots=2.5)
    assert gap_words(more, None).startswith("160 g more came out than went in")
    assert "more came out" in may_close(facts(balance=more))


def test_a_melt_with_everything_entered_may_be_closed() -> None:
    assert may_close(facts()) == ""
    assert [each.what for each in still_open(facts())] == ["closing"]
    assert still_open(facts(closed=True)) == ()


@pytest.mark.parametrize(
    ("changed", "what"),
    [
        ({"over_utc_ms": None}, "firing"),
        ({"ingots": 0}, "masses"),
        ({"unweighed": ("A-087/2",)}, "masses"),
        ({"dross_told": False}, "dross"),
        ({"pot": ""}, "pot"),
        ({"walks_utc_ms": ()}, "walk"),
        ({"noted_additions_kg": 0.3}, "addition"),
    ],
)
def test_each_thing_that_is_missing_blocks_closed_and_is_named(changed: dict[str, object], what: str) -> None:
    assert what in [each.what for each in still_open(facts(**changed))]
    assert may_close(facts(**changed)) != ""


def test_moulds_that_were_counted_at_the_pour_are_asked_for_by_their_number() -> None:
    (first, *_) = still_open(facts(ingots=0, counted=4))
    assert first.sentence == "4 moulds were counted at the pour: what do the ingots weigh?"


def test_paper_asks_for_no_walk_and_no_pot() -> None:
    assert may_close(facts(paper=True, pot="", walks_utc_ms=())) == ""


def test_a_late_walk_answers_what_was_due_and_says_how_late_it_was() -> None:
    walks = fire_watch(0, [70 * MS_PER_MIN])
    assert [(walk.after_min, walk.done_utc_ms is not None, walk.late_min) for walk in walks] == [
        (30, True, 40),
        (60, True, 10),
        (180, False, 0),
    ]


@given(st.lists(st.integers(0, 400), max_size=6))
def test_no_walk_counts_before_its_time(at_min: list[int]) -> None:
    for walk in fire_watch(0, [minute * MS_PER_MIN for minute in at_min]):
        done = [minute for minute in at_min if minute >= walk.after_min - 5]
        assert walk.done_utc_ms == (min(done) * MS_PER_MIN if done else None)
