"""`meltkeeper lots` and `meltkeeper charge`: from the scale to a charge that waits, as a person types it."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from supervisor.cli import main

DRIED = ("--at-c", "160", "--minutes", "120")
KNOWN = ("--alloy", "6082", "--sure", "marked", "--surface", "bare", "--shape", "solid", "--longest-mm", "60")


@pytest.fixture
def data(tmp_path: Path) -> Path:
    return tmp_path


def typed(data: Path, *words: str) -> Result:
    return CliRunner().invoke(main, [*words, "--data", str(data)])


def done(data: Path, *words: str) -> str:
    result = typed(data, *words)
    assert result.exit_code == 0, result.output
    return result.stdout


def told(data: Path, *words: str) -> Any:
    return json.loads(done(data, *words, "--json"))


def refused(data: Path, *words: str) -> str:
    result = typed(data, *words)
    assert result.exit_code == 2, result.output
    return result.stderr.strip()


def test_from_the_scale_to_a_charge_that_waits(data: Path) -> None:
    assert "L-1: 2.400 kg of plate ends, taken for 6082." in done(
        data, "lots", "add", "2,4", "--form", "solid_offcut", "--origin", "plate", "--name", "plate ends", *KNOWN
    )
    done(data, "charge", "mould", "tray", "700", "--mass-kg", "5")
    done(data, "charge", "mould", "tray", "700", "--mass-kg", "5")
    plan = told(
        data,
        "charge",
        "plan",
        "--lot",
        "L-1=1.9",
        "--mould",
        "M-1",
        "--mould",
        "M-2",
        "--profile",
        "example/ingots-2kg",
    )
    assert {each["id"] for each in plan["conditions"] if not each["met"] and each["blocks"] == "start"} == {
        "dry L-1", "air",
    }  # fmt: skip
    assert (plan["near"]["alloy"], plan["may_be_confirmed"]) == ("6082", False)
    assert plan["forecast"]["minutes"]["low"] < plan["forecast"]["minutes"]["likely"] < 180.0
    assert refused(data, "charge", "confirm", "P-001").startswith("Scrap is dry: L-1 is not proved dry. Dry it at")
    done(data, "lots", "dry", "L-1", "M-1", "m-2", *DRIED)
    assert told(data, "charge", "plan", "P-001", "--air", "dry")["may_be_confirmed"]
    shown = done(data, "charge", "show", "P-001")
    assert "1.90 kg of plate ends makes two ingots near 6082 in about" in shown
    confirmed = told(data, "charge", "confirm", "P-001")
    assert (confirmed["heat_number"], confirmed["prepare"]) == ("A-001", "nobody")
    assert told(data, "lots", "show", "L-1")["kg"] == pytest.approx(0.5)
    assert told(data, "charge", "list")["plans"] == []
    assert "A-001" in done(data, "charge", "prepare", "A-001")


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("lots", "add", "2400", "--form", "solid_offcut"), "If the scale shows grams, that is 2.400 kg."),
        (("lots", "add", "1.9"), "--form is missing; allowed: solid_offcut,"),
        (("lots", "add", "1.9", "--form", "solid_offcut", "--measured", "Mg"), "--measured is 'Mg'; allowed:"),
        (("lots", "show", "L-9"), "'L-9' is no lot of this book"),
        (("lots", "dry", "M-7", *DRIED), "mould is 'M-7'; allowed: none is known yet"),
        (("charge", "plan", "--lot", "L-1"), "--lot is 'L-1'; allowed: NAME=KG, as L-28=1.90; a mass has no default"),
        (("charge", "plan", "--lot", "L-1=", "--profile", "nix"), "--profile is 'nix'; allowed: example/"),
        (("charge", "show", "P-7"), "plan is 'P-7'; allowed: there is none yet"),
        (("charge", "mould", "tray", "0"), "volume_ml is 0; allowed: above 0, up to 20000 ml, to the brim"),
    ],
)
def test_what_cannot_be_gets_a_sentence(data: Path, words: tuple[str, ...], sentence: str) -> None:
    assert sentence in refused(data, *words)


def test_a_number_has_a_comma_or_a_point_and_what_is_none_gets_a_sentence(data: Path) -> None:
    def density(*words: str) -> Result:
        return CliRunner().invoke(main, ["charge", "density", *words])

    assert density("100,0", "62,9").stdout == density("100.0", "62.9").stdout
    for word in ("nan", "inf", "1,5,0", "heavy", ""):
        result = density("100", word)
        assert (result.exit_code, f"'{word}'; allowed: a number, as 1.5 or 1,5" in result.stderr) == (2, True)
    assert "allowed: a number" in refused(data, "charge", "today", "--hours", "nan")


def test_a_quarantined_lot_names_the_plans_that_it_is_in(data: Path) -> None:
    done(data, "lots", "add", "2.4", "--form", "solid_offcut", *KNOWN)
    done(data, "charge", "plan", "--lot", "L-1=1.9")
    assert "Plans that name it: P-001." in done(data, "lots", "quarantine", "L-1", "--reason", "lead")
    assert told(data, "lots", "list")["lots"][0]["quarantine"] == "L-1 is under quarantine: lead."
    assert "L-1 is clear" in done(data, "lots", "release", "L-1", "--reason", "analysed")


def test_the_best_mix_is_said_and_kept_as_a_plan_and_today_says_what_could_be_poured(data: Path) -> None:
    done(data, "lots", "add", "2.4", "--form", "solid_offcut", *KNOWN)
    assert "No lot can be charged now. L-1 is not proved dry" in done(data, "charge", "today")
    done(data, "charge", "mould", "tray", "1400", "--mass-kg", "9")
    done(data, "lots", "dry", "L-1", "M-1", *DRIED)
    found = told(data, "charge", "best", "--to", "6082", "--kg", "1.9", "--keep")
    assert (found["masses"], found["holds"], found["plan"]) == ([{"name": "L-1", "kg": 1.9}], "likely", "P-001")
    (first,) = told(data, "charge", "today")["proposals"]
    assert (first["masses"], first["near"], first["moulds"]) == ([{"name": "L-1", "kg": 2.4}], "6082", ["M-1"])
    assert first["forecast"]["minutes"]["low"] < first["forecast"]["minutes"]["high"]
    assert first["forecast"]["kwh"] > 0.0
    assert "and 1 are free." in done(data, "charge", "today", "--hours", "1")
    assert "it cannot be met with what is there: Si" in refused(
        data, "charge", "best", "--to", "5083", "--kg", "1", "--keep"
    )
