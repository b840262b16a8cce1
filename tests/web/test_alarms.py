"""Alarms on the page, as they come from the server: what a frightened person reads first, and what the levers send."""

import pytest

from supervisor.firing.commands import Acknowledge, Shelve, Silence, Unshelve
from tests.web.conftest import Browser
from tests.web.looking import JSON, look, offered, said
from tests.web.scripted import Scripted
from tests.web.snapshots import HEATING
from tests.web.snapshots_trouble import HELD_BY_LOG, TRIPPED, alarm, follower


def test_the_cause_the_proof_and_the_act_with_its_time_stand_in_front(phone: Browser, furnace: Scripted) -> None:
    page = said(look(phone, furnace, TRIPPED))
    order = [
        "Do this within 10 min",
        "Switch off at the wall, then look at the sensor plug.",
        "The sensor wire broke.",
        "Off, proved.",
        "What spoke",
    ]
    page = page[page.index(order[0]) :]  # the headline stands above
    places = [page.index(words) for words in order]
    assert places == sorted(places)


def test_what_only_followed_is_folded_and_counts_for_nobody(phone: Browser, furnace: Scripted) -> None:
    html = look(phone, furnace, TRIPPED)
    page = said(html)
    assert "2 alarms" in page
    assert "1 more followed from it" in page
    folded = html[html.index('id="followed"') :]
    assert "The over-temperature limiter opened" in folded[: folded.index("</details>")]


def test_the_more_urgent_follower_stands_before_the_first_cause(phone: Browser, furnace: Scripted) -> None:
    away = alarm(
        "contactor-stuck",
        first_out=False,
        group="sensor-open/1",
        act="Keep away. Switch off at the breaker now.",
        act_within_s=60.0,
        act_left_s=55.0,
    )
    page = said(look(phone, furnace, TRIPPED, alarms=[alarm("sensor-open"), away]))
    assert "Do this now" in page
    assert page.index("Keep away.") < page.index("Switch off at the wall")
    assert "first cause" in page


@pytest.mark.parametrize(
    ("heat", "words"),
    [
        ({"allowed": False, "off": "ordered", "sentence": "Off was ordered, not proved yet."}, "ordered, not proved"),
        ({"allowed": True, "off": None, "sentence": "Heat is allowed."}, "Heat is not off."),
    ],
)
def test_off_is_never_said_beside_an_alarm_before_it_is_proved(
    phone: Browser, furnace: Scripted, heat: dict[str, object], words: str
) -> None:
    page = said(look(phone, furnace, TRIPPED, heat=heat))
    assert words in page
    assert "Off, proved" not in page


def test_time_to_act_runs_out_in_words(phone: Browser, furnace: Scripted) -> None:
    page = said(look(phone, furnace, TRIPPED, alarms=[alarm("sensor-open", act_left_s=130.0)]))
    assert "Do this within 3 min" in page
    page = said(look(phone, furnace, TRIPPED, epoch=99, alarms=[alarm("sensor-open", act_left_s=0.0)]))
    assert "Do this now" in page
    advice = alarm("mass-doubted", priority=3, act_within_s=3600.0, act_left_s=3000.0, latched=False)
    assert "Do this in this melt" in said(look(phone, furnace, HEATING, alarms=[advice]))


def test_only_what_may_be_shelved_offers_it(phone: Browser, furnace: Scripted) -> None:
    assert "shelve" not in offered(look(phone, furnace, TRIPPED))
    page = look(phone, furnace, HELD_BY_LOG)
    assert "shelve" in offered(page)
    assert 'value="log-behind/1"' in page
    assert 'value="30"' in page
    assert "What it asks of the furnace goes on" in said(page)


def test_what_is_on_the_shelf_is_listed_with_the_time_it_has(phone: Browser, furnace: Scripted) -> None:
    shelf = {
        "watch": "log-behind",
        "sentence": "The log cannot be written.",
        "reason": "a new card is on its way",
        "who": "Ada’s phone",
        "left_s": 270.0,
        "stands": True,
    }
    page = look(phone, furnace, HEATING, shelved=[shelf])
    assert "5 min" in said(page)
    assert "Ada’s phone: a new card is on its way" in said(page)
    assert "unshelve" not in offered(page)
    commands = [{**row, "allowed": row["allowed"] or row["name"] == "unshelve"} for row in HEATING["commands"]]
    assert "unshelve" in offered(look(phone, furnace, HEATING, epoch=98, shelved=[shelf], commands=commands))


def test_the_levers_send_what_they_say(phone: Browser, furnace: Scripted) -> None:
    look(phone, furnace, HELD_BY_LOG)
    phone.post("/acknowledge", headers=JSON)
    phone.post("/silence", headers=JSON)
    phone.post("/shelve", data={"alarm": "log-behind/1", "minutes": "10", "reason": "known"}, headers=JSON)
    phone.post("/unshelve", data={"alarm": "log-behind"}, headers=JSON)
    seen, quiet, shelf, back = furnace.asked[-4:]
    assert isinstance(seen, Acknowledge)
    assert isinstance(quiet, Silence)
    assert isinstance(shelf, Shelve)
    assert (shelf.alarm, shelf.minutes, shelf.reason) == ("log-behind/1", 10.0, "known")
    assert isinstance(back, Unshelve)
    assert back.alarm == "log-behind"


@pytest.mark.parametrize(
    ("form", "says"),
    [
        ({"alarm": "log-behind/1", "minutes": "10", "reason": " "}, "why is empty"),
        ({"alarm": "log-behind/1", "minutes": "nan", "reason": "x"}, "minutes is 'nan'"),
        ({"alarm": "log-behind/1", "minutes": "31", "reason": "x"}, "minutes is 31"),
    ],
)
def test_a_shelf_without_reason_or_with_too_long_a_time_is_refused_by_name(
    phone: Browser, furnace: Scripted, form: dict[str, str], says: str
) -> None:
    look(phone, furnace, HELD_BY_LOG)
    before = len(furnace.asked)
    answer = phone.post("/shelve", data=form, headers=JSON).json
    assert answer["answer"] == "refused"
    assert says in answer["sentence"]
    assert len(furnace.asked) == before


def test_a_stranger_shelves_and_silences_nothing(stranger: Browser, furnace: Scripted) -> None:
    stranger.post("/first")
    page = look(stranger, furnace, HELD_BY_LOG)
    assert offered(page) <= {"stop", "lower"}
    assert stranger.post("/silence").status_code in (302, 303, 403)
    assert not [asked for asked in furnace.asked if isinstance(asked, Silence)]


def test_a_follower_whose_leader_is_gone_stands_for_itself(phone: Browser, furnace: Scripted) -> None:
    page = said(
        look(phone, furnace, TRIPPED, alarms=[follower("limiter", "sensor-open", sentence="The limiter opened.")])
    )
    assert "Do this" in page
    assert "more followed" not in page
