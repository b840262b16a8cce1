"""The page Equipment: what is fitted, what is lost without it, every watch, and what nothing here can notice."""

import re
from dataclasses import replace
from html import unescape
from pathlib import Path
from typing import Any

from supervisor.cycle import first_memory
from supervisor.firing.commands import Change, Practise, Practising
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.file import read_furnace
from supervisor.furnace.proofs import of
from supervisor.furnace.stages import Changed, Proved, Unlocking, make
from supervisor.link.equipment import NEEDS, PARTS, equipment, unseen
from supervisor.link.stage import stage
from supervisor.logbook.records import EventRow, PartRow, ProofRow
from supervisor.watches import WATCHES
from supervisor.watches.rows import ROWS
from tests.supervisor.logbook import alarm, event, scribe_of
from tests.web.conftest import Browser
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import made
from tests.web.snapshots import HEATING, STOPPED

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
    assert "Relay proof: nothing on record" in page


def permit_proof(*, seconds: float, after_part: int = 0) -> ProofRow:
    evidence = ", ".join(
        f"relay {number}, stuck {level} {seconds:.2f} s" for level in ("high", "low") for number in (1, 2)
    )
    return ProofRow(
        Proved("permit", "proved", True, "about", evidence, "Ada", 1_772_000_000_000, after_part), None, "check"
    )


def start_test(seconds: float) -> EventRow:
    return event(1000, None, "start test", passed=True, times_s={"relay 1, stuck high": seconds, "contactor in": 0.25})


MOVED = (
    "Permit relay 1, stuck high: lets go after 2.00 s, and commissioning measured 1.50 s, which is more than 20 % off."
)


def test_a_permit_that_lets_go_at_another_time_than_at_commissioning_is_said(
    phone: Browser, furnace: Scripted, data: Path
) -> None:
    with scribe_of(data) as scribe:
        scribe.put([permit_proof(seconds=1.5), start_test(1.75), permit_proof(seconds=2.0)])
        assert "commissioning measured" not in said(phone.get("/equipment").text), "one look more says nothing"
        scribe.put([start_test(2.0)])
        assert MOVED in said(phone.get("/equipment").text)
        scribe.put([PartRow(Changed("permit-board", "a new one", "Ada", 1_772_000_000_000, 1), "page")])
        assert "commissioning measured" not in said(phone.get("/equipment").text), "nothing was measured of this one"
        scribe.put([permit_proof(seconds=2.0, after_part=1)])
        assert "commissioning measured" not in said(phone.get("/equipment").text)


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


def staged(
    counted: bool = True, *, today_ms: int = 1_772_000_000_000, left_out: tuple[str, ...] = ()
) -> dict[str, Any]:
    """The snapshot's own words on a furnace whose proofs were made in February, but for some."""
    memory = first_memory(WORKSHOP, backend="pi", monotonic_s=0.0, next_firing_id=1, left_open=None)
    unlocking = Unlocking(counted, today_ms=1_772_000_000_000)
    for name, kind in of(WORKSHOP).items():
        if name not in left_out:
            make(unlocking, name, WORKSHOP, evidence="as it must be", who="Ada", witnessed=not kind.stated)
    unlocking.today_ms = today_ms
    memory.firing.unlocking = unlocking
    return {"stage": stage(memory), "practice": None}


def test_stage_and_proofs_are_shown_with_who_and_what_they_do_not_show(phone: Browser, furnace: Scripted) -> None:
    furnace.show(made(STOPPED, **staged()))
    page = said(phone.get("/equipment").text)
    assert "Heat unlocked stage 3 of 3 For melts. Every proof holds." in page
    assert "Key seen off and on: witnessed 25 Feb 2026" in page
    assert "Earth bond of shell, lid and sheath measured: stated by Ada 25 Feb 2026" in page
    for kind in of(WORKSHOP).values():
        assert kind.title in page
        assert f"It does not show: {kind.shows_not[:1].lower()}{kind.shows_not[1:]}" in page


