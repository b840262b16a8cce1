"""Why an ingot is poor: seeded causes are found, and nobody is surer than the record."""

import pytest

from supervisor.metal.causes import LIKELY, POSSIBLE, rank, verdict
from supervisor.metal.evidence import Evidence, Usual, missing, symptoms
from tests.campaigns.causes import campaign, cases

LIQUID = Usual(25.0, 3.0, 6)


def test_the_seeded_cause_is_among_the_first_two() -> None:
    chosen = [case for case in cases() if case.cause in ("held-long", "damp lot", "wrong mix", "mould damp")]
    rows = campaign(7, chosen[:7], healthy=3)
    assert [row.cause for row in rows if not 0 < row.place <= 2] == []
    assert all(cause.evidence and cause.source for row in rows for cause in row.named)


def test_a_record_that_says_nothing_names_nothing() -> None:
    empty = Evidence(symptoms=("pores",))
    assert rank(empty) == ()
    assert verdict((), empty).startswith("Nothing in the record stands out. Not on record: how long it was liquid")
    assert "what is wrong with it" in missing(Evidence())


@pytest.mark.parametrize(
    ("liquid_min", "surely"),
    [(31.0, None), (38.0, "possible"), (62.0, "likely")],
    ids=["usual", "longer", "far longer"],
)
def test_no_cause_is_surer_than_its_evidence(liquid_min: float, surely: str | None) -> None:
    found = Evidence(symptoms=("pores",), liquid_min=liquid_min, usual_liquid_min=LIQUID)
    named = [cause.surely for cause in rank(found) if cause.id == "held-long"]
    assert named == ([] if surely is None else [surely])


def test_a_cause_that_does_not_do_what_was_seen_is_no_more_than_a_hint() -> None:
    held = Evidence(symptoms=("laps",), liquid_min=62.0, usual_liquid_min=LIQUID)
    assert [cause.surely for cause in rank(held)] == ["a weak hint"]
    assert verdict(rank(held), held).startswith("Only a weak hint: liquid for long")


def test_two_causes_that_explain_it_alike_are_both_named() -> None:
    both = Evidence(
        symptoms=("pores",), liquid_min=62.0, usual_liquid_min=LIQUID, undried=("L-9 is not proved dry. It went in.",)
    )
    first, second = rank(both)[:2]
    assert min(first.score, second.score) >= LIKELY > POSSIBLE
    assert verdict(rank(both), both).startswith("Two things stand out, and the record cannot part them")


@pytest.mark.parametrize(
    ("said", "kinds"),
    [
        ("Gums on the mill", ("gums",)),
        ("pores, and a few hard specks", ("pores", "hard")),
        ("a weld repair cracked", ("cracks",)),
        ("best finish so far", ()),
    ],
)
def test_what_is_wrong_is_read_from_the_note(said: str, kinds: tuple[str, ...]) -> None:
    assert symptoms(said) == kinds
