"""The best mix against worked charge calculations: published blends, and the worked cases turned round.

The published ones are without losses, so they go to the programme itself; the cases go through the command's own JSON.
"""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from supervisor.cli import main
from supervisor.metal.programme import Programme, Row, solve_all

CASES = json.loads(Path(__file__).with_name("charge_cases.json").read_text(encoding="utf-8"))["examples"]


def exactly(line: list[float]) -> list[Row]:
    nothing = [0.0] * len(line)
    return [Row(line, nothing), Row([-each for each in line], nothing)]


def test_the_cheapest_blend_of_nine_alloys() -> None:
    """Lead, zinc and tin in nine alloys at nine prices; 30, 30 and 40 % are wished: 0.6 of B and 0.4 of D, at 4.98.

    George B. Dantzig, Linear Programming and Extensions, Princeton University Press 1963, section 3-4, "Blending
    problem I". The figures of the table are typed from memory; that B and D come to 30, 30 and 40 % at 0.6 x 4.30 +
    0.4 x 6.00 can be checked by hand.
    """
    lead = [10, 10, 40, 60, 30, 30, 30, 50, 20]
    zinc = [10, 30, 50, 30, 30, 40, 20, 40, 30]
    price = [4.1, 4.3, 5.8, 6.0, 7.6, 7.5, 7.3, 6.9, 7.3]
    rows = [*exactly([each - 30.0 for each in lead]), *exactly([each - 30.0 for each in zinc])]
    (found,) = solve_all([Programme(price, [1.0] * 9, [0.0] * 9, (1.0, 1.0), rows)])
    assert found is not None
    assert found.kg == pytest.approx([0, 0.6, 0, 0.4, 0, 0, 0, 0, 0], abs=1e-6)
    assert found.cost == pytest.approx(4.98, abs=1e-6)


def test_two_alloys_to_equal_shares() -> None:
    """Cu:Zn 5:2 and 3:4 to 28 kg with as much copper as zinc: 7 kg and 21 kg.

    Abhijit Guha, Quantitative Aptitude for Competitive Examinations, example 9.19, as worked in the open textbook
    companion (no losses).
    """
    copper_over_zinc = [5 / 7 - 2 / 7, 3 / 7 - 4 / 7]
    (found,) = solve_all([Programme([0, 0], [28, 28], [0, 0], (28, 28), exactly(copper_over_zinc))])
    assert found is not None
    assert found.kg == pytest.approx([7.0, 21.0], abs=1e-6)


def test_the_inverse_of_the_first_case(tmp_path: Path) -> None:
    """E1 says what 2 kg of 6061 and 1 kg of 6063 come to; wished exactly that copper, the masses must be these."""
    case = next(each for each in CASES if each["name"].startswith("E1"))
    for number, lot in enumerate(case["lots"], start=1):
        weighed(tmp_path, "2.4", lot["form"], "--alloy", lot["alloy"], "--sure", "marked", number=number)
    copper = case["retained_g"]["Cu"] / case["melt_kg"] / 10.0  # g in kg, to per cent
    found = best(tmp_path, "--limit", f"Cu={copper:.4f}..{copper:.4f}", "--kg", "2.25")
    assert {each["name"]: each["kg"] for each in found["masses"]} == pytest.approx({"L-1": 1.5, "L-2": 0.75}, abs=0.003)
    assert found["melt_kg"] == pytest.approx(case["melt_kg"] * 0.75, abs=0.001)


def test_the_magnesium_that_is_lacking_in_the_second_case(tmp_path: Path) -> None:
    """E2: to 0.35 % magnesium 4.735 g are to be added to 3.3 kg; here to half of it. Named last, never mixed in."""
    before = next(each for each in CASES if each["name"].startswith("E2a"))
    after = next(each for each in CASES if each["name"].startswith("E2b"))
    measured = ("--measured", "Mg=0.25")
    weighed(tmp_path, "1.5", "old_casting", "--alloy", "A356.0", "--sure", "marked", *measured, number=1)
    weighed(tmp_path, "0.15", "thin_sheet", "--alloy", "1100", "--sure", "marked", number=2)
    pure = ("--measured", "Mg=100", "--measured", "Al=0", "--sure", "measured")
    weighed(tmp_path, "0.05", "pure_addition", *pure, number=3)
    found = best(tmp_path, "--limit", "Mg=0.35..", "--kg", "1.65")
    assert found["holds"] == "short"
    assert [each["name"] for each in found["masses"]] == ["L-1", "L-2"]
    assert found["melt_kg"] == pytest.approx(before["melt_kg"] / 2.0, abs=0.0005)
    (lack,) = found["lacks"]
    assert lack["pct"] == pytest.approx(before["wt_pct"]["Mg"], abs=0.0005)
    (last,) = found["last"]
    assert (last["name"], last["enough"]) == ("L-3", True)
    assert 1000.0 * last["kg"] == pytest.approx(after["magnesium_addition_g"] / 2.0, abs=0.01)
    assert "never water" in last["caution"]


def test_iron_is_thinned_by_the_rule_of_mixtures() -> None:
    """Conservation of mass: from 1.0 to 0.6 % with 0.15 % metal takes (1.0 - 0.6) / (0.6 - 0.15) kg for each kg."""
    iron = Row([1.0 - 0.6, 0.15 - 0.6], [0.0, 0.0])
    (found,) = solve_all([Programme([0, 1], [1, 10], [1, 0], (1, 11), [iron])])
    assert found is not None
    assert found.kg == pytest.approx([1.0, 0.4 / 0.45], abs=1e-6)


def weighed(data: Path, kg: str, form: str, *more: str, number: int) -> None:
    words = ("lots", "add", kg, "--form", form, "--surface", "bare", "--shape", "solid", *more)
    asked = CliRunner().invoke(main, [*words, "--data", str(data)])
    assert asked.exit_code == 0, asked.output
    assert asked.stdout.startswith(f"L-{number}:")


def best(data: Path, *words: str) -> Any:
    asked = CliRunner().invoke(main, ["charge", "best", *words, "--data", str(data), "--json"])
    assert asked.exit_code == 0, asked.output
    return json.loads(asked.stdout)