def test_what_is_missing_comes_with_the_exact_command(phone: Browser, furnace: Scripted) -> None:
    furnace.show(made(STOPPED, **staged(left_out=("permit", "direction"))))
    page = said(phone.get("/equipment").text)
    assert "stage 0 of 3 No heat yet. 2 proofs missing." in page
    assert (
        "Next: Heat permit runs out, stuck high and stuck low. At the furnace’s computer: meltkeeper check permit"
        in page
    )
    furnace.show(made(STOPPED, **staged(left_out=("direction",))))
    page = said(phone.get("/equipment").text)
    assert "Next: Reading rises when it is heated. A firing within this stage shows it" in page


def test_a_proof_that_is_due_and_one_that_is_overdue_are_said(phone: Browser, furnace: Scripted) -> None:
    day_ms = 86_400_000
    furnace.show(made(STOPPED, **staged(today_ms=1_772_000_000_000 + 40 * day_ms)))
    page = said(phone.get("/equipment").text)
    assert "Every proof holds. 6 due by date." in page
    assert "Due now." in page
    furnace.show(made(STOPPED, **staged(today_ms=1_772_000_000_000 + 100 * day_ms)))
    assert "Overdue: proved 100 days ago." in said(phone.get("/equipment").text)


def test_a_simulated_furnace_says_how_to_practise_the_proofs(phone: Browser, furnace: Scripted) -> None:
    furnace.show(made(STOPPED, **staged(counted=False)))
    assert "meltkeeper run --simulated --from-stage 0" in said(phone.get("/equipment").text)


def test_parts_are_shown_with_what_they_have_been_through(phone: Browser, furnace: Scripted, data: Path) -> None:
    with scribe_of(data) as scribe:
        scribe.put([PartRow(Changed("element", "burnt through at a joint", "Ben", 1_772_000_000_000, 0), "check")])
    page = said(phone.get("/equipment").text)
    assert "Element 0 firings, 0 with metal, 0.0 h, since 25 Feb 2026. burnt through at a joint (Ben)" in page
    assert "Crucible 0 firings, 0 with metal, 0.0 h, from the first day." in page
    assert "mains work is for a licensed person" in page


def test_a_cold_practice_is_begun_and_gone_through_from_a_phone_that_runs(
    phone: Browser, looker: Browser, furnace: Scripted
) -> None:
    offered = [{"name": "practise", "allowed": True, "why": ""}]
    furnace.show(made(STOPPED, **staged(), commands=offered))
    assert "Begin a cold practice" in phone.get("/equipment").text
    assert "Begin a cold practice" not in looker.get("/equipment").text
    phone.post("/equipment", data={"act": "begin"})
    asked = furnace.asked[-1]
    assert isinstance(asked, Practise)
    assert asked.act is Practising.BEGIN
    on = {"step": 3, "of": 9, "name": "charge", "sentence": "Lid open: put cold pieces in.", "for_s": 2.0, "took_s": {},
          "who": "Ada"}  # fmt: skip
    furnace.show(made(STOPPED, **{**staged(), "practice": on}, commands=offered))
    page = phone.get("/equipment").text
    assert "3 of 9: Lid open: put cold pieces in." in said(page)
    assert 'value="done"' in page
    assert 'value="done"' not in looker.get("/equipment").text
    assert looker.post("/equipment", data={"act": "done"}).status_code == 403
    before = len(furnace.asked)
    phone.post("/equipment", data={"act": "heat"})
    assert len(furnace.asked) == before


def test_a_changed_part_is_said_on_the_page_by_a_phone_that_runs(
    phone: Browser, looker: Browser, furnace: Scripted, data: Path
) -> None:
    with scribe_of(data) as scribe:
        scribe.put([])
    furnace.show(made(STOPPED, **staged(), commands=[{"name": "part", "allowed": True, "why": ""}]))
    assert 'action="/equipment/part"' in phone.get("/equipment").text
    assert 'action="/equipment/part"' not in looker.get("/equipment").text
    phone.post("/equipment/part", data={"part": "element", "note": "burnt through"})
    asked = furnace.asked[-1]
    assert isinstance(asked, Change)
    assert (asked.part, asked.note, asked.by.who) == ("element", "burnt through", "Ada’s phone")
    before = len(furnace.asked)
    phone.post("/equipment/part", data={"part": "element", "note": " "})
    assert len(furnace.asked) == before
    assert looker.post("/equipment/part", data={"part": "element", "note": "x"}).status_code == 403
