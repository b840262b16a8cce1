"""The sign that somebody is there, as the page shows it and takes it."""

import re

from supervisor.firing.commands import Attend
from tests.web.conftest import Browser
from tests.web.looking import JSON, look, offered, said
from tests.web.scripted import Scripted
from tests.web.snapshots import HEATING, STOPPED
from tests.web.snapshots_people import PRESS_DUE, SIGN_ASKED, WATCHED


def test_the_headline_says_when_the_next_sign_is_due_and_the_page_counts_down(
    phone: Browser, furnace: Scripted
) -> None:
    page = said(look(phone, furnace, WATCHED))
    assert re.search(r"Next sign by \d\d:\d\d\.", page)
    assert re.search(r"The next sign is due in 2[01] min\.", page)
    assert "3 more taps may come before a press." in page
    assert "attend" not in offered(look(phone, furnace, WATCHED))


def test_where_nothing_is_wanted_nothing_is_said_of_signs(phone: Browser, furnace: Scripted) -> None:
    for snapshot in (STOPPED, HEATING):
        assert "next sign" not in said(look(phone, furnace, snapshot)).lower()


def test_a_tap_on_a_range_is_sent_with_its_task(phone: Browser, furnace: Scripted) -> None:
    page = said(look(phone, furnace, SIGN_ASKED))
    assert "In which of these is the chamber now? Tap it." in page
    assert "246 to 306 °C" in page
    assert re.search(r"Without one it is held at \d\d:\d\d; at \d\d:\d\d heat ends\.", page)
    answer = phone.post("/attend", data={"task": "4", "choice": "1"}, headers=JSON)
    assert answer.json["answer"] == "accepted"
    (command,) = furnace.asked
    assert isinstance(command, Attend)
    assert (command.task, command.choice) == (4, 1)
    assert command.by.where.startswith("page")


def test_a_tap_that_is_no_number_is_refused_before_it_is_sent(phone: Browser, furnace: Scripted) -> None:
    look(phone, furnace, SIGN_ASKED)
    answer = phone.post("/attend", data={"task": "4", "choice": "the middle one"}, headers=JSON)
    assert answer.json["answer"] == "refused"
    assert not furnace.asked


def test_where_only_a_press_counts_the_page_says_so_and_why(phone: Browser, furnace: Scripted) -> None:
    page = said(look(phone, furnace, PRESS_DUE))
    assert "Only a press at the furnace counts now." in page
    assert "as often in a row as it may" in page
    assert re.search(r"due 5\d s ago", page)  # a busy machine is some seconds late
    assert "attend" not in offered(look(phone, furnace, PRESS_DUE))


def test_a_phone_that_nobody_paired_is_not_asked(stranger: Browser, furnace: Scripted) -> None:
    stranger.post("/first")
    page = said(look(stranger, furnace, SIGN_ASKED))
    assert "246 to 306" not in page
    assert "This phone is not paired to run: it cannot answer." in page


def test_an_old_page_asks_for_no_sign(phone: Browser, furnace: Scripted) -> None:
    page = look(phone, furnace, SIGN_ASKED)
    assert re.search(r'data-region="signs" data-promise', page)
