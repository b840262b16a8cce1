"""The pour screen and the why page, as they come from the server."""

import pytest

from tests.web.conftest import Browser, Clock
from tests.web.looking import said
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import Snapshot, made
from tests.web.snapshots import HEATING, LIQUID, STOPPED
from tests.web.snapshots_people import AWAY
from tests.web.snapshots_pour import METAL, POURING, READY, READY_HOT, WITHDRAWN
from tests.web.snapshots_trouble import TRIPPED
from tests.web.states import ALL
from web.moulds import Planned, following, free, row

HANDS = ("Look and dip", "look and dip")
DOUBTFUL = made(LIQUID, epoch=30, pour={**READY["pour"], "stage": "doubt", "why": "The sensor is noisy."})


def screen(browser: Browser, furnace: Scripted, snapshot: Snapshot) -> str:
    furnace.show(snapshot)
    return said(browser.get("/pour").text)


def test_with_the_contactor_open_it_says_to_when_how_long_how_hot_and_that_eyes_decide(
    stranger: Browser, furnace: Scripted
) -> None:
    page = screen(stranger, furnace, READY)
    for words in (
        "Heat off, proved. Likely ready to",
        "4 min left, ± 3.",
        "Look and dip, then decide.",
        "730 °C ± 15 K",
        "Contactor open, proved for 40 s.",
        "No mould is planned: dry and warm? Look yourself.",
        "simulated",
        "Stop heating",
    ):
        assert words in page
    assert "Pages" not in page  # no menu between hands and metal


@pytest.mark.parametrize("snapshot", [READY_HOT, WITHDRAWN, DOUBTFUL, POURING, HEATING, LIQUID, TRIPPED, STOPPED])
def test_nothing_but_a_contactor_read_open_without_a_doubt_asks_for_hands(
    stranger: Browser, furnace: Scripted, snapshot: Snapshot
) -> None:
    page = screen(stranger, furnace, snapshot)
    assert not any(words in page for words in HANDS)
    assert "pour now" not in page.lower()


def test_what_stands_against_it_is_said(stranger: Browser, furnace: Scripted) -> None:
    assert "Not ready after all. Lid shut." in screen(stranger, furnace, WITHDRAWN)
    assert "The dip is 31 K low." in screen(stranger, furnace, WITHDRAWN)
    assert "The sensor is noisy." in screen(stranger, furnace, DOUBTFUL)
    assert "First heat off, and proved. No hands before." in screen(stranger, furnace, READY_HOT)


def test_an_old_screen_asks_for_nothing(stranger: Browser, furnace: Scripted, time: Clock) -> None:
    furnace.show(READY)
    furnace.turning = False
    time.ahead_s = 10.5
    page = said(stranger.get("/pour").text)
    assert "This page is old." in page
    assert not any(words in page for words in HANDS)


def test_a_paired_phone_counts_moulds_by_one_tap_and_a_stranger_does_not(
    phone: Browser, stranger: Browser, furnace: Scripted
) -> None:
    assert "Mould 1 is full" in screen(phone, furnace, READY)
    assert "is full" not in screen(stranger, furnace, READY)
    phone.post("/note", data={"kind": "mould", "epoch": "21", "text": "1"})
    (asked,) = furnace.asked
    assert (asked.kind.value, asked.text) == ("mould", "1")  # type: ignore[union-attr]
    assert "Pouring. Full: 1 mould." in screen(phone, furnace, POURING)


def test_the_next_mould_is_a_dry_one_and_what_is_not_dry_is_drawn_so() -> None:
    moulds = (Planned("M1", "bar", ""), Planned("M2", "bar", "M2 is not proved dry."), Planned("M3", "bar", ""))
    seen = row(moulds, ["M1"])
    assert [mould.state for mould in seen] == ["poured", "not dry", "dry"]
    assert free(seen) == ["M3"]
    assert following(seen) == "M3"
    assert following(row(moulds, ["M1", "M3"])) == "M2"
    assert following(row((), [])) == "1"
    assert following(row((), ["1", "2"])) == "3"


@pytest.mark.parametrize("state", sorted(ALL))
def test_every_state_has_its_why(stranger: Browser, furnace: Scripted, state: str) -> None:
    furnace.show(ALL[state])
    page = said(stranger.get("/why").text)
    assert "Why this chamber temperature?" in page
    assert "Why is heat called on, off or proved?" in page
    for alarm in ALL[state]["alarms"]:
        assert alarm["evidence"] in page
    for command in ALL[state]["commands"]:
        if not command["allowed"] and command["name"] not in ("adopt", "told"):
            assert command["why"] in page


def test_why_gives_evidence_age_and_records(stranger: Browser, furnace: Scripted) -> None:
    furnace.show(made(AWAY, metal={**METAL, "ready": False, "phase": "solid", "words": "all solid"}))
    page = said(stranger.get("/why").text)
    for words in (
        "The thermocouple read 276.3 °C, 0.",
        "Read from: table sample, hot_junction_c, each second.",
        "About 730 °C, give or take 15 K: nine times in ten it is in there.",
        "It is the earliest that the gate may ask for a press, less five minutes",
        "The gate is shut: not above 545 °C before somebody presses.",
        "812 of 3300 Wh allowed are used",
    ):
        assert words in page


@pytest.mark.parametrize("path", ["/notice", "/card"])
def test_notices_are_there_for_whoever_reaches_the_page(stranger: Browser, furnace: Scripted, path: str) -> None:
    furnace.show(HEATING)
    page = said(stranger.get(path).text)
    assert "Furnace A" in page
    assert "SIMULATED: NOT A REAL FURNACE" in page
    for words in ("A leak is left alone", "No water on molten metal", "A burn: cool water on the person"):
        assert words in page
