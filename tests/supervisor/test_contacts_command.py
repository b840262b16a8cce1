"""`meltkeeper contacts`: what it shows of those who are told, and how a test message is sent and confirmed."""

import json
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from supervisor.cli import main
from supervisor.firing import commands as c
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import BEN, contact
from tests.web.snapshots import STOPPED

WHEN_MS = 1_789_000_000_000


@pytest.fixture
def data() -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as place:  # short: a socket's path has 107 bytes
        yield Path(place)


@pytest.fixture
def furnace(data: Path) -> Iterator[Scripted]:
    scripted = Scripted(data)
    yield scripted
    scripted.close()


def run(data: Path, *arguments: str) -> Result:
    return CliRunner().invoke(main, ["contacts", *arguments, "--data", str(data)])


def test_show_says_of_each_contact_what_was_proved_and_what_failed(data: Path, furnace: Scripted) -> None:
    ada = contact("Ada", confirmed=True, confirmed_utc_ms=WHEN_MS)
    furnace.show(STOPPED, reach={**STOPPED["reach"], "contacts": [ada, BEN]})
    shown = run(data, "show")
    assert shown.exit_code == 0
    assert "Ada, first contact: confirmed a test message on 2026-09-1" in shown.output
    assert "Ben, second contact: never confirmed a test message; not told of priority 3" in shown.output
    assert "  mailtos://… (77aa)" in shown.output
    assert "Not delivered on 2026-09-0" in shown.output
    assert "its code has not been read back" in shown.output
    assert "Stay at the furnace while it fires: Ben has not confirmed" in shown.output


def test_show_as_json_is_the_part_of_the_snapshot(data: Path, furnace: Scripted) -> None:
    shown = run(data, "show", "--json")
    assert json.loads(shown.output) == STOPPED["reach"]


def test_show_of_a_file_that_cannot_be_used_is_its_sentence(data: Path, furnace: Scripted) -> None:
    trouble = "alerts.toml: no contact has order first; allowed: at least one."
    furnace.show(STOPPED, reach={**STOPPED["reach"], "contacts": [], "trouble": trouble})
    shown = run(data, "show")
    assert shown.exit_code == 2
    assert trouble in shown.output


def test_show_without_a_messenger_says_that_nothing_is_known(data: Path, furnace: Scripted) -> None:
    furnace.show(STOPPED, reach={**STOPPED["reach"], "contacts": [], "messenger_alive": False})
    assert "The messenger does not run" in run(data, "show").output


def test_a_test_waits_for_what_became_of_it(data: Path, furnace: Scripted) -> None:
    sent = contact("Ada", tested=1, code_waits=True)
    furnace.on_command = lambda: furnace.show(STOPPED, reach={**STOPPED["reach"], "contacts": [sent]})
    tested = run(data, "test", "Ada")
    assert (tested.exit_code, "Ask Ada for the code" in tested.output) == (0, True)
    asked = furnace.asked[-1]
    assert isinstance(asked, c.Told)
    assert (asked.what, asked.contact) == (c.Telling.TEST, "Ada")


def test_a_test_that_was_not_delivered_has_an_exit_status_of_its_own(data: Path, furnace: Scripted) -> None:
    failed = contact("Ada", tested=1, failed_utc_ms=WHEN_MS, failed="mailtos://… (4be1): no answer")
    furnace.on_command = lambda: furnace.show(STOPPED, reach={**STOPPED["reach"], "contacts": [failed]})
    tested = run(data, "test", "Ada")
    assert tested.exit_code == 3
    assert "Not delivered to Ada: mailtos://… (4be1): no answer" in tested.output


def test_a_test_of_somebody_unknown_names_those_who_are_known(data: Path, furnace: Scripted) -> None:
    tested = run(data, "test", "Cy")
    assert tested.exit_code == 2
    assert "NAME is 'Cy'; allowed: Ada, Ben." in tested.output


def test_a_code_is_confirmed_or_refused_in_the_supervisors_words(data: Path, furnace: Scripted) -> None:
    furnace.answer = (True, "Ada has confirmed a test message.")
    assert run(data, "confirm", "2A3B4C").output == "Ada has confirmed a test message.\n"
    furnace.answer = (False, "No test message of the last day carries this code. Send another one.")
    refused = run(data, "confirm", "2A3B4C")
    assert refused.exit_code == 2
    assert "No test message" in refused.output


@pytest.mark.parametrize("arguments", [["show"], ["test", "Ada"], ["confirm", "2A3B4C"]])
def test_without_a_supervisor_the_exit_status_is_four(data: Path, arguments: list[str]) -> None:
    assert run(data, *arguments).exit_code == 4
