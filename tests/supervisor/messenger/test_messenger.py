"""The messenger's turn: what it reports, what waits while nobody takes it, and what it writes down."""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from supervisor.firing.reach import code_digest
from supervisor.link.client import Answer, LinkSilent
from supervisor.messenger.decide import Message
from supervisor.messenger.messenger import Messenger
from tests.end_to_end.sink import SECRET, write_alerts
from tests.supervisor.messenger.saying import COLD, FIRING, TRIPPED, UTC_MS
from tests.web.snapshot_parts import made

ADDRESS = f"json://{SECRET}.example/ada"


@dataclass
class Carried:
    """An attempt that ends as the desk says."""

    end: tuple[bool, str]

    def result(self) -> tuple[bool, str]:
        return self.end

    def give_up(self) -> None:
        """It has ended."""


@dataclass
class Desk:
    """A messenger in virtual time: what it hears, what it sends, and what it reports are in a test's hands."""

    data: Path
    now_s: float = 1000.0
    spoke_s: float = 1000.0
    snapshot: dict[str, Any] | None = None
    takes_reports: bool = True
    end: tuple[bool, str] = (True, "")
    reports: list[Mapping[str, Any]] = field(default_factory=list)
    letters: list[Message] = field(default_factory=list)
    said: list[str] = field(default_factory=list)
    messenger: Messenger = field(init=False)

    def __post_init__(self) -> None:
        self.begin()

    def begin(self) -> None:
        self.messenger = Messenger(
            self.data, self, self, self.said.append,
            now_s=lambda: self.now_s, utc_ms=lambda: UTC_MS, carry=self.carry,
        )  # fmt: skip

    @property
    def heard(self) -> tuple[dict[str, Any] | None, float]:
        return self.snapshot, self.now_s - self.spoke_s

    def close(self) -> None:
        """It is an ear too."""

    def send(self, message: Mapping[str, Any]) -> Answer:
        if not self.takes_reports:
            raise LinkSilent("nobody is there")
        self.reports.append(message)
        return Answer("id", True, "Known.", 1)

    def carry(self, address: str, message: Message) -> Carried:
        assert SECRET in address
        self.letters.append(message)
        return Carried(self.end)

    def run(self, snapshot: dict[str, Any] | None, seconds: float) -> None:
        for _ in range(round(seconds * 4)):
            self.now_s += 0.25
            if snapshot is not None:
                self.snapshot, self.spoke_s = snapshot, self.now_s
            self.messenger.turn()

    def reported(self, what: str) -> list[Mapping[str, Any]]:
        return [report for report in self.reports if report["what"] == what]


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    write_alerts(tmp_path, ("Ada", "first", [ADDRESS]))
    return Desk(tmp_path)


def wanting_a_test(number: int = 1) -> dict[str, Any]:
    known = {"name": "Ada", "order": "first", "test": number}
    return made(COLD, reach={**COLD["reach"], "contacts": [known]})


def test_contacts_are_reported_at_once_and_every_thirty_seconds_with_masked_addresses(desk: Desk) -> None:
    desk.run(COLD, 65.0)
    reports = desk.reported("contacts")
    assert len(reports) == 3
    assert re.fullmatch(r"json://… \([0-9a-f]{4}\)", reports[0]["contacts"][0]["addresses"][0])
    assert SECRET not in json.dumps(reports)


def test_another_run_of_the_supervisor_is_told_at_once(desk: Desk) -> None:
    desk.run(COLD, 5.0)
    desk.run(made(COLD, run="r2"), 1.0)
    assert len(desk.reported("contacts")) == 2


def test_a_changed_file_is_read_and_reported_within_seconds(desk: Desk) -> None:
    desk.run(COLD, 5.0)
    write_alerts(desk.data, ("Ada", "first", [ADDRESS]), ("Ben", "second", [ADDRESS]))
    desk.run(COLD, 3.0)
    assert [each["name"] for each in desk.reports[-1]["contacts"]] == ["Ada", "Ben"]


def test_a_file_that_cannot_be_used_is_reported_in_its_sentence_and_nobody_is_told(desk: Desk) -> None:
    write_alerts(desk.data, ("Ada", "third", [ADDRESS]))
    desk.run(COLD, 5.0)
    assert 'contact[1].order is "third"' in desk.reports[-1]["note"]
    desk.run(TRIPPED, 5.0)
    assert desk.letters == []
    assert any("nobody: no first contact" in line for line in desk.said)


def test_a_file_that_is_spoilt_while_it_is_changed_keeps_nobody_known_from_being_told(desk: Desk) -> None:
    desk.run(COLD, 5.0)
    write_alerts(desk.data, ("Ada", "third", [ADDRESS]))
    desk.run(COLD, 5.0)
    assert 'contact[1].order is "third"' in desk.reports[-1]["note"]
    desk.run(TRIPPED, 5.0)
    assert len(desk.letters) == 1


