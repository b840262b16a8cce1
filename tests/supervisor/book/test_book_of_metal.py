"""The book of metal as a file: rows are only added, the chain names what was altered, mass is never made."""

import sqlite3
from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from supervisor.book.holders import OUTSIDE, left_kg, mend, move
from supervisor.book.schema import TABLES
from supervisor.book.verifying import verify
from supervisor.book.writing import Book, open_book, read_book
from supervisor.refusal import InputRefused


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return tmp_path / "data" / "book.db"


def write(path: Path, block: Callable[[Book], object]) -> None:
    with open_book(path, who="Ada", sent_from="command line", utc_ms=1_790_000_000_000) as opened:
        block(opened)


def lot(opened: Book, code: str, kg: float) -> int:
    lot_id = opened.append("lot", code=code)
    words = {"name": "plate ends", "origin": "plate", "form": "solid_offcut", "alloy": "6082", "certainty": "marked"}
    opened.append("lot_description", lot_id=lot_id, **words, surface="bare", shape="solid", note="")
    move(opened, kg, OUTSIDE, ("lot", lot_id), "weighed in")
    return lot_id


def test_a_book_that_is_not_there_reads_as_an_empty_one(book: Path) -> None:
    with read_book(book) as opened:
        assert opened.rows("SELECT * FROM lots") == []
    assert not book.exists()
    assert verify(book) == (0, "", "0" * 64)


def test_what_raises_in_the_middle_writes_nothing(book: Path) -> None:
    write(book, lambda opened: lot(opened, "L-1", 1.0))
    with pytest.raises(InputRefused, match=r"^mass_kg is 3; allowed: up to 1\.000 kg, what is left of L-1$"):
        write(book, lambda opened: (lot(opened, "L-2", 2.0), move(opened, 3.0, ("lot", 1), OUTSIDE, "sold")))
    with read_book(book) as opened:
        assert [row["code"] for row in opened.rows("SELECT code FROM lots")] == ["L-1"]
    assert verify(book).fault == ""


@pytest.mark.parametrize("table", [*TABLES, "chain"])
def test_no_program_changes_or_deletes_a_row(book: Path, table: str) -> None:
    write(book, lambda opened: lot(opened, "L-1", 1.0))
    with sqlite3.connect(book) as connection:
        held = {name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")}
    assert {f"{table}_never_changed", f"{table}_never_deleted"} <= held


def test_a_changed_row_is_refused_by_the_file_itself(book: Path) -> None:
    write(book, lambda opened: lot(opened, "L-1", 1.0))
    with sqlite3.connect(book) as connection, pytest.raises(sqlite3.IntegrityError, match="a correction is a new row"):
        connection.execute("UPDATE movement SET kg = 2.0")


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        ("UPDATE movement SET kg = 0.9 WHERE id = 2", "row 2 of movement was altered, or its link was"),
        ("DELETE FROM lot_description WHERE id = 1", "row 1 of lot_description is missing"),
        ("DELETE FROM chain WHERE id = 3", "link 3 of the chain is missing"),
        ("INSERT INTO lot (code, utc_ms, who, sent_from) VALUES ('L-9', 0, '', '')", "row 3 of lot was added without"),
        ("UPDATE chain SET table_name = 'sqlite_master' WHERE id = 2", "link 2 names the table 'sqlite_master'"),
    ],
)
def test_what_was_altered_behind_our_back_is_named(book: Path, change: str, fault: str) -> None:
    write(book, lambda opened: (lot(opened, "L-1", 1.0), lot(opened, "L-2", 2.0)))
    assert verify(book).fault == ""
    with sqlite3.connect(book) as connection:
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute(change)
    assert verify(book).fault.startswith(fault)


def test_a_mended_movement_counts_with_its_new_mass_and_one_taken_back_no_more(book: Path) -> None:
    def change(opened: Book) -> None:
        lot_id = lot(opened, "L-1", 10.0)
        first = move(opened, 4.0, ("lot", lot_id), OUTSIDE, "sold")
        second = mend(opened, first, 3.0, "read the scale wrongly")
        assert left_kg(opened, ("lot", lot_id)) == 7.0
        with pytest.raises(InputRefused, match="was not replaced yet"):
            mend(opened, first, 2.0, "again")
        mend(opened, second, None, "never left")
        assert left_kg(opened, ("lot", lot_id)) == 10.0

    write(book, change)
    assert verify(book).fault == ""


MOVES = st.lists(
    st.tuples(st.integers(0, 4), st.integers(0, 4), st.floats(0.001, 5.0), st.integers(0, 20)), min_size=1, max_size=25
)


@settings(max_examples=10)
@given(MOVES)
def test_mass_is_never_made(tmp_path_factory: pytest.TempPathFactory, moves: list[tuple[int, int, float, int]]) -> None:
    """Whatever is moved, mended or taken back: no holder holds less than nothing, and all together what came in."""
    path = tmp_path_factory.mktemp("mass") / "book.db"

    def all_of_it(opened: Book) -> None:
        holders = [OUTSIDE, *(("lot", lot(opened, f"L-{n}", 2.0)) for n in range(4))]
        for source, to, kg, mended in moves:
            try:
                if mended > 12:
                    mend(opened, mended - 12, kg if mended % 2 else None, "")
                elif source != to:
                    move(opened, kg, holders[source], holders[to], "correction")
            except InputRefused:
                pass
            held = [left_kg(opened, holder) for holder in holders[1:]]
            (came,) = opened.raw("SELECT coalesce(sum(kg), 0) FROM moves WHERE from_kind = 'outside'")[0]
            (went,) = opened.raw("SELECT coalesce(sum(kg), 0) FROM moves WHERE to_kind = 'outside'")[0]
            assert min(held) >= 0.0
            assert sum(held) == pytest.approx(came - went, abs=0.0021)

    write(path, all_of_it)
    assert verify(path).fault == ""


def test_every_flipped_bit_in_a_row_is_named_or_the_file_is_refused(book: Path, tmp_path: Path) -> None:
    """Ten flips at seeded places of the pages; a place that holds nothing changes nothing."""
    write(book, lambda opened: [lot(opened, f"L-{n}", 1.0) for n in range(1, 30)])
    whole, random = book.read_bytes(), Random(7)
    with read_book(book) as opened:
        true = [tuple(row) for table in TABLES for row in opened.raw(f"SELECT * FROM {table}")]
    for _ in range(10):
        flipped = bytearray(whole)
        flipped[random.randrange(4096, len(whole))] ^= 1 << random.randrange(8)
        copy = tmp_path / "flipped.db"
        copy.write_bytes(flipped)
        try:
            fault = verify(copy).fault
            with read_book(copy) as opened:
                now = [tuple(row) for table in TABLES for row in opened.raw(f"SELECT * FROM {table}")]
        except InputRefused:
            continue
        assert fault or now == true
