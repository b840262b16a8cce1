"""How the reactions of all watches join: never to less than one of them asks, in whatever order."""

from itertools import permutations, product
from math import inf, isfinite

from hypothesis import given
from hypothesis import strategies as st

from supervisor.firing.firing import Held
from supervisor.watches import WATCHES
from supervisor.watches import finding as reactions
from supervisor.watches.finding import NOTHING, Leave, Reaction, Then, join

OF_WATCHES = sorted({watch.reaction for watch in WATCHES}, key=repr)
NAMED = [value for value in vars(reactions).values() if isinstance(value, Reaction)]
ALL = sorted({*OF_WATCHES, *NAMED}, key=repr)

ANY = st.builds(
    Reaction,
    then=st.sampled_from(Then),
    duty_ceiling=st.floats(0.0, 1.0),
    setpoint_ceiling_c=st.floats(0.0, 2000.0) | st.just(inf),
    drop_contactor=st.booleans(),
    latch=st.booleans(),
    keep_away=st.booleans(),
    leave=st.sampled_from(Leave),
)


def at_least(one: Reaction, other: Reaction) -> bool:
    """One asks everything that the other asks."""
    return (
        one.then >= other.then
        and one.duty_ceiling <= other.duty_ceiling
        and one.setpoint_ceiling_c <= other.setpoint_ceiling_c
        and one.drop_contactor >= other.drop_contactor
        and one.latch >= other.latch
        and one.keep_away >= other.keep_away
        and one.leave >= other.leave
    )


def laws(a: Reaction, b: Reaction, c: Reaction) -> None:
    assert a | b == b | a
    assert (a | b) | c == a | (b | c)
    assert a | a == a
    assert at_least(a | b, a)
    assert at_least(a | b, b)
    if at_least(a, b):
        assert at_least(a | c, b | c)
    assert a | NOTHING == a


def test_the_reactions_of_all_watches_join_in_any_order_and_never_to_less() -> None:
    assert len(ALL) >= 6
    for a, b, c in product(ALL, repeat=3):
        laws(a, b, c)


@given(ANY, ANY, ANY)
def test_so_do_all_that_can_be_thought_of(a: Reaction, b: Reaction, c: Reaction) -> None:
    laws(a, b, c)


@given(st.lists(ANY, max_size=5))
def test_a_join_does_not_depend_on_the_order(findings: list[Reaction]) -> None:
    assert len({join(order) for order in permutations(findings)}) == 1


def test_an_open_lid_with_any_hold_is_no_heat() -> None:
    lid = next(watch.reaction for watch in WATCHES if watch.id == "lid")
    holds = [watch.reaction for watch in WATCHES if watch.reaction.then is Then.HOLD]
    assert any(hold.duty_ceiling > 0.0 for hold in holds), "a hold with heat is among them"
    for reaction in [*holds, *ALL]:
        assert (lid | reaction).duty_ceiling == 0.0
    assert Held(Leave.BY_A_PERSON, 0.0).duty_ceiling == 1.0


def test_a_lid_that_is_only_suspected_gives_no_heat() -> None:
    suspected = [watch for watch in WATCHES if watch.id in ("lid-unseen", "lid-not-cooling")]
    assert suspected
    for watch in suspected:
        assert watch.reaction.duty_ceiling == 0.0, watch.id


def test_whatever_ends_a_firing_gives_no_heat_and_whatever_latches_takes_a_press() -> None:
    for watch in WATCHES:
        reaction = watch.reaction
        if reaction.then >= Then.STOP:
            assert reaction.duty_ceiling == 0.0, watch.id
            assert reaction.drop_contactor, watch.id
        if reaction.latch or reaction.then is Then.ABORT:
            assert reaction.latch, watch.id
            assert reaction.leave is Leave.BY_A_PRESS, watch.id
        if reaction.keep_away:
            assert reaction.then is Then.ABORT, watch.id
        assert 0.0 <= reaction.duty_ceiling <= 1.0, watch.id
        assert isfinite(reaction.setpoint_ceiling_c) or reaction.setpoint_ceiling_c == inf, watch.id
