"""The ledger of metal: descent both ways, and where a quarantine reaches."""

from supervisor.metal.descent import OUTSIDE, Holder, Ledger, Mark, Movement


def lot(number: int) -> Holder:
    return Holder("lot", number)


def melt(number: int) -> Holder:
    return Holder("melt", number)


def ingot(number: int) -> Holder:
    return Holder("ingot", number)


def ledger(*moves: tuple[Holder, Holder, float, str]) -> Ledger:
    """Movements one after the other, a second apart."""
    return Ledger(Movement(at, at * 1000, *move) for at, move in enumerate(moves, 1))


THREE_GENERATIONS = (
    (OUTSIDE, lot(1), 1.5, "weighed in"),  # plate
    (OUTSIDE, lot(2), 0.9, "weighed in"),  # bar ends
    (lot(1), melt(1), 1.5, "charge"),
    (lot(2), melt(1), 0.9, "charge"),
    (melt(1), ingot(1), 1.2, "ingot"),
    (melt(1), ingot(2), 1.1, "ingot"),
    (ingot(2), lot(3), 0.3, "returned"),
    (OUTSIDE, lot(4), 2.0, "weighed in"),
    (lot(4), melt(2), 2.0, "charge"),
    (lot(3), melt(2), 0.3, "charge"),
    (melt(2), ingot(3), 2.2, "ingot"),
    (ingot(3), melt(3), 1.0, "charge"),
    (melt(3), ingot(4), 0.95, "ingot"),
)


def test_descent_is_told_over_any_number_of_generations_both_ways() -> None:
    tree = ledger(*THREE_GENERATIONS)
    down = [relative.holder for relative in tree.descendants(lot(2))]
    assert down == [melt(1), ingot(1), ingot(2), lot(3), melt(2), ingot(3), melt(3), ingot(4)]
    up = {relative.holder for relative in tree.ancestors(ingot(4))}
    assert up == {melt(3), ingot(3), melt(2), lot(4), lot(3), ingot(2), melt(1), lot(1), lot(2)}


def test_a_bad_lot_reaches_every_child_and_nothing_else() -> None:
    tree = ledger(*THREE_GENERATIONS)
    reached = tree.reached([Mark(1, lot(2), 99_000, True, "lead", "Ada")])
    assert set(reached) == {lot(2), *(relative.holder for relative in tree.descendants(lot(2)))}
    assert lot(1) not in reached
    assert lot(4) not in reached
    assert reached[ingot(4)].steps == 7
    assert reached[ingot(4)].through == melt(3)


def test_metal_that_left_a_bin_before_the_bad_came_in_is_not_reached() -> None:
    tree = ledger(
        (OUTSIDE, ingot(1), 1.0, "weighed in"),
        (OUTSIDE, ingot(2), 1.0, "weighed in"),
        (ingot(1), lot(1), 1.0, "returned"),
        (lot(1), melt(1), 0.5, "charge"),
        (ingot(2), lot(1), 1.0, "returned"),  # the bad one, later
        (lot(1), melt(2), 0.5, "charge"),
    )
    reached = tree.reached([Mark(1, ingot(2), 99_000, True, "lead", "Ada")])
    assert set(reached) == {ingot(2), lot(1), melt(2)}
    assert {relative.holder for relative in tree.ancestors(melt(1))} == {lot(1), ingot(1)}


def test_what_went_in_several_parts_is_told_with_the_sum_of_them() -> None:
    tree = ledger(
        (OUTSIDE, lot(1), 2.0, "weighed in"),
        (OUTSIDE, lot(2), 2.0, "weighed in"),
        (lot(1), melt(1), 1.0, "charge"),
        (lot(2), melt(1), 0.15, "addition"),
        (lot(2), melt(1), 0.15, "addition"),
        (lot(1), melt(1), 0.25, "addition"),
        (lot(2), melt(1), 0.1, "addition"),
    )
    told = {each.holder: (round(each.kg, 3), each.how) for each in tree.ancestors(melt(1))}
    assert told == {lot(1): (1.25, "charge, addition"), lot(2): (0.4, "addition")}
    assert [round(each.kg, 3) for each in tree.descendants(lot(2))] == [0.4]


def test_a_ring_of_returns_ends() -> None:
    tree = ledger(
        (OUTSIDE, lot(1), 2.0, "weighed in"),
        (lot(1), melt(1), 1.0, "charge"),
        (melt(1), ingot(1), 0.9, "ingot"),
        (ingot(1), lot(1), 0.9, "returned"),
        (lot(1), melt(2), 1.0, "charge"),
    )
    assert {relative.holder for relative in tree.descendants(lot(1))} == {melt(1), ingot(1), melt(2)}
    assert set(tree.reached([Mark(1, ingot(1), 99_000, True, "lead", "Ada")])) == {ingot(1), lot(1), melt(2)}


def test_a_later_clearing_of_a_child_stops_it_there_and_an_earlier_one_does_not() -> None:
    tree = ledger(*THREE_GENERATIONS)
    bad = Mark(5, lot(2), 50_000, True, "lead", "Ada")
    later = tree.reached([bad, Mark(6, melt(2), 60_000, False, "analysed: lead 0.02 %", "Ada")])
    assert ingot(3) not in later
    assert ingot(4) not in later
    assert ingot(1) in later
    earlier = tree.reached([Mark(4, melt(2), 40_000, False, "looked clean", "Ada"), bad])
    assert ingot(4) in earlier


def test_lifting_the_mark_itself_frees_all() -> None:
    tree = ledger(*THREE_GENERATIONS)
    marks = [Mark(5, lot(2), 50_000, True, "lead", "Ada"), Mark(6, lot(2), 60_000, False, "was a mix-up", "Ada")]
    assert tree.reached(marks) == {}


def test_a_holder_never_gives_more_than_it_holds() -> None:
    tree = ledger(*THREE_GENERATIONS)
    assert tree.on_hand_kg(ingot(2)) == 1.1 - 0.3
    assert tree.shortage_kg(ingot(2), 0.8) == 0.0
    assert round(tree.shortage_kg(ingot(2), 0.81), 6) == 0.01
    assert tree.shortage_kg(OUTSIDE, 100.0) == 0.0
