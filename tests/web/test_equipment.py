"""The page Equipment: what is fitted, what is lost without it, every watch, and what nothing here can notice."""

import re
from dataclasses import replace
from html import unescape
from pathlib import Path

from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.file import read_furnace
from supervisor.link.equipment import NEEDS, PARTS, equipment, unseen
from supervisor.watches import WATCHES
from supervisor.watches.rows import ROWS
from tests.supervisor.logbook import alarm, event, scribe_of
from tests.web.conftest import Browser
from tests.web.scripted import Scripted
from tests.web.snapshots import HEATING, STOPPED, made

WORKSHOP = read_furnace("workshop")


def said(page: str) -> str:
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", page)))


def everything_fitted() -> FurnaceDescription:
    wiring = WORKSHOP.wiring._replace(load_current=4, mains=22, tray_probe=27, sensors=(0, 1), permit_relay_2=5)
    return replace(WORKSHOP, wiring=wiring)


def bare() -> FurnaceDescription:
    """Nothing but what heat cannot be without."""
    wiring = WORKSHOP.wiring._replace(
        lid=None, load_current=None, mains=None, tray_probe=None, energy_pulse=None, permit_relay_2=None, sensors=(0,)
    )
    return replace(WORKSHOP, wiring=wiring, pulses_per_kwh=None)


def test_it_says_what_is_lost_without_what_is_not_fitted(phone: Browser, furnace: Scripted) -> None:
    page = said(phone.get("/equipment").text)
    assert "4 things that would say more are not fitted." in page
    assert "Second thermocouple A sensor that drifts by less than 1 K a minute" in page
    assert "Escaping metal is not noticed: look at tray and pot before each charge." in page
    fitted = page.partition(" Fitted and what it adds ")[2]
    assert "Lid switch Heat goes off in the moment in which the lid opens" in fitted


def test_a_phone_that_looks_may_read_it(looker: Browser, furnace: Scripted) -> None:
    assert looker.get("/equipment").status_code == 200


def test_every_watch_is_listed_with_what_it_does_now(phone: Browser, furnace: Scripted) -> None:
    furnace.show(HEATING)
    page = said(phone.get("/equipment").text)
    for watch in equipment(WORKSHOP)["watches"]:
        assert f"{watch['title']}: " in page, watch
    assert "asked now" in page
    assert "not fitted" in page
    furnace.show(STOPPED)
    assert "rests: it would mean nothing in this state" in said(phone.get("/equipment").text)


def test_a_watch_that_speaks_and_one_that_was_put_aside_are_said_so(phone: Browser, furnace: Scripted) -> None:
    speak = [{"id": "mass-doubted", "title": "Mass as entered"}]
    shelved = [
        {"watch": "mains-low", "sentence": "", "reason": "", "who": "Ada’s phone", "left_s": 720.0, "stands": True}
    ]
    furnace.show(made(HEATING, watches={"count": 50, "speak": speak}, shelved=shelved))
    page = said(phone.get("/equipment").text)
    titles = {watch["id"]: watch["title"] for watch in equipment(WORKSHOP)["watches"]}
    assert f"{titles['mass-doubted']}: speaks" in page
    assert f"{titles['mains-low']}: put aside by Ada’s phone, 12 min left" in page


def test_it_says_when_a_watch_last_spoke_and_when_something_was_last_proved(
    phone: Browser, furnace: Scripted, data: Path
) -> None:
    with scribe_of(data) as scribe:
        scribe.put([alarm(t_ms=2000), event(1000, None, "start test", passed=True, times_s={})])
    page = said(phone.get("/equipment").text)
    assert "Last spoke 1 Mar 2026" in page
    assert "Start test: passed 1 Mar 2026" in page
    assert "Limiter proof: nothing on record" in page


def test_without_a_supervisor_it_does_not_guess(phone: Browser, furnace: Scripted) -> None:
    furnace.close()
    phone.application.extensions["meltkeeper"].equipment._known = None
    page = said(phone.get("/equipment").text)
    assert "What is fitted is not known now." in page


def test_what_is_fitted_goes_over_the_link_once_for_each_run(phone: Browser, furnace: Scripted) -> None:
    assert phone.get("/equipment").status_code == 200
    kept = phone.application.extensions["meltkeeper"].equipment
    run = furnace.snapshot["run"]
    assert kept.of(run) is kept.of(run)
    assert "parts" in kept.of("another run")
    assert "parts" not in furnace.snapshot


def test_every_part_says_what_it_adds_and_what_is_lost_without_it() -> None:
    for part in PARTS.values():
        assert part.adds.endswith(".")
        assert part.without.endswith(".")
    ids = {watch.id for watch in WATCHES}
    assert set(NEEDS) <= ids
    assert {need for needs in NEEDS.values() for need in needs} <= set(PARTS)


def test_a_watch_that_needs_what_is_not_fitted_is_not_fitted_either() -> None:
    fitted = {watch["id"]: watch["fitted"] for watch in equipment(everything_fitted())["watches"]}
    assert all(fitted.values())
    missing = {watch["id"] for watch in equipment(bare())["watches"] if not watch["fitted"]}
    assert missing == set(NEEDS)


def test_what_nothing_can_notice_shrinks_with_what_is_fitted() -> None:
    with_all = {row["title"] for row in unseen(everything_fitted())}
    with_none = {row["title"] for row in unseen(bare())}
    relay = ROWS["relay_half_wave"].title
    assert relay in with_none
    assert relay not in with_all
    assert ROWS["sensor_drifts_slowly"].title in with_all  # no equipment notices it
    for row in unseen(WORKSHOP):
        assert row["why"] or row["instead"], row
        assert row["instead"] or row["seen_with"] or row["seen_once_learned"], row
