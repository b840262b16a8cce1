"""`meltkeeper ingots` and the record of a melt on the command line, as people type them."""

import json
import shutil
import sqlite3
import tempfile
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from supervisor.cli import main
from supervisor.firing.commands import Note
from supervisor.logbook.earlier import earlier_run
from supervisor.logbook.reading import open_log
from tests.supervisor.book.shop import Shop
from tests.supervisor.logbook import closed, opened, sample, scribe_of
from tests.web.scripted import Scripted
from tests.web.snapshots import HEATING

TABLE = """heat_number,day,in,ingots_kg,dross_kg,minutes,kwh,maker,note
A-001,2025-03-08,1.5 6082;0.9 2011,"1,1;1.1",0.1,90,3.4,Ada,first
A-002,2025-04-12,1.0 6082;0.3 A-001/2,1.2,0,,3.1,Ada,
"""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    with scribe_of(tmp_path):
        pass
    return tmp_path


def run(home: Path, *words: str, exit_code: int = 0) -> str:
    result = CliRunner().invoke(main, [*words, "--data", str(home)])
    assert result.exit_code == exit_code, result.output
    return result.output


def asked(home: Path, *words: str) -> Any:
    return json.loads(run(home, *words, "--json"))


@pytest.fixture
def paper(home: Path) -> Path:
    table = home / "paper.csv"
    table.write_text(TABLE, encoding="utf-8")
    assert run(home, "melts", "enter", "--file", str(table)) == "2 melts entered from paper.\n"
    return home


def test_melts_of_paper_are_marked_and_have_their_day_and_no_samples(paper: Path) -> None:
    firings = asked(paper, "melts", "list")["firings"]
    assert [(each["heat_number"], each["backend"], each["started_local_date"]) for each in firings] == [
        ("A-002", "paper", "2025-04-12"),
        ("A-001", "paper", "2025-03-08"),
    ]
    assert firings[1]["energy_wh"] == 3400.0
    assert firings[0]["lasted_s"] is None  # nobody wrote down how long it took
    with open_log(paper) as log:
        assert log.samples(1) == []
    metal = asked(paper, "melts", "show", "A-001")["metal"]
    assert metal["balance"]["gap_kg"] == pytest.approx(0.1)
    assert [each["what"] for each in metal["open"]] == ["closing"]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["A-1", "--on", "2025-03-08", "--in", "1 6082"], "heat_number is 'A-1'; allowed: letter and number, as A-012"),
        (
            ["A-009", "--on", "8.3.2025", "--in", "1 6082"],
            "day is '8.3.2025'; allowed: year, month, day, as 2025-03-08",
        ),
        (["A-009", "--on", "2025-03-08"], "in is empty; allowed: '1.50 6082' for off-cuts"),
        (["A-009", "--on", "2025-03-08", "--in", "1 6082", "--ingot", "1.1"], "allowed: up to 1.000 kg, what went in"),
        (["A-009", "--on", "2025-03-08", "--in", "240 6082"], "in is '240'; allowed: a number, 0 to 100 kg"),
        (["A-009", "--on", "2025-03-08", "--in", "1 B-001/1"], "'B-001/1' is no lot or ingot of this book"),
        (["A-009", "--on", "2025-03-08", "--in", "2 A-002/1"], "allowed: up to 1.200 kg, what is left of A-002/1"),
        (["A-001", "--on", "2025-03-08", "--in", "1 6082"], "it is in the book. A heat number is used once."),
    ],
)
def test_paper_that_cannot_be_is_refused_whole(paper: Path, words: list[str], sentence: str) -> None:
    before = asked(paper, "melts", "list")
    assert sentence in run(paper, "melts", "enter", *words, exit_code=2)
    assert asked(paper, "melts", "list") == before


