"""Furnace now, as it comes from the server: what it shows in each state, and what its forms send."""

import re
from pathlib import Path

import pytest

from supervisor.example import mark
from tests.web.conftest import Browser, Clock, pair, parts
from tests.web.looking import JSON, look, offered, said
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import made
from tests.web.snapshots import GATE, HEATING, IDLE, LIQUID, STARTING, STOPPED
from tests.web.snapshots_trouble import TRIPPED
from tests.web.states import ALL
from web.app import create_app
from web.config import WebConfig


def test_the_first_number_is_there_without_any_script(phone: Browser, furnace: Scripted) -> None:
    page = look(phone, furnace, HEATING)
    assert "276<small> °C" in page
    assert "setpoint 283 °C" in page
    assert "Heating, all solid. The gate asks at 545 °C. Nothing melts until you press." in said(page)
    assert '<form class="stopform" method="post" action="/stop">' in page


@pytest.mark.parametrize("state", sorted(ALL))
def test_what_is_offered_is_what_the_snapshot_allows(phone: Browser, furnace: Scripted, state: str) -> None:
    snapshot = ALL[state]
    allowed = {command["name"] for command in snapshot["commands"] if command["allowed"]}
    allowed.discard("told")  # is offered on Settings
    if not any("unacknowledged" in alarm["state"] for alarm in snapshot["alarms"]):
        allowed.discard("acknowledge")  # there is nothing to have seen
    if state in {"stopped", "idle", "tripped", "came back", "pouring"}:
        allowed.discard("lower")  # nothing runs that could be lowered
    assert offered(look(phone, furnace, snapshot)) == allowed


@pytest.mark.parametrize("state", sorted(ALL))
def test_a_stranger_is_offered_stop_and_lower_alone(stranger: Browser, furnace: Scripted, state: str) -> None:
    stranger.post("/first")
    assert offered(look(stranger, furnace, ALL[state])) <= {"stop", "lower"}


def test_metal_that_is_not_followed_is_never_called_ready(phone: Browser, furnace: Scripted) -> None:
    page = said(look(phone, furnace, LIQUID))
    assert "may be liquid; not known" in page
    assert "Chamber at temperature for 12 min. Before anybody looks: heat off, proved." in page
    assert "ready" not in page.lower()
    assert "all solid" not in page.lower()


def test_a_trip_shows_first_cause_acts_and_that_heat_is_proved_off(phone: Browser, furnace: Scripted) -> None:
    page = look(phone, furnace, TRIPPED)
    assert 'aria-live="assertive"' in page
    assert page.index("Switch off at the wall") < page.index("Keep the lid shut")
    assert "– –" in page
    assert "open circuit" in page
    assert "Nothing on this page resets." in page
    assert "Off, proved." in page


def test_off_is_not_said_before_it_is_proved(phone: Browser, furnace: Scripted) -> None:
    heat = {"allowed": False, "off": "ordered", "sentence": "Off was ordered."}
    page = said(look(phone, furnace, TRIPPED, heat=heat))
    assert "Off, proved" not in page
    assert "ordered, not proved yet" in page


def test_an_answer_is_left_out_once_the_furnace_has_changed_since(phone: Browser, furnace: Scripted) -> None:
    furnace.show(IDLE)
    furnace.answer = (True, "Prepared. Nothing heats yet.")
    shown = phone.post("/prepare", data={"profile": "example/ingots-2kg"}).headers["Location"]
    assert "Nothing heats yet." in phone.get(shown).text
    furnace.show(HEATING)
    assert "Nothing heats yet." not in phone.get(shown).text


def test_what_the_page_says_of_a_stop_stays_when_the_stop_is_over(phone: Browser, furnace: Scripted) -> None:
    furnace.show(STOPPED)
    shown = phone.post("/stop").headers["Location"]
    furnace.show(STOPPED, epoch=STOPPED["epoch"] + 1)
    assert "Heat is off, proved." in said(phone.get(shown).text)


def test_conditions_say_what_is_missing_and_what_mends_it(phone: Browser, furnace: Scripted) -> None:
    page = said(look(phone, furnace, STOPPED))
    assert "What heat asks for1 missing" in page
    assert "Profile chosen: missing No profile is chosen. Choose a profile." in page


def test_a_start_reads_back_everything_and_shows_the_cautions(phone: Browser, furnace: Scripted) -> None:
    page = said(look(phone, furnace, IDLE))
    for words in ("Ingots, 2 kg", "2.00 kg of 6082, off-cuts", "A-097", "760 °C", "3 h 30 min", "3.3 kWh"):
        assert words in page
    assert "Water under molten metal throws it" in page
    assert "hold the button at the furnace 3 s" in page


