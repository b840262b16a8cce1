"""The metal on Furnace now: its number with its band, quarters, the promise, the boost; and what a doubt takes away."""

import re

import pytest

from tests.web.conftest import Browser, Clock
from tests.web.looking import look, offered
from tests.web.melting import DOUBT, DOUBTED, LOOKING, MASS, MELTING, METAL, NEARLY, PLANNED, READY, SOLID, metal
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import Snapshot, made
from tests.web.snapshots import HEATING, IDLE, STOPPED
from tests.web.snapshots_trouble import TRIPPED

ORDERS = re.compile(r"\b(pour now|add now|skim now|open the lid|all molten now)\b", re.IGNORECASE)


def said(page: str) -> str:
    """Every word of it, apart where elements are."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", page))


def fig(page: str) -> str:
    """What the figures say: chamber, metal and pot."""
    return said(page[page.index('data-region="figs"') : page.index('class="side"')])


def test_chamber_and_metal_are_two_named_temperatures_with_the_reason(phone: Browser, furnace: Scripted) -> None:
    page = look(phone, furnace, MELTING)
    assert "Chamber 798 °C on purpose: boost" in fig(page)
    assert "Metal, about 640 °C ± 10 K, about three quarters molten" in fig(page)
    below = fig(look(phone, furnace, MELTING, hot_junction={"c": 728.0, "age_s": 0.0, "fault": None}))
    assert "Chamber 728 °C boost, setpoint 800 °C" in below
    assert "Boost. Chamber up to 800 °C on purpose, 60 K over the metal’s target; metal about 640." in said(page)


def test_the_headline_tells_share_and_hour_and_how_far_it_may_be_off(phone: Browser, furnace: Scripted) -> None:
    page = said(look(phone, furnace, MELTING))
    assert re.search(r"About three quarters molten, pour likely from \d\d:\d\d give or take 4 minutes\.", page)
    assert "{hour}" not in page


def test_the_hour_is_that_of_the_furnaces_own_clock(phone: Browser, furnace: Scripted) -> None:
    begun = {**MELTING["firing"], "started_utc_ms": 1_788_998_400_000, "elapsed_s": 3600.0}  # 2026-09-10 01:00 UTC
    page = said(look(phone, furnace, MELTING, firing=begun))
    assert re.search(r"pour likely from \d\d:12 ", page)  # 12 min later


def test_a_fahrenheit_reader_gets_the_estimate_no_finer_than_others(phone: Browser, furnace: Scripted) -> None:
    phone.post("/settings", data={"units": "F", "light": "auto"})
    page = look(phone, furnace, NEARLY)
    assert "Metal, about 1300 °F ± 35 °F, likely all liquid" in fig(page)


@pytest.mark.parametrize(
    ("snapshot", "shown"),
    [
        (SOLID, "all solid"),
        (made(MELTING, metal=metal(600.0, 20, 0, "melting")), "beginning to melt"),
        (MELTING, "about three quarters molten"),
        (NEARLY, "likely all liquid"),
        (DOUBT, "what is in it is not known"),
        (made(MELTING, metal=metal(600.0, 60, None, "melting")), "what is in it is not known"),
    ],
)
def test_the_pot_shows_quarters_or_a_question_mark(
    phone: Browser, furnace: Scripted, snapshot: Snapshot, shown: str
) -> None:
    assert f"Pot in section: {shown}" in look(phone, furnace, snapshot)


def test_a_doubt_takes_every_number_of_the_metal_and_says_why(phone: Browser, furnace: Scripted) -> None:
    page = look(phone, furnace, DOUBT)
    assert "Metal ? may be liquid; not known" in fig(page)
    assert page.count(DOUBTED) == 1
    assert "Pour likely" not in page
    assert "± " not in fig(page).replace("\u00a0", " ")


def test_a_doubt_under_another_headline_is_told_beside_the_figures(phone: Browser, furnace: Scripted) -> None:
    page = look(phone, furnace, DOUBT, headline=HEATING["headline"])
    assert f"Why it is not known: {DOUBTED}" in fig(page)


def test_why_there_is_no_boost_is_said(phone: Browser, furnace: Scripted) -> None:
    assert "No boost. Ended: the metal is within 25 K of its target." in said(look(phone, furnace, NEARLY))
    assert "No boost. Not yet: nobody has pressed at the gate." in said(look(phone, furnace, SOLID))


def test_a_mass_in_doubt_is_asked_with_its_evidence_and_can_be_answered(phone: Browser, furnace: Scripted) -> None:
    page = look(phone, furnace, MASS)
    words = said(page)
    assert "2.00 kg went in by the record; it heats like about 1.1 kg" in words
    assert "The reading is 47 K above what 2.00 kg should give, 14 min after the start." in words
    assert words.index("What is in the pot? 2.00 kg") < words.index("If the mass is as entered")
    phone.post("/note", data={"kind": "mass", "mass_kg": "1,15", "epoch": "26"})
    assert (furnace.asked[-1].kind.value, furnace.asked[-1].mass_kg) == ("mass", 1.15)  # type: ignore[union-attr]


def test_a_dip_and_what_eyes_saw_reach_the_supervisor(phone: Browser, furnace: Scripted) -> None:
    page = look(phone, furnace, MELTING)
    assert "Probe reading in the metal, °C" in page
    phone.post("/note", data={"kind": "dip reading", "temperature": "712", "epoch": "21"})
    phone.post("/note", data={"kind": "all molten", "epoch": "21"})
    kinds = [asked.kind.value for asked in furnace.asked]  # type: ignore[union-attr]
    assert kinds == ["dip reading", "all molten"]
    assert furnace.asked[0].temperature_c == 712.0  # type: ignore[union-attr]


def test_a_dip_is_not_asked_for_where_there_is_no_metal(phone: Browser, furnace: Scripted) -> None:
    assert "Probe reading in the metal" not in look(phone, furnace, HEATING, charge=None, metal=None)


@pytest.mark.parametrize("state", sorted(METAL))
def test_no_state_orders_hands_to_the_furnace(phone: Browser, furnace: Scripted, state: str) -> None:
    page = said(look(phone, furnace, METAL[state]))
    assert not ORDERS.search(page)
    if METAL[state]["heat"]["off"] != "proved":
        assert not re.search(r"Likely ready: look", page)


def test_likely_ready_asks_for_heat_off_first_and_shows_the_contactors_age(phone: Browser, furnace: Scripted) -> None:
    hot = said(look(phone, furnace, READY))
    assert "Before anybody looks: heat off and proved." in hot
    assert "No hands before." in hot
    off = said(look(phone, furnace, LOOKING))
    assert "Heat off, proved. Likely ready: look and dip, then decide." in off
    assert re.search(r"Contactor open, read \d s ago\.", off)


def test_an_old_page_withdraws_promise_number_and_prompt(phone: Browser, furnace: Scripted, time: Clock) -> None:
    for snapshot in (MELTING, LOOKING):
        look(phone, furnace, snapshot)
        furnace.turning = False
        time.ahead_s += 11
        page = said(phone.get("/").text)
        assert "likely" not in page.lower()
        assert "640" not in page
        furnace.turning = True


def test_what_is_prepared_is_forecast_before_its_start(phone: Browser, furnace: Scripted) -> None:
    page = said(look(phone, furnace, PLANNED))
    assert re.search(r"Gate asks about \d\d:\d\d, not before \d\d:\d\d", page)
    assert re.search(r"Pour likely from \d\d:\d\d in 1 h 2 min, give or take 9 min", page)
    assert "Energy 2.3 kWh, 0.49 EUR" in page
    assert "3 of its own firings" in page


def test_a_forecast_from_data_sheets_says_so(phone: Browser, furnace: Scripted) -> None:
    sheets = {**PLANNED["forecast"], "learned": False, "cost": None, "currency": None, "minutes": None}
    page = said(look(phone, furnace, PLANNED, forecast=sheets, model=None))
    assert "data sheets alone nothing is learned of this furnace yet" in page
    assert "Energy 2.3 kWh " in page
    assert "Pour likely" not in page


def test_what_is_not_forecast_is_not_shown(phone: Browser, furnace: Scripted) -> None:
    assert "What is expected" not in look(phone, furnace, IDLE)
    assert "What is expected" not in look(phone, furnace, STOPPED)


@pytest.mark.parametrize("state", sorted(METAL))
def test_a_stranger_is_offered_stop_and_lower_alone(stranger: Browser, furnace: Scripted, state: str) -> None:
    stranger.post("/first")
    assert offered(look(stranger, furnace, METAL[state])) <= {"stop", "lower"}


def test_the_stream_hands_the_strip_the_estimate_and_nothing_in_doubt(phone: Browser, furnace: Scripted) -> None:
    look(phone, furnace, MELTING)
    point = phone.get("/live.json?page=now").json["live"]["point"]
    assert (point["metal"]["c"], point["metal"]["ahead"][0]) == (641.0, [120, 644.0])
    look(phone, furnace, DOUBT)
    assert phone.get("/live.json?page=now").json["live"]["point"]["metal"] is None
    look(phone, furnace, TRIPPED)
    assert phone.get("/live.json?page=now").json["live"]["point"]["metal"] is None


def test_whoever_looked_into_the_pot_says_so_with_the_start(phone: Browser, furnace: Scripted) -> None:
    page = look(phone, furnace, PLANNED)
    assert "I looked: nothing but this charge is in the pot" in page
    start = {"epoch": "27", "profile": "Ingots, 2 kg", "mass_kg": "2", "top_c": "760", "longest_s": "12600"}
    start |= {"allowance_wh": "3300", "cautions_read": "yes"}
    for more, drained in (({}, False), ({"drained": "yes"}, True)):
        phone.post("/start", data=start | more)
        assert furnace.asked[-1].drained == drained  # type: ignore[union-attr]
    assert "nothing but this charge" not in look(phone, furnace, PLANNED, pot_drained=True)


def test_a_pot_that_was_poured_is_drawn_empty_until_it_is_charged(phone: Browser, furnace: Scripted) -> None:
    poured = {"pot_drained": True, "charge": PLANNED["charge"], "heat_number": "A-097"}
    assert "Metal none pot drained" in fig(look(phone, furnace, STOPPED, **poured))
    assert "pot drained" not in fig(look(phone, furnace, STOPPED, **{**poured, "may_be_liquid": True}))
    assert "Metal solid" in fig(look(phone, furnace, PLANNED, **{**poured, "state": "idle"}))
