"""Composition: the rule for limits, a band that grows with doubt, and a balance that loses nothing."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from supervisor.metal.alloys import table
from supervisor.metal.composition import Composition, of_alloy, of_percentages
from supervisor.metal.forms import FORMS
from supervisor.metal.limits import misses, nearest
from supervisor.metal.mix import Part, addition_kg, mix
from supervisor.refusal import InputRefused


@pytest.mark.parametrize("name", table())
def test_an_alloy_is_nearest_to_itself_and_inside_its_limits(name: str) -> None:
    found = of_alloy(name)
    assert sum(found.likely.values()) == pytest.approx(100.0)
    assert misses(found, table()[name]) == ()
    near = nearest(found)
    assert near is not None
    assert not near.misses
    assert not near.strange


def test_doubt_widens_the_band() -> None:
    marked, likely, guess = (of_alloy("6082", sure).give("Si") for sure in ("marked", "likely", "guess"))
    assert [marked, likely] == pytest.approx([0.3, 0.6])
    assert guess > likely


def test_unknown_metal_has_a_band_and_no_likely_value() -> None:
    found = of_alloy("unknown", "unknown")
    assert not found.known
    assert (found.low["Pb"], found.high["Pb"]) == (0.0, 0.6)


def test_what_is_measured_replaces_the_middle_and_narrows_the_band() -> None:
    found = of_alloy("A356.0", "marked", {"Mg": 0.25})
    assert [found.likely["Mg"], found.give("Mg")] == pytest.approx([0.25, 0.025])
    assert found.likely["Al"] == pytest.approx(92.35)  # by difference, from the limits' middles by hand


def test_percentages_that_cannot_be_are_refused() -> None:
    with pytest.raises(InputRefused, match=r"all elements are 10\d\.\d\d %; allowed: up to 100 %"):
        of_alloy("A356.0", "marked", {"Cu": 95.0})
    with pytest.raises(InputRefused, match="element is 'silicon'; allowed: a chemical symbol, as Si or Mg"):
        of_percentages({"silicon": 7.0})


def test_a_part_that_nobody_knows_makes_the_whole_unknown_but_bounded() -> None:
    parts = [Part("L-1", 2.0, "solid_offcut", of_alloy("6082")), Part("L-2", 0.5, "old_casting", of_alloy("unknown"))]
    found = mix(parts)
    assert not found.composition.known
    assert nearest(found.composition) is None
    assert found.composition.low["Si"] == pytest.approx(0.56, abs=0.05)
    assert found.composition.high["Si"] > 3.0
    assert 2.3 < found.melt_kg < 2.5
    with pytest.raises(InputRefused, match="composition is not known"):
        addition_kg(found, "Mg", 0.4)


PARTS = st.lists(
    st.tuples(
        st.floats(0.01, 3.0), st.sampled_from(tuple(FORMS)), st.sampled_from(tuple(table())),
        st.sampled_from(("marked", "likely", "guess")),
    ),
    min_size=1,
    max_size=5,
)  # fmt: skip


def parts_of(drawn: list[tuple[float, str, str, str]]) -> list[Part]:
    return [Part(f"L-{n}", kg, form, of_alloy(name, sure)) for n, (kg, form, name, sure) in enumerate(drawn)]


@given(PARTS)
def test_nothing_is_made_and_all_of_it_is_accounted_for(drawn: list[tuple[float, str, str, str]]) -> None:
    parts = parts_of(drawn)
    found = mix(parts)
    assert 0.0 < found.melt_kg <= found.charged_kg * (1.0 + 1e-12)
    assert sum(found.composition.likely.values()) == pytest.approx(100.0)
    assert sum(found.retained_kg.values()) == pytest.approx(found.melt_kg)
    assert in_order(found.composition)
    again = mix(list(reversed(parts)))
    assert again.melt_kg == pytest.approx(found.melt_kg)
    assert dict(again.composition.likely) == pytest.approx(dict(found.composition.likely))


def in_order(found: Composition) -> bool:
    return all(found.low[e] <= pct + 1e-9 and pct <= found.high[e] + 1e-9 for e, pct in found.likely.items())


@given(PARTS, st.floats(0.2, 4.0))
def test_an_addition_brings_the_melt_where_it_was_wished(
    drawn: list[tuple[float, str, str, str]], more_pct: float
) -> None:
    parts = parts_of(drawn)
    before = mix(parts)
    wished = before.composition.likely["Mg"] + more_pct
    kg = addition_kg(before, "Mg", wished, recovery=FORMS["pure_addition"].magnesium)
    after = mix([*parts, Part("Mg", kg, "pure_addition", of_percentages({"Mg": 100.0}))])
    assert after.composition.likely["Mg"] == pytest.approx(wished)
