"""Trace: a bad lot names every child, none is charged unnoticed; and over any history no mass is made."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from supervisor.book import ingots, melts, quarantine, tree
from supervisor.book.holders import OUTSIDE, left_kg, move
from supervisor.book.verifying import verify
from supervisor.metal.descent import Holder, Ledger, Mark, Movement
from supervisor.refusal import InputRefused
from tests.supervisor.book.shop import Shop, story

CHILDREN = {
    *("A-094", "A-094/1", "A-094/2", "A-094/3", "A-094/4", "L-32"),
    *("A-095", "A-095/1", "A-095/2", "A-095/3", "A-095/4"),
    *("A-096", "A-096/1", "A-096/2"),
}


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    made = Shop(tmp_path)
    story(made)
    return made


def test_a_lot_quarantined_after_three_generations_names_every_child(shop: Shop) -> None:
    touched = shop.quarantine("L-31", "lead: it was AlCu6BiPb")
    assert set(touched.children) == CHILDREN
    assert touched.melts == ["A-094", "A-095", "A-096"]
    assert shop.held_back() == {"L-31", *CHILDREN}
    with shop.reading() as book:
        why = quarantine.state(book).why(tree.named(book, "A-096/2"))
        assert why == "A-096/2 is under quarantine: it holds metal of L-31 (lead: it was AlCu6BiPb)."
        assert quarantine.state(book).why(tree.named(book, "A-097/1")) == ""


def test_a_child_that_is_cast_later_is_under_quarantine_from_the_start(shop: Shop) -> None:
    shop.quarantine("A-094", "lead")
    shop.melt("A-098", L_30=0.5, A_094_1=0.3)
    shop.cast("A-098", 0.7)
    assert "A-098/1" in shop.held_back()


def test_one_child_is_cleared_with_a_reason_and_its_own_children_with_it(shop: Shop) -> None:
    shop.quarantine("L-31", "lead")
    with pytest.raises(InputRefused, match="The reason has 0 characters"):
        shop.clear("A-095", " ")
    shop.clear("A-095", "analysed: 0.02 % lead, kept for brackets")
    assert not {"A-095", "A-095/1", "A-096/1"} & shop.held_back()
    assert "A-094/1" in shop.held_back()
    with pytest.raises(InputRefused, match=r"^A-097 is not under quarantine"):
        shop.clear("A-097", "looked")


def test_bad_metal_that_is_put_to_a_cleared_bin_afterwards_is_under_quarantine_again(shop: Shop) -> None:
    shop.quarantine("A-094/2", "lead")
    shop.clear("L-32", "analysed: no lead")
    assert "L-32" not in shop.held_back()
    with shop.reading() as book:
        bin_ = tree.named(book, "L-32")
    shop.returned("A-094/2", 0.1, bin_)
    assert "L-32" in shop.held_back()
    shop.melt("A-098", L_30=0.5, L_32=0.1)
    assert "A-098" in shop.held_back()
    assert "A-095" not in shop.held_back()  # it was charged before


def test_an_open_plan_that_names_such_metal_is_told_and_one_that_was_melted_is_not(shop: Shop) -> None:
    with shop.writing() as book:
        for code in ("P-1", "P-2"):
            plan = book.append("plan", code=code, version=1, name=code, profile="Ingots", answers="{}", note="")
            ingot = tree.named(book, "A-095/3" if code == "P-1" else "A-097/1")
            book.append("plan_item", plan_id=plan, holder_kind="ingot", holder_id=ingot.id, kg=0.2)
    assert shop.quarantine("L-31", "lead").plans == ["P-1"]


def test_the_book_of_a_whole_story_verifies(shop: Shop) -> None:
    shop.quarantine("L-31", "lead")
    assert verify(shop.path).fault == ""


# --- any history ------------------------------------------------------------------------------------------------------

STEPS = st.lists(
    st.tuples(
        st.sampled_from(["lot", "melt", "cast", "return", "use", "weigh again", "drain"]),
        st.integers(0, 30),
        st.integers(0, 30),
        st.floats(0.05, 3.0),
    ),
    max_size=20,
)


def _step(shop: Shop, step: tuple[str, int, int, float], weighed: list[float]) -> None:
    """One thing that somebody may do, of what there is; what is refused changes nothing."""
    what, one, other, kg = step
    with shop.writing() as book:
        lots = [Holder("lot", row[0]) for row in book.raw("SELECT id FROM lot")]
        known, cast = melts.melts(book)[::-1], ingots.ingots(book)
        sources = [*lots, *(ingot.holder for ingot in cast)]
        if what == "lot":
            row = book.append("lot", code=f"L-{len(lots) + 1}")
            move(book, kg, OUTSIDE, ("lot", row), "weighed in")
            weighed.append(kg)
        elif what == "melt" and sources:
            row = book.append(
                "melt", heat_number=f"A-{len(known) + 1:03d}", furnace="A", backend="simulated", mass_kg=kg,
                local_date="2026-01-01", alloy="6082", form="solid_offcut", unknown=0, note="",
            )  # fmt: skip
            move(book, kg, sources[one % len(sources)], ("melt", row), "charge", melt_id=row)
            move(book, kg / 2, sources[other % len(sources)], ("melt", row), "addition", melt_id=row)
        elif what == "cast" and known:
            ingots.count(book, known[one % len(known)], [kg, None], "Ada")
        elif what == "return" and cast and lots:
            ingots.return_as_scrap(book, cast[one % len(cast)], kg, lots[other % len(lots)].id)
        elif what == "use" and cast:
            ingots.use(book, cast[one % len(cast)], kg, "")
        elif what == "weigh again" and cast:
            ingots.weigh(book, cast[one % len(cast)], kg)
        elif what == "drain" and known:
            melts.dross(book, known[one % len(known)], kg / 10)


@settings(max_examples=12, deadline=None)
@given(STEPS)
def test_over_any_history_no_mass_is_made_and_every_child_is_reached(
    tmp_path_factory: pytest.TempPathFactory, steps: list[tuple[str, int, int, float]]
) -> None:
    shop, weighed = Shop(tmp_path_factory.mktemp("history")), list[float]()
    for step in steps:
        before = list(weighed)
        try:
            _step(shop, step, weighed)
        except InputRefused:
            weighed[:] = before
    with shop.reading() as book:
        ledger, names = tree.ledger(book), tree.names(book)
        gone_kg = sum(move.kg for move in ledger.movements if move.target == ("outside", 0))
        held_kg = sum(ledger.on_hand_kg(holder) for holder in names)
        assert held_kg + gone_kg == pytest.approx(sum(weighed), abs=1e-6)
        assert all(ledger.on_hand_kg(holder) > -0.001 for holder in names)  # a scale's last digit
        assert all(left_kg(book, holder) >= -0.001 for holder in names)
        for holder in names:
            children = {each.holder for each in ledger.descendants(holder)}
            assert set(ledger.reached([Mark(1, holder, 0, True, "bad", "Ada")])) == {holder, *children}
            for child in children:
                assert holder in {each.holder for each in ledger.ancestors(child)}
    assert verify(shop.path).fault == ""


MOVES = st.lists(
    st.tuples(
        st.sampled_from(["lot", "melt", "ingot"]),
        st.integers(1, 4),
        st.sampled_from(["lot", "melt", "ingot"]),
        st.integers(1, 4),
    ),
    max_size=40,
)


@given(MOVES)
def test_descent_down_is_descent_up_for_any_graph_even_with_rings(moves: list[tuple[str, int, str, int]]) -> None:
    ledger = Ledger(
        Movement(number, 0, Holder(a, one), Holder(b, other), 1.0, "charge")
        for number, (a, one, b, other) in enumerate(moves)
        if (a, one) != (b, other)
    )
    everybody = {holder for move in ledger.movements for holder in (move.source, move.target)}
    down = {(a, each.holder) for a in everybody for each in ledger.descendants(a)}
    up = {(each.holder, b) for b in everybody for each in ledger.ancestors(b)}
    assert down == up
