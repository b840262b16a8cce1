"""The whole invented shop, as `meltkeeper example` makes it: what the story tells, and no alarm that it does not."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from supervisor.book.closing import fired, statuses
from supervisor.book.writing import read_book
from supervisor.cli import main
from supervisor.example import mark
from supervisor.example.shop import STORIES
from supervisor.logbook.reading import open_log

TOLD = {
    "A-090": ["sensor-open"],  # the thermocouple parts
    "A-093": ["needs-more-power"],  # what hung falls in late: nobody can tell that from a sensor that slips
    "A-095": ["energy-allowance"],  # low mains: what is ordered counts, though less arrives
}
"""The alarms of the story, lids aside. Every one is told once."""


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    data = tmp_path_factory.mktemp("shop") / "data"
    made = CliRunner().invoke(main, ["example", "--data", str(data)])
    assert made.exit_code == 0, made.output
    return data


def test_all_melts_end_as_told_and_no_alarm_is_raised_that_is_not(shop: Path) -> None:
    marked = mark.read(shop)
    assert marked is not None
    assert marked.whole
    with open_log(shop) as log:
        firings = {story.heat_number: log.firing(story.heat_number) for story in STORIES}
        raised = {
            number: [row["watch"] for row in log.alarms(each.id) if row["step"] == "raised"]
            for number, each in firings.items()
        }
    ends = {number: each.state for number, each in firings.items()}
    assert ends == {number: "aborted" if number == "A-090" else "complete" for number in ends}
    assert {number: watches for number, watches in raised.items() if watches} == TOLD


def test_only_the_last_record_is_open(shop: Path) -> None:
    with read_book(shop / "book.db") as book:
        still = [status.melt.heat_number for status in statuses(book, fired(shop)) if status.open]
    assert still == [STORIES[-1].heat_number]
