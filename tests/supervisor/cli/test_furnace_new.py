"""`furnace new`: ten answers make a furnace file that every command takes, or a refusal that names the answer."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from supervisor.cli import main
from supervisor.furnace.answers import furnace_file
from supervisor.furnace.asked import BRICKS, QUESTIONS
from supervisor.furnace.file import read_furnace
from supervisor.furnace.shape import FORMS, Chamber, inside_m2, outside_m2, shape_factor_m

ANSWERS = {
    "name": "B Furnace by the door",
    "supply": "230 16",
    "element": "21.2 fecral",
    "chamber": "round 190 230",
    "wall": "114 26",
    "pot": "1.9 95 170",
    "top": "850",
    "limiter": "900",
    "fitted": "permit_relay_2 lid meter=1000",
    "said_by": "Ada, 27 November",
}


def ask(file: Path, *words: str, typed: str | None = None) -> Result:
    return CliRunner().invoke(main, ["furnace", "new", str(file), *words], input=typed)


def answers(directory: Path, **changes: str) -> Path:
    file = directory / "answers.toml"
    given = {**ANSWERS, **changes}
    file.write_text("".join(f"{name} = {json.dumps(text)}\n" for name, text in given.items() if text is not None))
    return file


def test_ten_answers_make_a_file_for_its_owner_alone_and_keep_the_one_before(tmp_path: Path) -> None:
    file = tmp_path / "shed.toml"
    assert ask(file, "--answers", str(answers(tmp_path))).exit_code == 0
    first = file.read_text()
    assert file.stat().st_mode & 0o777 == 0o600
    again = ask(file, "--answers", str(answers(tmp_path, top="800")), "--json")
    assert json.loads(again.stdout)["copy"] == str(tmp_path / "shed.toml.1")
    assert (tmp_path / "shed.toml.1").read_text() == first
    furnace = read_furnace(str(file))
    assert (furnace.title, furnace.letter, furnace.top_c, furnace.limiter_c) == (
        "Furnace by the door",
        "B",
        800.0,
        900.0,
    )
    assert not furnace.invented
    assert furnace.pulses_per_kwh == 1000
    assert furnace.wiring.lid == 19
    assert furnace.not_fitted is not None
    assert furnace.not_fitted.said_by == "Ada, 27 November"
    assert set(furnace.not_fitted.lines) == {"load_current", "mains", "tray_probe", "second_sensor"}


def test_a_person_is_asked_again_until_it_can_be_and_loses_no_answer(tmp_path: Path) -> None:
    typed = {**ANSWERS, "element": "21.2 steel\n21.2 fecral", "top": "880"}
    ran = ask(tmp_path / "shed.toml", typed="\n".join(typed.values()) + "\ntop\n850\n")
    assert ran.exit_code == 0, ran.output
    assert "element is" in ran.output
    assert "top_c is 880; allowed: up to 850 °C" in ran.output
    assert "licensed person" in ran.output
    assert read_furnace(str(tmp_path / "shed.toml")).top_c == 850.0


@pytest.mark.parametrize(
    ("name", "given", "said"),
    [
        ("name", "Furnace", "a capital letter, a space"),
        ("name", "b furnace", "letter is"),
        ("supply", "230", "supply is"),
        ("supply", "230 sixteen", "supply is"),
        ("supply", "nan 16", "supply is"),
        ("element", "5 fecral", "at least 14.4 ohm on a 16 A circuit"),
        ("element", "21.2 steel", "plain steel is no element"),
        ("element", "0 fecral", "more than 0 ohm"),
        ("chamber", "190 230", "round, square or octagon"),
        ("chamber", "round 10 230", "20 to 2000 mm"),
        ("chamber", "round 20 230", "a fifth"),
        ("wall", "114 99", "one of 23, 26, 28, dense"),
        ("pot", "1.9 95", "3 numbers"),
        ("top", "851", "up to 850 °C, 50 K below"),
        ("top", "85O", "numbers with a decimal point"),
        ("limiter", "90", "limiter.setting_c is 90"),
        ("fitted", "lid speaker", "or nothing"),
        ("fitted", "meter=1e9", "numbers that can be"),
        ("fitted", "meter=50", "100 to 10000 pulses per kWh"),
        ("wall", "20 dense", "wall loses less than the element gives"),
        ("fitted", "meter=", "numbers"),
        ("said_by", "  ", "said_by is missing"),
    ],
)
def test_nonsense_is_refused_by_name_and_nothing_is_written(tmp_path: Path, name: str, given: str, said: str) -> None:
    file = tmp_path / "shed.toml"
    ran = ask(file, "--answers", str(answers(tmp_path, **{name: given})))
    assert ran.exit_code == 2
    assert said in ran.stderr
    assert "allowed" in ran.stderr
    assert not file.exists()


@pytest.mark.parametrize("text", ["top = 850\n", "speaker = 'x'\n", "top =", ""])
def test_an_answers_file_that_is_none_is_refused(tmp_path: Path, text: str) -> None:
    (tmp_path / "a.toml").write_text(text)
    assert ask(tmp_path / "shed.toml", "--answers", str(tmp_path / "a.toml")).exit_code == 2


@pytest.mark.parametrize("brick", BRICKS)
@pytest.mark.parametrize("chamber", ["round 190 230", "square 165 190", "octagon 190 230"])
def test_every_brick_and_shape_makes_a_file_that_can_be_read(tmp_path: Path, brick: str, chamber: str) -> None:
    thick = {"dense": "230"}.get(brick, "114")
    text = furnace_file({**ANSWERS, "wall": f"{thick} {brick}", "chamber": chamber, "top": "700"})
    file = tmp_path / "shed.toml"
    file.write_text(text)
    assert 0.05 < read_furnace(str(file)).response.slope_c_per_s < 5.0


def test_the_filled_in_response_is_near_both_furnaces_that_ship(tmp_path: Path) -> None:
    """Their responses are simulated; this only shows that the rule was fitted to them."""
    for name, given in {
        "workshop": {"chamber": "round 190 230", "wall": "114 26"},
        "bench": {"chamber": "round 190 210", "wall": "65 23", "element": "20.0 fecral"},
    }.items():
        file = tmp_path / f"{name}.toml"
        file.write_text(furnace_file({**ANSWERS, **given}))
        ours, shipped = read_furnace(str(file)).response, read_furnace(name).response
        assert ours.slope_c_per_s == pytest.approx(shipped.slope_c_per_s, rel=0.2)
        assert ours.fastest_fall_c_per_s == pytest.approx(shipped.fastest_fall_c_per_s, rel=0.25)


def test_a_cubes_edges_and_corners_conduct_as_in_the_textbook() -> None:
    """Holman, Heat Transfer, example 3-2: a cube of 50 cm inside, wall 10 cm, k 1.04 W/m/K, 500 and 50 °C: 8.592 kW.

    The textbook's shape factor is 18.36 m: faces 15, edges 3.24, corners 0.12.
    """
    cube = Chamber("square", across_m=0.5, depth_m=0.5)
    assert shape_factor_m(cube, 0.1) == pytest.approx(18.36, abs=0.005)
    assert 1.04 * shape_factor_m(cube, 0.1) * 450.0 == pytest.approx(8592.0, abs=2.0)


def test_the_outside_area_conducts_what_the_shape_does() -> None:
    from math import log

    for form in FORMS:
        chamber = Chamber(form, 0.19, 0.23)
        inner, outer = inside_m2(chamber), outside_m2(chamber, 0.114)
        mean_m2 = (outer - inner) / log(outer / inner)
        assert mean_m2 / 0.114 == pytest.approx(shape_factor_m(chamber, 0.114), rel=1e-6)
        assert outer > inner


def test_there_are_ten_questions_each_with_a_picture_and_an_example_that_is_taken() -> None:
    assert len(QUESTIONS) == 10
    assert all(question.picture and question.example for question in QUESTIONS.values())
    assert furnace_file({name: question.example for name, question in QUESTIONS.items()})
