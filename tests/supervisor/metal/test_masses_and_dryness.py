"""Masses as people type them, and dryness as a dated proof."""

import pytest

from supervisor.metal.dryness import Proof, refusal, until_ms
from supervisor.metal.masses import kg_of, kg_or_none_of
from supervisor.refusal import InputRefused
from tests.supervisor.metal.at_hand import DRY, HOUR_MS, NOW_MS


@pytest.mark.parametrize(
    ("typed", "kg"), [("2.4", 2.4), ("2,4", 2.4), (" 1,90 kg", 1.9), ("2400g", 2.4), ("850 g", 0.85), (".5", 0.5)]
)
def test_point_comma_and_unit_are_read(typed: str, kg: float) -> None:
    assert kg_of(typed) == pytest.approx(kg)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("", r"^Mass is empty; it has no default\. Weigh it, and type kg\.$"),
        ("   ", r"^Mass is empty"),
        ("-1.2", r"^Mass is -1\.2; allowed: above 0 kg\. To take mass away, weigh the lot again\.$"),
        ("0", r"^Mass is 0 kg; allowed: above 0 kg$"),
        ("2400", r"^Mass is 2400 kg; allowed: up to 200 kg, .*\. If the scale shows grams, that is 2\.400 kg\.$"),
        ("5.3 lb", r"^Mass is 5\.3 lb; allowed: kg\. 5\.3 lb are 2\.404 kg: type that\.$"),
        ("1.234,5", r"allowed: a number of kg, as 2\.40 or 2,40\. A point or a comma, not both\.$"),
        ("nan", r"^Mass is 'nan'; allowed: a number of kg"),
        ("1e3", r"^Mass is '1e3'; allowed: a number of kg"),
        ("٣", r"^Mass is '٣'; allowed: a number of kg"),
        ("2 stone", r"^Mass is '2 stone'; allowed: kg, or g$"),
        ("9" * 400, r"^Mass is '9{20}'; allowed: a number of kg"),
    ],
)
def test_what_is_no_mass_gets_a_sentence(typed: str, sentence: str) -> None:
    with pytest.raises(InputRefused, match=sentence):
        kg_of(typed)


def test_nothing_is_an_answer_where_nothing_can_be() -> None:
    assert [kg_or_none_of(typed) for typed in ("0", "0,00", "0.000 kg", "00 g", "0,05")] == [0.0, 0.0, 0.0, 0.0, 0.05]
    for typed in ("", "-0", "none", "0 lb"):
        with pytest.raises(InputRefused):
            kg_or_none_of(typed)


def test_what_the_pot_takes_is_the_most() -> None:
    with pytest.raises(InputRefused, match=r"^Mass is 24 kg; allowed: up to 2\.5 kg, the pot\.$"):
        kg_of("24", most_kg=2.5, most_is="the pot")


@pytest.mark.parametrize(
    ("proof", "why"),
    [
        (DRY, ""),
        (None, "L-1 is not proved dry."),
        (DRY._replace(ended="stored cold"), "L-1 was dried, and then stored cold: that proof is over."),
        (DRY._replace(to_utc_ms=NOW_MS - 12 * HOUR_MS), ""),
        (DRY._replace(to_utc_ms=NOW_MS - 12 * HOUR_MS - 1), "L-1 was dried 12 h ago; a proof ends after 12 h."),
        (DRY._replace(to_utc_ms=NOW_MS - 72 * HOUR_MS), "L-1 was dried 3 days ago; a proof ends after 12 h."),
        (
            DRY._replace(to_utc_ms=NOW_MS + HOUR_MS),
            "L-1 has a proof dated later than now: set the clock, then look again.",
        ),
        (DRY._replace(held_c=110.0), "L-1 was held at 110 °C; a proof asks for 150 °C or more."),
    ],
)
def test_only_a_proof_in_date_counts(proof: Proof | None, why: str) -> None:
    assert refusal("L-1", proof, NOW_MS) == why


def test_a_proof_says_until_when() -> None:
    assert until_ms(DRY) == NOW_MS + 11 * HOUR_MS
