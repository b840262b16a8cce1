"""The record of a melt goes out as one file and comes back to the same digest, without names unless they are wanted."""

import base64
import contextlib
import re
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from supervisor.book.verifying import verify as verify_book
from supervisor.book.writing import open_book
from supervisor.cli import main
from supervisor.copies.archive import FILE
from supervisor.copies.importing import read_file, read_in
from supervisor.copies.record import Record, record
from supervisor.example import mark
from supervisor.logbook.digest import firing_digest
from supervisor.logbook.directory import open_directory
from supervisor.logbook.reading import open_log
from supervisor.logbook.verifying import verify
from supervisor.refusal import InputRefused
from tests.supervisor.book.shop import Shop, story
from tests.supervisor.logbook import UTC_MS, alarm, closed, command, estimate, event, opened, samples, scribe_of


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A shop with four melts, of which two were fired here, and a firing without metal."""
    home = tmp_path / "home"
    with scribe_of(home) as scribe:
        scribe.clock(100.0, UTC_MS, "network")
        scribe.put([opened(1, heat_number="A-094"), *samples(130), estimate(60_000), alarm(t_ms=6000, firing_id=1)])
        scribe.put([event(99_000, 1, text="Ada Lovelace lifted the lid"), command(7000, 1), closed(130_000)])
        scribe.put([opened(2, heat_number="A-095"), *samples(20, 2), closed(20_000, 2), opened(3), closed(0, 3)])
    story(Shop(home))
    (home / "alerts.toml").write_text('[[contact]]\nname = "Ada Lovelace"\naddress = "first"\n')
    return home


def run(*words: object, status: int = 0) -> str:
    done = CliRunner().invoke(main, [str(word) for word in words])
    assert done.exit_code == status, done.output
    return done.output


def gathered(home: Path, firing: str = "A-094", *, with_names: bool = True) -> Record:
    return record(home, firing, with_names=with_names, known=["Ada Lovelace"], utc_ms=UTC_MS)


@pytest.mark.parametrize("form", ["json", "html"])
@pytest.mark.parametrize("names", [(), ("--names",)], ids=["without names", "with names"])
def test_what_goes_out_comes_back_to_the_same_digest(
    home: Path, tmp_path: Path, form: str, names: tuple[str, ...]
) -> None:
    file, again, archive = tmp_path / f"a.{form}", tmp_path / "again.json", tmp_path / "archive"
    run("melts", "export", "A-094", "--data", home, f"--{form}", file, *names)
    assert "A-094 is in the archive" in run("melts", "import", file, "--data", archive)
    assert "was in the archive already" in run("melts", "import", file, "--data", archive)
    run("melts", "export", "A-094", "--data", archive, "--json", again, *names)
    first, second = read_file(file), read_file(again)
    assert first.composition == second.composition != {}
    assert first.digest == second.digest == gathered(archive, with_names=bool(names)).digest
    assert {name: len(table.rows) for name, table in first.log.items()} == {
        **{"firing": 1, "sample": 130, "minute": 3, "estimate": 1, "event": 1, "alarm": 1, "command": 1},
        "clock": len(first.log["clock"].rows),
    }
    assert verify(archive).fault == verify_book(archive / "book.db").fault == ""
    run("melts", "verify", "--data", archive)
    if names:
        with open_log(home) as log, open_log(archive) as copy:
            assert firing_digest(log, 1) == firing_digest(copy, 1)


def test_the_page_opens_anywhere_and_holds_nothing_that_is_fetched_or_run(home: Path, tmp_path: Path) -> None:
    mark.write(home, mark.Marked(UTC_MS, 1, 1))
    file = tmp_path / "a.html"
    run("melts", "export", "A-094", "--data", home, "--html", file)
    page = file.read_text(encoding="utf-8")
    for word in ("<script", "<link", " src=", "url(", "http:", "onload"):
        assert word not in page.replace('xmlns="http://www.w3.org/2000/svg"', "")
    assert "<svg" in page
    assert "SIMULATED: no furnace was heated" in page
    assert "INVENTED: no such shop" in page
    assert "not for lifting, pressure or vehicles" in page
    assert read_file(file).digest in re.sub(r"<pre.*</pre>", "", page, flags=re.DOTALL)
    assert "alarm raised" in page
    assert re.search(r"Likely in it, in %: .*Mg \d\.\d\d \(", page)


def test_names_of_people_stay_at_home_unless_they_are_wanted(home: Path, tmp_path: Path) -> None:
    for form in ("json", "html"):
        run("melts", "export", "A-094", "--data", home, f"--{form}", tmp_path / f"a.{form}")
        text = (tmp_path / f"a.{form}").read_text(encoding="utf-8")
        assert "Lovelace" not in text
        assert re.search(r"person \d+ lifted the lid", text)
        run("melts", "export", "A-094", "--data", home, f"--{form}", tmp_path / f"b.{form}", "--names")
        assert "Ada Lovelace lifted the lid" in (tmp_path / f"b.{form}").read_text(encoding="utf-8")


def test_a_melt_takes_its_lots_ingots_and_movements_along_and_nothing_of_other_melts(home: Path) -> None:
    found = gathered(home)
    melts = [dict(zip(found.book["melt"].columns, row, strict=True)) for row in found.book["melt"].rows]
    assert "A-094" in {row["heat_number"] for row in melts}
    own = next(row["id"] for row in melts if row["heat_number"] == "A-094")
    ingots = [dict(zip(found.book["ingot"].columns, row, strict=True)) for row in found.book["ingot"].rows]
    assert ingots
    assert {row["melt_id"] for row in ingots} == {own}
    lots = {row[0] for row in found.book["lot"].rows}
    assert {row[1] for row in found.book["lot_description"].rows} == lots
    assert "A-095" not in str(found.book.get("melt_event"))


def test_a_table_that_a_later_step_adds_is_carried_without_new_code(home: Path, tmp_path: Path) -> None:
    for place in (home, tmp_path / "archive"):
        with open_book(place / "book.db", who="somebody", sent_from="page", utc_ms=UTC_MS):
            pass
        with contextlib.closing(sqlite3.connect(place / "book.db")) as book:
            book.execute(
                "CREATE TABLE assay (id INTEGER PRIMARY KEY, ingot_id INTEGER REFERENCES ingot (id), si REAL,"
                " utc_ms INTEGER, who TEXT, sent_from TEXT)"
            )
    with open_book(home / "book.db", who="somebody", sent_from="page", utc_ms=UTC_MS) as book:
        row = book.one("SELECT i.id FROM ingot i JOIN melt m ON m.id = i.melt_id WHERE m.heat_number = 'A-094'")
        assert row is not None
        book.append("assay", ingot_id=row["id"], si=0.75)
    found = gathered(home)
    assert found.book["assay"].rows[0][2] == 0.75
    assert read_in(found, tmp_path / "archive", utc_ms=UTC_MS)
    assert gathered(tmp_path / "archive").digest == found.digest


def test_a_melt_from_paper_and_a_photograph_go_along(tmp_path: Path) -> None:
    home, archive = tmp_path / "home", tmp_path / "archive"
    with scribe_of(home):
        pass
    run("melts", "enter", "A-007", "--on", "2024-05-04", "--in", "1.5 6082", "--ingot", "1.4", "--data", home)
    (home / "photos").mkdir()
    (home / "photos" / "1.jpg").write_bytes(b"\xff\xd8picture")
    with open_book(home / "book.db", who="somebody", sent_from="page", utc_ms=UTC_MS) as book:
        book.append("photo", holder_kind="ingot", holder_id=1, file="photos/1.jpg", sha256="x")
    assert "2024-05-04, from" in run("ingots", "list", "--data", home)
    assert "by unknown, from paper." in run("ingots", "show", "A-007/1", "--data", home)
    file = tmp_path / "a.html"
    run("melts", "export", "A-007", "--data", home, "--html", file)
    page = file.read_text(encoding="utf-8")
    assert "FROM PAPER" in page
    assert base64.b64encode(b"\xff\xd8picture").decode() in page
    run("melts", "import", file, "--data", archive)
    assert (archive / "photos" / "1.jpg").read_bytes() == b"\xff\xd8picture"
    assert '"backend": "paper"' in run("melts", "list", "--data", archive, "--json")


def another_digit(text: str) -> str:
    return text.replace("751.25", "751.26")


def a_row_less(text: str) -> str:
    return re.sub(r"\n   \[4294968296,[^\n]*", "", text)


def a_newer_layout(text: str) -> str:
    return re.sub(r'"layout": \d+', '"layout": 99', text)


@pytest.mark.parametrize(
    ("harm", "sentence"),
    [
        (another_digit, "is not as it was written: its rows do not give its digest"),
        (a_row_less, "is not as it was written"),
        (a_newer_layout, "of a newer meltkeeper"),
        (lambda text: text[: len(text) // 2], "is no record of a melt"),
        (lambda text: "{}", "is no record of a melt"),
        (lambda text: "", "is no record of a melt"),
    ],
)
@pytest.mark.parametrize("form", ["json", "html"])
def test_what_is_not_as_it_was_written_is_refused(
    home: Path, tmp_path: Path, harm: Callable[[str], str], sentence: str, form: str
) -> None:
    file = tmp_path / f"a.{form}"
    run("melts", "export", "A-094", "--data", home, f"--{form}", file)
    file.write_text(harm(file.read_text(encoding="utf-8")), encoding="utf-8")
    with pytest.raises(InputRefused, match=re.escape(sentence)):
        read_file(file)
    run("melts", "import", file, "--data", tmp_path / "archive", status=2)
    assert not (tmp_path / "archive").exists()


def test_nothing_is_read_into_a_furnaces_own_log(home: Path) -> None:
    with pytest.raises(InputRefused, match="is a furnace's own data directory"):
        read_in(gathered(home), home, utc_ms=UTC_MS)


def test_other_rows_under_the_same_keys_are_refused_and_nothing_is_read_in(home: Path, tmp_path: Path) -> None:
    read_in(gathered(home), tmp_path / "archive", utc_ms=UTC_MS)
    other = gathered(home, with_names=False)
    with pytest.raises(InputRefused, match="is in the archive already, and is another one there"):
        read_in(other, tmp_path / "archive", utc_ms=UTC_MS)
    read_in(gathered(home, "A-095"), tmp_path / "archive", utc_ms=UTC_MS)
    assert (tmp_path / "archive" / FILE).read_text().count("digest") == 2


def test_a_supervisor_on_an_archive_knows_nothing_of_the_past(home: Path, tmp_path: Path) -> None:
    read_in(gathered(home), tmp_path / "archive", utc_ms=UTC_MS)
    with open_directory(tmp_path / "archive", backend="simulated", furnace="bench") as directory:
        assert directory.past is not None
