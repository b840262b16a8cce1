"""Profile files: read against a furnace, said in plain words, written back, and refused in one sentence."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from supervisor.firing.profile import Hold, Profile, Ramp, segment_sentence, top_hold_c
from supervisor.firing.profile_file import profile_from_text, read_profile
from supervisor.firing.setpoint import FALLING_BEHIND_K, advance, ahead, begin
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.file import read_furnace
from supervisor.furnace.proofs import DRY_OUT_C, DRY_OUT_S, FIRST_HEAT_C
from supervisor.furnace.reckoning import ROOM_C, fastest_ramp_c_per_h, nominal_duration_s
from supervisor.furnace.stages import CAPS, Stage
from supervisor.metal import alloys
from supervisor.metal.charge import Charge
from supervisor.refusal import InputRefused
from tests.supervisor.profile_text import profile_to_toml

BENCH, WORKSHOP = read_furnace("bench"), read_furnace("workshop")
DOCS = Path(__file__).parents[2] / "docs"
EXAMPLES = sorted((DOCS / "examples").glob("*.toml"))
PAGE = (DOCS / "profiles.md").read_text(encoding="utf-8")

HEAD = 'name = "Test"\ntop_c = 760\n'
RAMP = "[[segment]]\nramp_to_c = 740\nrate_c_per_h = 600\n"
CHARGE = '[charge]\nmass_kg = 2\nalloy = "6082"\nform = "off-cuts"\n'


def read(text: str) -> Profile:
    return profile_from_text(text, "mine.toml", BENCH)


def test_ramps_and_holds_are_read_in_order() -> None:
    profile = read(
        HEAD
        + RAMP
        + "[[segment]]\nhold_min = 15\nwait_within_c = 5\n"
        + '[[segment]]\nhold_min = 0\nuntil = "word"\n'
        + "[[segment]]\nramp_to_c = 500\nover_min = 90\n"
    )
    assert profile.segments == (
        Ramp(740.0, 600.0, None),
        Hold(900.0, 5.0, until_word=False),
        Hold(0.0, None, until_word=True),
        Ramp(500.0, None, 5400.0),
    )
    assert (profile.name, profile.top_c, profile.charge) == ("Test", 760.0, None)


def test_the_text_is_kept_as_it_was_read() -> None:
    text = "# why\n" + HEAD + RAMP
    assert read(text).source == text


def test_a_charge_brings_its_melting_range_and_a_pouring_temperature_20_k_under_the_highest_hold() -> None:
    profile = read(HEAD + CHARGE + RAMP)
    assert profile.charge == alloys.charge(2.0, "6082", "off-cuts")
    assert profile.pour_c == 720.0


def test_a_firing_without_metal_pours_nothing() -> None:
    assert read(HEAD + RAMP).pour_c is None


def test_a_charge_that_is_only_dried_is_not_poured() -> None:
    assert read(HEAD + CHARGE + "[[segment]]\nramp_to_c = 200\nrate_c_per_h = 200\n").pour_c is None


def test_unknown_metal_may_be_melted_and_has_no_solidus() -> None:
    profile = read(HEAD + CHARGE.replace("6082", "unknown") + RAMP)
    assert profile.charge is not None
    assert (profile.charge.alloy, profile.charge.solidus_c, profile.charge.liquidus_c) == ("unknown", None, None)
    assert profile.pour_c == 720.0


def test_the_longest_duration_leaves_time_for_waiting_and_is_at_most_12_hours() -> None:
    short, long = read(HEAD + RAMP), read(HEAD + RAMP + "[[segment]]\nhold_min = 600\n")
    assert short.longest_s == 3.0 * 3600.0  # 1.2 h of ramp: 1.5 x 1.2 + 1, in quarters of an hour
    assert long.longest_s == 12 * 3600.0
    assert read("longest_h = 2.5\n" + HEAD + RAMP).longest_s == 9000.0


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize("furnace", [BENCH, WORKSHOP], ids=lambda furnace: furnace.name)
def test_every_example_fits_both_shipped_furnaces(path: Path, furnace: FurnaceDescription) -> None:
    assert read_profile(path, furnace).source == path.read_text(encoding="utf-8")


def test_the_page_shows_a_profile_that_is_read_and_a_refusal_that_is_given() -> None:
    blocks = re.findall(r"```(?:toml)?\n(.*?)```", PAGE, flags=re.DOTALL)
    shown, written = blocks[0].strip(), blocks[1]
    ramp, *holds = profile_from_text(written, "page", WORKSHOP).segments
    assert [segment_sentence(segment) for segment in (ramp, *holds)] == re.findall(r"\[\[segment\]\] +# (.*)", written)
    with pytest.raises(InputRefused) as refusal:
        profile_from_text(written.replace("= 600", "= 6000"), "ingots.toml", WORKSHOP)
    assert str(refusal.value) == shown


def test_the_examples_are_what_they_say() -> None:
    names = ["dry-moulds", "dry-out-6h", "first-heat", "ingots-2kg", "ingots-fast", "trial-30min"]
    assert [path.stem for path in EXAMPLES] == names
    moulds, dry_out, first, ingots, fast, trial = (read_profile(path, WORKSHOP) for path in EXAMPLES)
    allowed = CAPS[Stage.TRIALS]
    assert trial.charge is None
    assert (trial.top_c, trial.longest_s) == (allowed.top_c, allowed.longest_s)
    assert first.charge is None
    assert top_hold_c(first) >= FIRST_HEAT_C
    assert top_hold_c(dry_out) >= DRY_OUT_C
    assert nominal_duration_s(dry_out) >= DRY_OUT_S
    assert moulds.charge is None
    assert dry_out.charge is None
    assert nominal_duration_s(dry_out) == pytest.approx(6 * 3600)
    assert ingots.charge is not None
    assert ingots.charge.mass_kg == 2.0
    assert 75 * 60 <= nominal_duration_s(ingots) <= 120 * 60
    assert fast.charge == ingots.charge
    assert nominal_duration_s(fast) < nominal_duration_s(ingots)


def test_a_ramp_as_fast_as_the_furnace_can_lets_the_setpoint_go_just_ahead_and_is_planned_as_an_even_one() -> None:
    profile = read(HEAD + CHARGE + "[[segment]]\nramp_to_c = 740\nfastest = true\n")
    (ramp,) = profile.segments
    assert isinstance(ramp, Ramp)
    assert ramp.rate_c_per_h == 3600.0 * BENCH.response.fastest_rise_c_per_s
    planned_s = (740.0 - ROOM_C) / fastest_ramp_c_per_h(BENCH, 740.0) * 3600.0
    assert ramp.duration_s == pytest.approx(planned_s)
    assert nominal_duration_s(profile) == pytest.approx(planned_s)
    walk = begin(profile, ROOM_C)
    at_s, at_c = ahead(walk)[-1]
    assert at_c == 740.0
    assert at_s == pytest.approx(planned_s)
    for second in range(600):
        advance(walk, 1.0, ROOM_C + second / 2.0, 2000.0)
    assert walk.setpoint_c == pytest.approx(ROOM_C + 599 / 2.0 + FALLING_BEHIND_K, abs=2.0)


@pytest.mark.parametrize(
    ("segment", "sentence"),
    [
        (Ramp(500.0, 600.0, None), "Ramp to 500 °C at 600 °C/h."),
        (Ramp(487.5, None, 2700.0), "Ramp to 487.5 °C over 45 min."),
        (Ramp(300.0, None, 10_800.0), "Ramp to 300 °C over 3 h."),
        (Ramp(740.0, 5760.0, 1000.0, fastest=True), "Ramp to 740 °C as fast as the furnace can."),
        (Hold(900.0, None, until_word=False), "Hold 15 min."),
        (Hold(900.0, 5.0, until_word=False), "Hold 15 min, from when the reading is within 5 K."),
        (Hold(0.0, None, until_word=True), "Hold until you say go on."),
        (Hold(0.0, 5.0, until_word=True), "Hold, from when the reading is within 5 K until you say go on."),
        (Hold(900.0, None, until_word=True), "Hold 15 min, then until you say go on."),
        (
            Hold(900.0, 5.0, until_word=True),
            "Hold 15 min, from when the reading is within 5 K, then until you say go on.",
        ),
    ],
)
def test_a_segment_is_said_in_plain_words(segment: Ramp | Hold, sentence: str) -> None:
    assert segment_sentence(segment) == sentence


def decimals(low: float, high: float) -> st.SearchStrategy[float]:
    return st.decimals(str(low), str(high), places=3).map(float)


LINES = st.text(st.characters(exclude_categories=["C"]), min_size=1, max_size=40).filter(
    lambda text: text == text.strip()
)
RAMPS = st.builds(lambda to, rate: Ramp(to, rate, None), decimals(41, 800), decimals(100, 300)) | st.builds(
    lambda to, minutes: Ramp(to, None, minutes * 60.0), decimals(41, 800), decimals(180, 240)
)
HOLDS = st.builds(
    Hold, decimals(0.001, 60).map(lambda minutes: minutes * 60.0), st.none() | decimals(1, 50), st.booleans()
) | st.just(Hold(0.0, None, until_word=True))
PLANS = st.tuples(RAMPS, st.lists(HOLDS | st.just(Ramp(41.0, 300.0, None)), max_size=3)).map(lambda p: (p[0], *p[1]))
CHARGES = st.builds(
    alloys.charge, decimals(0.001, 3), st.sampled_from([*alloys.table(), alloys.UNKNOWN]), LINES.filter(len)
)


@given(name=LINES, segments=PLANS, longest_h=decimals(11.9, 12), charge=st.none() | CHARGES, top_c=decimals(800, 850))
def test_a_profile_written_as_toml_reads_back_as_itself(
    name: str, segments: tuple[Ramp | Hold, ...], longest_h: float, charge: Charge | None, top_c: float
) -> None:
    profile = Profile(name, segments, top_c, None, longest_h * 3600.0, charge, "")
    written = profile_to_toml(profile)
    once = read(written)
    assert replace(once, pour_c=None, source="") == profile
    assert read(profile_to_toml(once)) == replace(once, source=profile_to_toml(once))
