"""The invented shop: its book holds together, its accident ends as it must, and no other directory is touched."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from hardware.clock import utc_ms
from supervisor.book import closing, ingots, pot, quarantine, tree
from supervisor.book.plans import Entry, keep, reckoned
from supervisor.book.verifying import verify
from supervisor.book.writing import FILE_NAME, Book, open_book, read_book
from supervisor.cli import main
from supervisor.example import fill, mark, telling
from supervisor.example import fire as fired
from supervisor.example.fire import Order
from supervisor.example.shop import STORIES
from supervisor.logbook.reading import open_log
from supervisor.metal.descent import Holder

PROFILE = Path("docs/examples/ingots-fast.toml")
REACHED = {"L-8", "A-094", *(f"A-094/{n}" for n in range(1, 5)), "A-095", *(f"A-095/{n}" for n in range(1, 5)), "L-10"}
"""Three generations: bar ends, the melt that they went into, a bar of it in the next melt, what came back of that."""


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[Order]]:
    place = tmp_path_factory.mktemp("shop")
    return place, fill.tell_the_book(place, fill.shop(PROFILE), utc_ms())


def test_the_whole_story_is_written_through_the_book_that_everybody_uses(told: tuple[Path, list[Order]]) -> None:
    place, orders = told
    assert [order.heat_number for order in orders] == [story.heat_number for story in STORIES]
    assert [order.firing_id for order in orders] == list(range(87, 97))
    assert len(STORIES) == mark.MELTS
    assert orders[4].planned.charge.mass_kg == orders[3].planned.charge.mass_kg  # the charge that stayed in the pot
    assert verify(place / FILE_NAME).fault == ""
    with read_book(place / FILE_NAME) as book:
        for story in STORIES:
            cast = [each.cast_kg for each in ingots.ingots(book) if each.heat_number == story.heat_number]
            assert tuple(cast) == story.ingots_kg
        rows = book.rows(
            "SELECT utc_ms FROM chain JOIN melt ON table_name = 'melt' AND row_id = melt.id ORDER BY chain.id"
        )
    assert [row["utc_ms"] for row in rows] == sorted(row["utc_ms"] for row in rows)


def test_what_the_bad_lot_reached_is_named_to_the_last_child_and_none_is_charged(
    told: tuple[Path, list[Order]],
) -> None:
    place, _ = told
    here = fill.shop(PROFILE)
    with open_book(place / FILE_NAME, who="Ada", sent_from="page", utc_ms=utc_ms()) as book:
        held = quarantine.state(book)
        assert {held.names[holder] for holder in held.reached} == REACHED
        assert all(held.why(holder) for holder in held.reached)
        for name in sorted(REACHED):
            holder = tree.named(book, name)
            if holder.kind == "melt" or not _left(book, holder):
                continue
            kept = keep(book, [Entry(holder, 0.1)], profile=telling.PROFILE, answers={"air": "dry"})
            planned = reckoned(book, kept, here.furnace.pot, here.heating, book.utc_ms)
            assert [each.name for each in planned.blocking if each.name == "Quarantine"] == ["Quarantine"], name


def _left(book: Book, holder: Holder) -> float:
    if holder.kind == "ingot":
        return ingots.ingot_of(book, holder.id).left_kg
    row = book.one("SELECT kg FROM lots WHERE id = ?", holder.id)
    return 0.0 if row is None else float(row["kg"])


@pytest.fixture(scope="module")
def waited(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[set[str]]]:
    """The example with one melt instead of ten: the one whose thermocouple parts. What was there while it waited."""
    data, only = tmp_path_factory.mktemp("filled") / "shop", (replace(STORIES[3], heat_number="A-087"),)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(mark, "MELTS", 1)
        for module in (fill, fired):
            patch.setattr(module, "STORIES", only)
        mark.begin(data, utc_ms())
        seen = [{each.name for each in data.iterdir()}]
        fill.fill(data, PROFILE, wait=lambda: seen.append({each.name for each in data.iterdir()}))
    return data, seen


@pytest.fixture(scope="module")
def filled(waited: tuple[Path, list[set[str]]]) -> Path:
    """The same, its directory alone."""
    return waited[0]


def test_nothing_is_written_into_the_directory_until_the_page_has_it(waited: tuple[Path, list[set[str]]]) -> None:
    data, seen = waited
    begun, then = seen
    assert then == begun
    assert FILE_NAME in {each.name for each in data.iterdir()} - begun


def test_the_parted_thermocouple_ends_the_heat_within_a_second_and_is_reset(filled: Path) -> None:
    with open_log(filled) as log:
        firing, rows, alarms = log.firing("A-087"), log.samples(87), log.alarms(87)
        assert log.standing_alarms() == []
    (raised,) = [row for row in alarms if row["step"] == "raised"]
    assert raised["watch"] == "sensor-open"
    assert (firing.state, firing.first_cause, firing.clock_confirmed) == ("aborted", "sensor-open", True)
    assert [row["hot_junction_c"] for row in rows if row["hot_junction_c"] is not None][-1] == pytest.approx(
        412.0, abs=2.0
    )
    assert all(row["duty"] == 0.0 for row in rows if row["t_s"] > raised["t_ms"] / 1000.0 + 1.0)


def test_log_and_book_are_whole_and_the_paper_has_nothing_open(filled: Path) -> None:
    marked = mark.read(filled)
    assert marked is not None
    assert marked.whole
    assert verify(filled / FILE_NAME).fault == ""
    with open_log(filled) as log:
        firings = log.firings()
    assert [firing.heat_number for firing in firings] == [f"A-{number:03}" for number in range(87, 0, -1)]
    assert {firing.backend for firing in firings} == {"paper", "simulated"}
    with read_book(filled / FILE_NAME) as book:
        still = {status.melt.heat_number for status in closing.statuses(book, closing.fired(filled)) if status.open}
        assert still == set()
        assert pot.in_the_pot(book) is not None  # the charge stays, whole


def test_a_directory_that_holds_anything_is_refused(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine", encoding="utf-8")
    result = CliRunner().invoke(main, ["example", "--data", str(tmp_path)])
    assert result.exit_code == 2
    assert (
        f"--data is {tmp_path}, which holds notes.txt; allowed: a directory that is empty or not there" in result.output
    )
    assert [each.name for each in tmp_path.iterdir()] == ["notes.txt"]


@pytest.mark.parametrize(("melts", "says"), [(10, "is there already"), (4, "was cut short after 4 of 10 melts")])
def test_an_example_is_not_made_twice_in_one_place(tmp_path: Path, melts: int, says: str) -> None:
    mark.write(tmp_path, mark.Marked(utc_ms(), melts, 10))
    result = CliRunner().invoke(main, ["example", "--data", str(tmp_path)])
    assert result.exit_code == 2
    assert says in result.output


def test_the_directory_is_bound_and_marked_before_anything_is_in_it(tmp_path: Path) -> None:
    data = tmp_path / "shop"
    mark.begin(data, 1_790_000_000_000)
    assert mark.read(data) == mark.Marked(1_790_000_000_000, 0, 10)
    assert json.loads((data / "identity.json").read_text(encoding="utf-8"))["kind"] == "simulated"


def test_a_mark_that_cannot_be_read_is_none(tmp_path: Path) -> None:
    assert mark.read(tmp_path) is None
    (tmp_path / mark.FILE).write_text('{"made_utc_ms": 1}', encoding="utf-8")
    assert mark.read(tmp_path) is None
