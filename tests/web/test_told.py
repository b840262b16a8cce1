"""Who is told outside, as the page Settings and the start screen have it, and that a silent supervisor looks silent."""

import threading
from typing import Any

import pytest

from supervisor.firing import commands as c
from tests.web.conftest import Browser, Clock
from tests.web.looking import look, said
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import contact, made
from tests.web.snapshots import HEATING, IDLE, STOPPED

WHEN_MS = 1_789_000_000_000


def reach(*contacts: dict[str, Any], nobody_told: str = "", **changes: Any) -> dict[str, Any]:
    return {
        **STOPPED["reach"],
        "messenger_alive": True,
        "contacts": list(contacts),
        "nobody_told": nobody_told,
        "why_not": nobody_told,
        **changes,
    }


def settings(phone: Browser, furnace: Scripted, told: dict[str, Any]) -> str:
    furnace.show(STOPPED, reach=told)
    return str(phone.get("/settings").text)


def test_settings_show_each_contact_with_proof_failure_and_masked_address(phone: Browser, furnace: Scripted) -> None:
    ada = contact("Ada", confirmed=True, confirmed_utc_ms=WHEN_MS)
    ben = contact(
        "Ben", order="second", quiet=[3], failed_utc_ms=WHEN_MS, failed="mqtt://… (77aa): no answer", code_waits=True
    )
    page = said(settings(phone, furnace, reach(ada, ben, nobody_told="The last message to Ben did not go through.")))
    assert "Ada, first contacttest message confirmed" in page
    assert "mailtos://… (4be1)" in page
    assert "Ben, second contactno test message confirmed" in page
    assert "not told of priority 3" in page
    assert "mqtt://… (77aa): no answer" in page
    assert "its code has not been read back" in page
    assert "Nobody may go away from a firing. The last message to Ben did not go through." in page
    assert "A message may not arrive" in page


def test_settings_say_where_contacts_are_written_when_there_are_none(phone: Browser, furnace: Scripted) -> None:
    page = said(settings(phone, furnace, reach(nobody_told="No first contact is named.")))
    assert "alerts.toml of the data directory" in page


def test_an_old_proof_is_said_not_to_count(phone: Browser, furnace: Scripted) -> None:
    page = said(settings(phone, furnace, reach(contact("Ada", confirmed_utc_ms=WHEN_MS))))
    assert "does not count any more" in page


def test_a_code_is_asked_for_only_when_a_test_waits_for_it(phone: Browser, furnace: Scripted) -> None:
    assert 'name="code"' not in settings(phone, furnace, reach(contact("Ada")))
    assert 'name="code"' in settings(phone, furnace, reach(contact("Ada", code_waits=True)))


def test_a_test_is_asked_of_the_supervisor_and_its_end_is_awaited(phone: Browser, furnace: Scripted) -> None:
    furnace.show(STOPPED, reach=reach(contact("Ada", tested=4)))
    answered = threading.Event()

    def answers() -> None:
        furnace.show(STOPPED, reach=reach(contact("Ada", tested=5, code_waits=True)))
        answered.set()

    furnace.on_command = answers
    answer = phone.post("/settings/test", data={"contact": "Ada"})
    assert answered.wait(20.0)
    assert (answer.status_code, answer.location) == (303, "/settings#told")
    asked = furnace.asked[-1]
    assert isinstance(asked, c.Told)
    assert (asked.what, asked.contact, asked.by.who) == (c.Telling.TEST, "Ada", "Ada’s phone")


def test_a_test_that_no_address_took_is_said(phone: Browser, furnace: Scripted) -> None:
    furnace.show(STOPPED, reach=reach(contact("Ada", tested=4)))
    furnace.on_command = lambda: furnace.show(STOPPED, reach=reach(contact("Ada", tested=5)))
    answer = phone.post("/settings/test", data={"contact": "Ada"})
    assert answer.status_code == 400
    assert "The test to Ada was not delivered." in answer.text


def test_a_refused_test_is_said_in_the_supervisors_words(phone: Browser, furnace: Scripted) -> None:
    furnace.answer = (False, "The messenger does not run: nothing can be sent.")
    answer = phone.post("/settings/test", data={"contact": "Ada"})
    assert answer.status_code == 400
    assert "The messenger does not run: nothing can be sent." in answer.text


def test_a_code_goes_to_the_supervisor_as_it_was_typed(phone: Browser, furnace: Scripted) -> None:
    assert phone.post("/settings/confirm", data={"code": " 2a3-b4c "}).status_code == 303
    asked = furnace.asked[-1]
    assert isinstance(asked, c.Told)
    assert (asked.what, asked.code) == (c.Telling.CONFIRMED, "2a3-b4c")


@pytest.mark.parametrize("path", ["/settings/test", "/settings/confirm", "/heard"])
def test_a_phone_that_is_not_paired_tells_nothing(stranger: Browser, furnace: Scripted, path: str) -> None:
    assert stranger.post(path, data={"contact": "Ada", "code": "2A3B4C"}).status_code == 403
    assert furnace.asked == []


def test_the_start_screen_names_what_keeps_people_from_being_told(phone: Browser, furnace: Scripted) -> None:
    why = "The last message to Ben did not go through. Send a test message."
    page = said(look(phone, furnace, IDLE, reach=reach(contact("Ben"), nobody_told=why)))
    assert f"Stay throughout. {why}" in page
    assert 'action="/start"' in look(phone, furnace, IDLE, reach=reach(contact("Ben"), nobody_told=why))


def test_the_start_screen_names_who_is_told_and_promises_nothing(phone: Browser, furnace: Scripted) -> None:
    page = said(look(phone, furnace, IDLE, reach=reach(contact("Ada"), contact("Ben"))))
    assert "Ada, Ben, as far as a test message proved it. A message may still not arrive." in page


def test_lamp_and_sounder_are_asked_for_until_somebody_has_heard_them(phone: Browser, furnace: Scripted) -> None:
    assert 'action="/heard"' in look(phone, furnace, HEATING, reach=reach(contact("Ada"), heard=False))
    assert 'action="/heard"' not in look(phone, furnace, HEATING, reach=reach(contact("Ada"), heard=True))
    assert 'action="/heard"' not in look(phone, furnace, HEATING, reach=reach(contact("Ada"), nobody_told="Nobody."))
    phone.post("/heard")
    asked = furnace.asked[-1]
    assert isinstance(asked, c.Told)
    assert asked.what is c.Telling.HEARD


def test_a_supervisor_that_is_silent_for_ten_seconds_is_announced_on_every_page(
    phone: Browser, furnace: Scripted, time: Clock
) -> None:
    furnace.show(HEATING)
    furnace.turning = False
    time.ahead_s = 10.5
    now = said(phone.get("/").text)
    assert "This page is old. The furnace last spoke at" in now
    assert "Whether it heats is not known here." in now
    assert "Walk to the furnace and look." in now
    assert "does not answer: go and look" in said(phone.get("/melts").text)


def test_a_supervisor_that_was_started_again_is_told_to_whoever_comes_back(phone: Browser, furnace: Scripted) -> None:
    furnace.show(HEATING)
    before = phone.get("/live.json").json["live"]["id"]
    furnace.show(made(STOPPED, run="r2"))
    happened = phone.get(f"/live.json?after={before}").json["away"]["happened"]
    assert "The supervisor was started anew." in [sentence for _, sentence in happened]
