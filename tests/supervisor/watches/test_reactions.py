"""Reactions join field by field to the stronger: what one finding asks, no other can take back."""

from itertools import pairwise
from math import inf

from hypothesis import given
from hypothesis import strategies as st

from supervisor.watches import finding
from supervisor.watches.finding import NOTHING, Leave, Reaction, Then, join

reactions = st.builds(
    Reaction,
    st.sampled_from(Then),
    st.floats(0.0, 1.0),
    st.one_of(st.just(inf), st.floats(0.0, 900.0)),
    st.booleans(),
    st.booleans(),
    st.booleans(),
    st.sampled_from(Leave),
)


def at_least(strong: Reaction, weak: Reaction) -> bool:
    """Nothing that the weak one asks is missing in the strong one."""
    return (
        strong.then >= weak.then
        and strong.duty_ceiling <= weak.duty_ceiling
        and strong.setpoint_ceiling_c <= weak.setpoint_ceiling_c
        and strong.drop_contactor >= weak.drop_contactor
        and strong.latch >= weak.latch
        and strong.keep_away >= weak.keep_away
        and strong.leave >= weak.leave
    )


@given(reactions, reactions)
def test_the_order_of_two_findings_means_nothing(one: Reaction, other: Reaction) -> None:
    assert one | other == other | one


@given(reactions, reactions, reactions)
def test_the_order_of_many_findings_means_nothing(one: Reaction, other: Reaction, third: Reaction) -> None:
    assert (one | other) | third == one | (other | third)
    assert join([one, other, third]) == join([third, one, other])


@given(reactions)
def test_a_finding_said_twice_asks_no_more(one: Reaction) -> None:
    assert one | one == one
    assert one | NOTHING == one


@given(st.lists(reactions), reactions)
def test_one_more_finding_never_weakens_anything(some: list[Reaction], more: Reaction) -> None:
    assert at_least(join([*some, more]), join(some))
    assert at_least(join([*some, more]), more)


@given(st.lists(reactions))
def test_an_open_lid_beside_any_hold_is_no_heat(some: list[Reaction]) -> None:
    assert join([finding.HOLD_WITH_HEAT, finding.HOLD_WITHOUT_HEAT, *some]).duty_ceiling == 0.0


def test_the_named_reactions_grow_in_strength() -> None:
    ladder = (
        finding.NOTHING,
        finding.HOLD_WITH_HEAT,
        finding.HOLD_WITHOUT_HEAT,
        finding.CONTROLLED_STOP,
        finding.TRIP,
        finding.TRIP_KEEP_AWAY,
    )
    for weak, strong in pairwise(ladder):
        assert at_least(strong, weak)
        assert strong != weak
