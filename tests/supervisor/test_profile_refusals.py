"""What is wrong with a profile is refused in one sentence: file, field, value, what is allowed."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from supervisor.firing.profile import Profile
from supervisor.firing.profile_file import profile_from_text, read_profile
from supervisor.furnace.file import read_furnace
from supervisor.furnace.reckoning import fastest_ramp_c_per_h
from supervisor.refusal import InputRefused

BENCH = read_furnace("bench")
EXAMPLE = (Path(__file__).parents[2] / "docs" / "examples" / "ingots-2kg.toml").read_text(encoding="utf-8")

HEAD = 'name = "Test"\ntop_c = 760\n'
RAMP = "[[segment]]\nramp_to_c = 740\nrate_c_per_h = 600\n"
CHARGE = '[charge]\nmass_kg = 2\nalloy = "6082"\nform = "off-cuts"\n'


def read(text: str) -> Profile:
    return profile_from_text(text, "mine.toml", BENCH)


def refused(text: str) -> str:
    with pytest.raises(InputRefused) as refusal:
        read(text)
    sentence = str(refusal.value)
    assert sentence.startswith("mine.toml")
    assert len(sentence.splitlines()) == 1
    assert "; allowed: " in sentence or "not TOML" in sentence
    return sentence.removeprefix("mine.toml")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            HEAD + "[[segment]]\nramp_to_c = 740\nrate = 600\n",
            ": segment[1].rate is not a name used here; allowed: rate_c_per_h, with its unit in the name",
        ),
        (
            HEAD + RAMP + "[[segment]]\nhold = 5\n",
            ": segment[2].hold is not a name used here; allowed: hold_min, with its unit in the name",
        ),
        (
            "top = 5\n" + HEAD + RAMP,
            ": top is not a name used here; allowed: top_c, with its unit in the name",
        ),
        (
            HEAD + '[charge]\nmass = 2\nalloy = "6082"\nform = "bar"\n' + RAMP,
            ": charge.mass is not a name used here; allowed: mass_kg, with its unit in the name",
        ),
        (
            HEAD + RAMP + "colour = 3\n",
            ": segment[1].colour is not a name used here; allowed: ramp_to_c, rate_c_per_h, over_min, fastest, "
            "hold_min, wait_within_c, until",
        ),
        (HEAD.replace("760", "851") + RAMP, ": top_c is 851; allowed: 40 to 850 °C on Bench furnace"),
        (HEAD.replace("760", "nan") + RAMP, ": top_c is nan; allowed: a number of °C, up to the furnace's top"),
        (HEAD.replace("760", '"760"') + RAMP, ': top_c is "760"; allowed: a number of °C, up to the furnace\'s top'),
        (HEAD.replace("760", "true") + RAMP, ": top_c is true; allowed: a number of °C, up to the furnace's top"),
        (
            HEAD + RAMP + "[[segment]]\nramp_to_c = 761\nover_min = 5\n",
            ": segment[2].ramp_to_c is 761; allowed: 40 °C to this profile's top_c, 760 °C",
        ),
        (
            HEAD + RAMP.replace("740", "39"),
            ": segment[1].ramp_to_c is 39; allowed: 40 °C to this profile's top_c, 760 °C",
        ),
        (
            HEAD + RAMP.replace("740", "inf"),
            ": segment[1].ramp_to_c is inf; allowed: a number of °C, 40 to top_c",
        ),
        (
            HEAD + RAMP.replace("600", "-600"),
            ": segment[1].rate_c_per_h is -600; allowed: above 0 °C/h; a ramp down has a lower ramp_to_c",
        ),
        (
            HEAD + RAMP.replace("600", "0"),
            ": segment[1].rate_c_per_h is 0; allowed: above 0 °C/h; a ramp down has a lower ramp_to_c",
        ),
        (
            HEAD + RAMP.replace("600", '"fast"'),
            ': segment[1].rate_c_per_h is "fast"; allowed: a number above 0 °C/h, up to what the furnace can follow',
        ),
        (
            HEAD + RAMP.replace("rate_c_per_h = 600", "over_min = -5"),
            ": segment[1].over_min is -5; allowed: above 0 min, at most 720 min",
        ),
        (
            HEAD + RAMP + "over_min = 80\n",
            ": segment[1] is a ramp with rate_c_per_h and over_min; allowed: exactly one of the three",
        ),
        (
            HEAD + "[[segment]]\nramp_to_c = 740\n",
            ": segment[1] is a ramp with neither rate_c_per_h nor over_min nor fastest; "
            "allowed: exactly one of the three",
        ),
        (
            HEAD + "[[segment]]\nramp_to_c = 740\nfastest = true\n",
            ": fastest is true; allowed: only with a [charge]; "
            "what is dried or warmed without metal must not be hurried",
        ),
        (
            HEAD + CHARGE + RAMP + "[[segment]]\nramp_to_c = 700\nfastest = true\n",
            ": segment[2].fastest is true; allowed: only for a ramp up; give a ramp down its rate_c_per_h or over_min",
        ),
        (
            HEAD + CHARGE + "[[segment]]\nramp_to_c = 740\nfastest = false\n",
            ": segment[1].fastest is false; allowed: true, or left out",
        ),
        (
            HEAD + RAMP + "hold_min = 3\n",
            ": segment[1] has both ramp_to_c and hold_min; allowed: exactly one of the two",
        ),
        (
            HEAD + RAMP + '[[segment]]\nuntil = "word"\n',
            ": segment[2] has neither ramp_to_c nor hold_min; allowed: exactly one of the two",
        ),
        (
            HEAD + RAMP + 'until = "word"\n',
            ': segment[1].until is "word"; allowed: only beside hold_min; this segment is a ramp',
        ),
        (
            HEAD + RAMP + "[[segment]]\nhold_min = 3\nrate_c_per_h = 5\n",
            ": segment[2].rate_c_per_h is 5; allowed: only beside ramp_to_c; this segment is a hold",
        ),
        (
            HEAD + "[[segment]]\nhold_min = 3\n" + RAMP,
            ": segment[1].hold_min is 3; allowed: a ramp before the first hold",
        ),
        (HEAD + RAMP + "[[segment]]\nhold_min = -1\n", ": segment[2].hold_min is -1; allowed: 0 to 720 min"),
        (
            HEAD + RAMP + "[[segment]]\nhold_min = 0\n",
            ': segment[2].hold_min is 0; allowed: above 0 min, or 0 with until = "word"',
        ),
        (
            HEAD + RAMP + "[[segment]]\nhold_min = 3\nwait_within_c = 0.5\n",
            ": segment[2].wait_within_c is 0.5; allowed: 1 to 50 °C",
        ),
        (
            HEAD + RAMP + '[[segment]]\nhold_min = 3\nuntil = "noon"\n',
            ': segment[2].until is "noon"; allowed: "word", for a person who says go on, or "dry", for a lining'
            " whose need of power says so",
        ),
        (HEAD, ": segment is missing; allowed: [[segment]] tables, one for each ramp or hold"),
        ("segment = []\n" + HEAD, ": segment is empty; allowed: [[segment]] tables, one for each ramp or hold"),
        (
            HEAD + RAMP.replace("[[segment]]", "[segment]"),
            ": segment is a table; allowed: [[segment]] tables, one for each ramp or hold",
        ),
        (
            HEAD + CHARGE.replace("2", "3.1", 1) + RAMP,
            ": charge.mass_kg is 3.1; allowed: above 0 kg, up to 3 kg, what the crucible of Bench furnace holds",
        ),
        (
            HEAD + CHARGE.replace("2", "nan", 1) + RAMP,
            ": charge.mass_kg is nan; allowed: a number above 0 kg, up to what the crucible holds",
        ),
        (
            "pour_c = 649\n" + HEAD + CHARGE + RAMP,
            ": pour_c is 649; allowed: 650 °C, where 6082 metal is all liquid, to 740 °C, the highest ramp",
        ),
        (
            "pour_c = 741\n" + HEAD + CHARGE + RAMP,
            ": pour_c is 741; allowed: 650 °C, where 6082 metal is all liquid, to 740 °C, the highest ramp",
        ),
        (
            "pour_c = 655\n" + HEAD + CHARGE.replace("6082", "unknown") + RAMP,
            ": pour_c is 655; allowed: 660.3 °C, where unknown metal is all liquid, to 740 °C, the highest ramp",
        ),
        (
            "pour_c = 720\n" + HEAD + RAMP,
            ": pour_c is 720; allowed: nothing without a [charge]: there is no metal to pour",
        ),
        (
            "longest_h = 1\n" + HEAD + RAMP,
            ": longest_h is 1; allowed: 1.2 h, what the segments take, to 12 h",
        ),
        ("longest_h = 12.1\n" + HEAD + RAMP, ": longest_h is 12.1; allowed: 1.2 h, what the segments take, to 12 h"),
        (HEAD + RAMP.replace("600", "50"), ": all segments take 14.4 h; allowed: up to 12 h in one firing"),
        ("", " is empty; allowed: a TOML file"),
        (HEAD + "# " + "x" * 70_000, " is longer than 65536 characters; allowed: at most that many"),
        (HEAD + "# \ud800\n" + RAMP, " holds half a character at 28; allowed: UTF-8 text"),
    ],
)
def test_what_cannot_be_done_is_refused_with_field_value_and_what_is_allowed(text: str, sentence: str) -> None:
    assert refused(text) == sentence


def test_an_alloy_that_is_not_in_the_table_is_refused_with_those_that_are() -> None:
    sentence = refused(HEAD + CHARGE.replace("6082", "6O82") + RAMP)
    assert sentence.startswith(': charge.alloy is "6O82"; allowed: 1100, 2011, ')
    assert sentence.endswith("535.0, or unknown")


def test_a_ramp_that_full_power_could_not_follow_is_refused_with_the_fastest() -> None:
    fastest = fastest_ramp_c_per_h(BENCH, 740.0)
    sentence = refused(HEAD + RAMP.replace("600", "6000"))
    assert sentence == (
        f": segment[1].rate_c_per_h is 6000; allowed: up to {int(fastest // 10) * 10} °C/h from 20 to 740 °C "
        "on Bench furnace"
    )
    least_min = 720.0 / fastest * 60.0
    assert f"allowed: at least {int(least_min) + 1} min from 20 to 740 °C" in refused(
        HEAD + RAMP.replace("rate_c_per_h = 600", "over_min = 10")
    )
    assert read(HEAD + RAMP.replace("600", str(int(fastest))))


def test_a_fall_is_never_too_fast_because_the_setpoint_waits() -> None:
    assert read(HEAD + RAMP + "[[segment]]\nramp_to_c = 500\nrate_c_per_h = 9000\n")


def test_bad_toml_is_refused_with_its_line() -> None:
    assert refused(HEAD + "segment = \n") == " is not TOML: invalid value (at line 3, column 11)"
    assert "line 4" in refused(HEAD + "[[segment]]\nramp_to_c = 740 °C\n")
    assert "(at the end, line 3)" in refused(HEAD + 'x = "open')


def test_a_missing_file_is_refused_by_its_name(tmp_path: Path) -> None:
    with pytest.raises(InputRefused, match=r"none\.toml cannot be read: no such file or directory"):
        read_profile(tmp_path / "none.toml", BENCH)


@given(
    start=st.integers(0, len(EXAMPLE)),
    length=st.integers(0, 60),
    instead=st.text(max_size=12)
    | st.sampled_from(["-", "0", "[", "]", "=", '"', "nan", "1e999", "true", "\n", "07:32"]),
)
def test_a_profile_with_any_slip_of_the_pen_is_read_or_refused(start: int, length: int, instead: str) -> None:
    try:
        read(EXAMPLE[:start] + instead + EXAMPLE[start + length :])
    except InputRefused as refusal:
        sentence = str(refusal)
    else:
        return
    assert sentence.startswith("mine.toml")
    assert len(sentence.splitlines()) == 1