def test_a_message_on_its_way_outlives_a_file_that_is_spoilt_as_the_messenger_begins_anew(desk: Desk) -> None:
    desk.end = (False, "no network")
    desk.run(COLD, 5.0)
    desk.run(TRIPPED, 2.0)
    desk.messenger.close()
    write_alerts(desk.data, ("Ada", "third", [ADDRESS]))
    desk.end, before = (True, ""), len(desk.letters)
    desk.begin()
    desk.run(TRIPPED, 10.0)
    assert len(desk.letters) == before
    write_alerts(desk.data, ("Ada", "first", [ADDRESS]))
    desk.run(TRIPPED, 10.0)
    assert len(desk.letters) == before + 1


def test_a_test_carries_a_code_of_which_only_the_digest_is_reported(desk: Desk) -> None:
    desk.run(COLD, 3.0)
    desk.run(wanting_a_test(), 3.0)
    (letter,) = desk.letters
    code = re.search(r"sent it: ([2-9A-Z]{6})\n", letter.body)
    assert code is not None
    (report,) = desk.reported("tested")
    assert (report["code"], report["note"]) == (code_digest(code[1]), "")
    assert code[1] not in "\n".join(desk.said) + (desk.data / "messenger/told.json").read_text()


def test_a_test_that_no_address_took_is_reported_without_a_code_and_tried_once(desk: Desk) -> None:
    desk.end = (False, "nobody is there")
    desk.run(COLD, 3.0)
    desk.run(wanting_a_test(), 120.0)
    assert len(desk.letters) == 1
    (report,) = desk.reported("tested")
    assert report["code"] == ""
    assert report["note"].endswith("nobody is there")


def test_the_next_test_is_another_code(desk: Desk) -> None:
    desk.run(COLD, 3.0)
    desk.run(wanting_a_test(1), 3.0)
    desk.run(wanting_a_test(2), 3.0)
    assert len({letter.body for letter in desk.letters}) == 2


def test_what_became_of_an_alarm_waits_until_the_supervisor_takes_it(desk: Desk) -> None:
    desk.run(FIRING, 5.0)
    desk.takes_reports = False
    desk.run(TRIPPED, 5.0)
    assert desk.reported("delivered") == []
    desk.takes_reports = True
    desk.run(TRIPPED, 2.0)
    assert len(desk.reported("delivered")) == 1


def test_an_alarm_that_nobody_takes_is_reported_as_not_delivered_after_the_last_try(desk: Desk) -> None:
    desk.end = (False, "nobody is there")
    desk.run(FIRING, 5.0)
    desk.run(TRIPPED, 60.0)
    assert desk.reported("not delivered") == []
    desk.run(TRIPPED, 40.0)
    assert len(desk.reported("not delivered")) == 1
    assert len(desk.letters) == 4


def test_what_was_not_delivered_yet_goes_on_with_the_next_run_and_what_was_is_not_sent_again(desk: Desk) -> None:
    desk.end = (False, "nobody is there")
    desk.run(FIRING, 5.0)
    desk.run(TRIPPED, 8.0)
    desk.messenger.close()
    desk.end = (True, "")
    desk.letters.clear()
    desk.begin()
    desk.run(TRIPPED, 60.0)
    assert len(desk.letters) == 1
    desk.messenger.close()
    desk.begin()
    desk.run(TRIPPED, 60.0)
    assert len(desk.letters) == 1


def test_its_own_file_is_for_its_own_eyes_and_holds_no_address(desk: Desk) -> None:
    desk.run(FIRING, 5.0)
    desk.run(TRIPPED, 5.0)
    file = desk.data / "messenger/told.json"
    assert file.stat().st_mode & 0o077 == 0
    assert file.parent.stat().st_mode & 0o077 == 0
    assert SECRET not in file.read_text()
    assert not file.with_suffix(".new").exists()


def test_a_disk_that_takes_nothing_keeps_nobody_from_being_told(desk: Desk) -> None:
    desk.run(FIRING, 5.0)
    (desk.data / "messenger/told.new").mkdir()
    desk.run(TRIPPED, 5.0)
    assert len(desk.letters) == 1
    assert any("cannot be written down" in line for line in desk.said)


@pytest.mark.parametrize("damage", ["", "{", "[]", '{"memory": {}, "jobs": [], "salt": ""}', "\x00"])
def test_a_damaged_file_of_its_own_is_a_fresh_start(desk: Desk, damage: str) -> None:
    desk.run(FIRING, 5.0)
    (desk.data / "messenger/told.json").write_text(damage)
    desk.begin()
    desk.run(TRIPPED, 5.0)
    assert len(desk.letters) == 1


def test_quiet_keeps_news_away_and_never_an_alarm(desk: Desk) -> None:
    text = (desk.data / "alerts.toml").read_text()
    (desk.data / "alerts.toml").write_text(text.replace('order = "first"', 'order = "first"\nquiet = [2, 3]'))
    desk.run(FIRING, 5.0)
    desk.run(made(FIRING, metal={"ready": True, "doubt": ""}), 5.0)
    assert desk.letters == []
    desk.run(TRIPPED, 5.0)
    assert len(desk.letters) == 1