def test_a_line_of_a_table_that_cannot_be_is_named_and_nothing_is_entered(home: Path) -> None:
    table = home / "paper.csv"
    table.write_text(TABLE.replace("1.0 6082", "1.0 gold"), encoding="utf-8")
    assert "'gold' is no lot or ingot of this book" in run(home, "melts", "enter", "--file", str(table), exit_code=2)
    assert asked(home, "melts", "list")["firings"] == []
    assert asked(home, "ingots", "list")["ingots"] == []


def test_an_ingot_is_shown_with_its_descent_and_what_is_likely_in_it(paper: Path) -> None:
    shown = asked(paper, "ingots", "show", "a-002-1")
    assert (shown["name"], shown["tested"], shown["left_kg"]) == ("A-002/1", False, 1.2)
    assert [each["name"] for each in shown["from"]][:2] == ["A-002", "L-3"]
    band = shown["composition_pct"]["Pb"]
    assert band["low"] <= band["likely"] <= band["high"]
    assert "Not for lifting, pressure or vehicles." in run(paper, "ingots", "show", "A-002/1")


def test_notes_use_and_return_stay_with_the_ingot(paper: Path) -> None:
    run(paper, "ingots", "note", "A-001/1", "short chips", "--score", "4")
    assert run(paper, "ingots", "use", "A-001/1", "0,25", "--for", "bracket").startswith("A-001/1: 0.250 kg used")
    said = run(paper, "ingots", "return", "A-001/1", "250 g")
    assert "It is lot L-4 now: dry it before it is charged." in said
    assert "allowed: a lot of returns" in run(paper, "ingots", "return", "A-001/1", "--into", "L-1", exit_code=2)
    assert "0.100 kg returned" in run(paper, "ingots", "return", "A-001/1", "0.1", "--into", "l-4")
    listed = {each["name"]: each for each in asked(paper, "ingots", "list")["ingots"]}
    assert (listed["A-001/1"]["left_kg"], listed["A-001/1"]["score"]) == (0.5, 4)


def test_quarantine_names_every_child_and_clearing_asks_for_a_reason(paper: Path) -> None:
    run(paper, "ingots", "return", "A-002/1", "0.2")
    touched = asked(paper, "ingots", "quarantine", "L-2", "--reason", "lead")
    assert set(touched["children"]) == {"A-001", "A-001/1", "A-001/2", "A-002", "A-002/1", "L-4"}
    assert touched["furnace"] == ""
    assert "it holds metal of L-2 (lead)" in run(paper, "ingots", "show", "A-002/1")
    assert "Missing option '--reason'" in run(paper, "ingots", "clear", "L-2", exit_code=2)
    run(paper, "ingots", "clear", "L-2", "--reason", "a mix-up of labels")
    assert "Not under quarantine now." in run(paper, "ingots", "show", "A-002/1")


def test_what_is_open_is_listed_and_a_melt_is_closed_when_nothing_is(paper: Path) -> None:
    opened = {each["heat_number"]: each["open"] for each in asked(paper, "melts", "open")["melts"]}
    assert set(opened) == {"A-001", "A-002"}
    run(paper, "melts", "close", "A-001")
    assert "is closed; open it again first" in run(paper, "melts", "dross", "A-001", "0.05", exit_code=2)
    assert {each["heat_number"] for each in asked(paper, "melts", "open")["melts"]} == {"A-002"}
    run(paper, "melts", "close", "A-001", "--again", "the scale was off")
    assert run(paper, "melts", "dross", "A-001", "0,05") == "Dross of A-001: 0.050 kg.\n"


def test_what_the_furnace_did_last_is_not_asked_of_paper(paper: Path) -> None:
    with open_log(paper) as log:
        found = earlier_run(log)
    assert (found.last, found.last_name, found.last_had_metal, found.metal) == (None, "", False, None)