def test_what_the_furnace_asks_is_said_with_the_seconds_left(phone: Browser, furnace: Scripted) -> None:
    page = said(look(phone, furnace, STARTING))
    assert re.search(
        r"Hold the button at the furnace\. It ticks while you hold\. 4\d s left\. A tap here does not count\.", page
    )
    assert "A short press." in said(look(phone, furnace, GATE))


@pytest.mark.parametrize("kind", ["gate", "sign", "mass", "allowance"])  # what is held, ends
def test_no_seconds_are_counted_where_nothing_ends_with_them(phone: Browser, furnace: Scripted, kind: str) -> None:
    page = said(look(phone, furnace, GATE, question={**GATE["question"], "kind": kind}))
    assert "Press the button at the furnace. A short press. A tap here does not count." in page
    assert not re.search(r"\d s left", page)


def test_a_simulated_furnace_is_stamped_so(phone: Browser, furnace: Scripted) -> None:
    assert "SIMULATED, INVENTED" in look(phone, furnace, HEATING)
    real = {**HEATING["furnace"], "backend": "pi", "invented": False}
    assert "SIMULATED" not in look(phone, furnace, made(HEATING, furnace=real))


def test_there_is_no_bench_without_its_socket(phone: Browser, furnace: Scripted) -> None:
    assert "Bench" not in look(phone, furnace, HEATING)
    assert phone.post("/bench", data={"lever": "lid", "to": "open"}).status_code == 404


def test_an_old_page_withdraws_what_it_promised(phone: Browser, furnace: Scripted, time: Clock) -> None:
    look(phone, furnace, GATE)
    furnace.turning = False
    time.ahead_s = 11
    page = phone.get("/").text
    assert 'data-stale="old"' in page
    assert 'data-tone="blind"' in page
    assert "This page is" in page
    assert "Press the button" not in page
    assert offered(page) == {"stop", "lower"}


def test_after_half_a_minute_the_numbers_go(phone: Browser, furnace: Scripted, time: Clock) -> None:
    look(phone, furnace, HEATING)
    furnace.turning = False
    time.ahead_s = 31
    page = phone.get("/").text
    assert "– –" in page
    assert "was 276 °C" in page


def test_a_supervisor_that_repeats_itself_is_silent(phone: Browser, furnace: Scripted) -> None:
    look(phone, furnace, HEATING)
    furnace.turning = False
    furnace.wait(0.2)
    before = phone.get("/live.json").json
    furnace.link.publish(furnace.snapshot)
    furnace.wait(0.3)
    after = phone.get("/live.json").json
    assert after["live"]["id"] == before["live"]["id"]
    assert after["age_s"] > before["age_s"]


def test_a_page_whose_supervisor_never_answered_says_so_and_can_still_try_to_stop(
    phone: Browser, furnace: Scripted, data: Path
) -> None:
    furnace.close()
    answer = phone.post("/stop", headers=JSON).json
    assert answer["answer"] == "unknown"
    assert answer["off"] is None or answer["off"] == "proved"


@pytest.mark.parametrize("left", [None, "A-001 ended without its closing record."])
def test_an_idle_furnace_is_not_said_to_be_empty(phone: Browser, furnace: Scripted, left: str | None) -> None:
    page = look(phone, furnace, STOPPED, charge=None, firing=None, left_open=left)
    assert "Pot in section: what is in it is not known" in page
    assert ("may be liquid" in said(page)) == (left is not None)
    assert '<b class="said">none</b>' not in page


def test_while_the_example_is_made_the_headline_says_how_far_it_is(data: Path, time: Clock) -> None:
    mark.write(data, mark.Marked(0, 3, 10))
    app = create_app(WebConfig(data, 8080, time.monotonic_s, time.utc_ms))
    phone = Browser(app)
    phone.clock = time
    pair(phone, parts(app).book, time.utc_ms())
    phone.post("/first")
    page = said(phone.get("/").text)
    assert "The example is being made: 3 of 10 melts. The furnace follows." in page
    assert "no walk is wanted" in page
    assert "does not answer" not in said(phone.get("/metal").text)
    mark.write(data, mark.Marked(0, 10, 10))
    assert "does not answer: go and look" in said(phone.get("/metal").text)
    parts(app).feed.close()
    parts(app).audit.close()