def test_verifying_names_the_first_altered_row_of_the_book(paper: Path) -> None:
    assert "The book is as it was written: " in run(paper, "melts", "verify")
    with sqlite3.connect(paper / "book.db") as book:
        book.execute("DROP TRIGGER movement_never_changed")
        book.execute("UPDATE movement SET kg = kg + 0.001 WHERE id = 3")
    assert "The book was altered: row 3 of movement was altered" in run(paper, "melts", "verify", exit_code=5)


def test_verifying_names_what_was_altered_in_the_firing_of_a_closed_melt(paper: Path) -> None:
    run(paper, "melts", "close", "A-001")
    assert "are as they were: 1 of 1." in run(paper, "melts", "verify")
    with sqlite3.connect(paper / "furnace.db") as log:
        log.execute("DROP TRIGGER event_never_changed")
        log.execute("UPDATE event SET who = 'nobody' WHERE firing_id = 1")
    assert "Melt A-001: its events are not as they were." in run(paper, "melts", "verify", exit_code=5)


def test_a_firing_that_runs_with_such_metal_is_told(paper: Path) -> None:
    with tempfile.TemporaryDirectory() as short:  # a socket's path has 107 bytes
        home = shutil.copytree(paper, Path(short) / "d")
        furnace = Scripted(home)
        try:
            furnace.show(HEATING, heat_number="A-002")
            told = asked(home, "ingots", "quarantine", "L-2", "--reason", "lead")["furnace"]
            assert told == "The firing of A-002 that runs now is told: its metal is under quarantine."
            run(home, "ingots", "clear", "L-2", "--reason", "a mix-up")
            kinds = [each.kind.value for each in furnace.asked if isinstance(each, Note)]
            assert kinds == ["quarantine", "quarantine lifted"]
        finally:
            furnace.close()


def test_a_melt_is_entered_word_by_word_on_the_command_line(home: Path) -> None:
    shop = Shop(home)
    shop.lot("L-9", 4.0)
    shop.melt("A-050", L_9=2.4)
    assert run(home, "melts", "count", "a-050", "--number", "2", "--maker", "Bo") == "A-050/1 to A-050/2 counted.\n"
    assert "one of the two" in run(home, "melts", "count", "A-050", exit_code=2)
    assert run(home, "ingots", "weigh", "A-050/1", "1,2") == "A-050/1: 1.200 kg.\n"
    assert "allowed: up to 1.200 kg, what is left of A-050" in run(
        home, "ingots", "weigh", "A-050/2", "1.3", exit_code=2
    )
    assert run(home, "ingots", "weigh", "A-050/2", "1000 g") == "A-050/2: 1.000 kg.\n"
    assert run(home, "melts", "remark", "A-050", "thick dross", "--skim") == "Skim of A-050 noted.\n"
    assert run(home, "melts", "pot", "A-050", "heel", "0.15").startswith("Pot of A-050: 0.150 kg stay in it")
    assert run(home, "melts", "walk", "A-050", "nothing") == "Walk noted.\n"
    assert "walk again in 30 minutes" in run(home, "melts", "walk", "A-050", "a rag smoked", "--smoulder")
    assert "cannot be closed yet. It was not fired." in run(home, "melts", "close", "A-050", exit_code=2)
    (left,) = asked(home, "melts", "open")["melts"]
    assert left["balance"]["gap_kg"] == pytest.approx(0.05)
    assert run(home, "ingots", "note", "A-050/1", "for the bracket") == "A-050/1: noted.\n"


def test_a_proof_is_told_by_the_record_of_a_firing(home: Path) -> None:
    shop = Shop(home)
    shop.lot("L-9", 4.0)
    with scribe_of(home) as scribe:
        readings = [sample(second * 20_000, hot_junction_c=160.0) for second in range(125 * 3)]
        scribe.put([opened(), *readings, closed(125 * 60_000)])
    assert run(home, "melts", "prove", "1", "L-9").startswith("L-9: dry. The chamber was at 160 °C or more for 125 min")
    assert "There is no firing 7" in run(home, "melts", "prove", "7", "L-9", exit_code=2)
