"""The pour screen with hands near: whatever casts a doubt takes the words about hands away within a second."""

import signal
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from hardware.clock import monotonic_s, utc_ms
from supervisor.book import lots
from supervisor.book.charging import Furnace, confirm
from supervisor.book.moulds import add_mould
from supervisor.book.plans import Entry, keep
from supervisor.book.proofs import dried
from supervisor.book.writing import open_book
from supervisor.firing import commands as c
from supervisor.metal.fit import Pot
from supervisor.metal.plan import Heating
from tests.browser.at_work import AtWork
from tests.browser.conftest import DESK, PHONE, WEB, Served, context, pair, readings, serving, violations
from tests.supervisor.firing.knowing import as_described
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, furnace_at_hand, melt
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import made
from tests.web.snapshots_pour import METAL, POURING, READY, READY_HOT, WITHDRAWN
from tests.web.snapshots_trouble import TRIPPED, alarm
from tests.web.states import ALL

WITHIN_MS = 1000
WATCH = """() => {
    const asks = () => [...document.querySelectorAll('[data-hands]')].some((e) => e.offsetParent !== null);
    window.gone = null;
    window.seen = asks();
    const look = () => {
        if (asks()) { window.seen = true; window.gone = null; } else window.gone ??= Date.now();
    };
    new MutationObserver(look).observe(document, { subtree: true, childList: true, attributes: true }); // frames wait
    look();
}"""

DOUBTS: dict[str, dict[str, Any]] = {
    "a finding": made(
        WITHDRAWN, alarms=[alarm("sensor-noisy", priority=3, latched=False)], metal={**METAL, "ready": False}
    ),
    "a doubt of the sensor": made(WITHDRAWN, metal={**METAL, "doubt": "A finding stands against the sensor."}),
    "a hung-up charge": made(WITHDRAWN, pour={**WITHDRAWN["pour"], "why": "Solid may hang over liquid."}),
    "a doubt of the mass": made(
        WITHDRAWN,
        mass_doubt={"weighed_kg": 2.0, "like_kg": 1.3, "evidence": "It heats otherwise.", "confirmed": False},
    ),
    "an estimate that left the window": WITHDRAWN,
    "a contactor that is in": READY_HOT,
    "a trip": TRIPPED,
}


def opened(page: Page, served: Served, furnace: Scripted) -> None:
    furnace.show(READY)
    page.goto(served.address + "/pour")
    page.wait_for_function("document.querySelector('#rule .newest')")
    expect(page.locator("[data-hands]")).to_contain_text("Look and dip, then decide.")
    page.evaluate(WATCH)


def test_each_doubt_takes_the_words_about_hands_away_within_a_second(
    chromium: Browser, served: Served, furnace: Scripted
) -> None:
    with context(chromium) as phone:
        page = phone.new_page()
        opened(page, served, furnace)
        for number, (name, doubt) in enumerate(DOUBTS.items()):
            expect(page.locator("[data-hands]")).to_be_visible()
            began_ms = page.evaluate("Date.now()")
            furnace.show(doubt, epoch=100 + 2 * number)
            page.wait_for_function("window.gone !== null")
            assert page.evaluate("window.gone") - began_ms <= WITHIN_MS, name
            assert "ook and dip" not in page.locator("main").inner_text(), name
            furnace.show(READY, epoch=101 + 2 * number)


def test_a_late_link_does_so_too_and_says_what_to_do(chromium: Browser, served: Served, furnace: Scripted) -> None:
    with context(chromium) as phone:
        page = phone.new_page()
        opened(page, served, furnace)
        served.process.send_signal(signal.SIGSTOP)
        try:
            page.wait_for_function("window.gone !== null", timeout=10_000)
            late_s = page.evaluate("parseInt(document.getElementById('age').textContent)")
            assert late_s <= 4  # three seconds, and one to be rounded off
            expect(page.locator(".late")).to_be_visible()
            assert "ook and dip" not in page.locator("main").inner_text()
            expect(page.get_by_role("button", name="Stop heating")).to_be_visible()
        finally:
            served.process.send_signal(signal.SIGCONT)
        expect(page.locator("[data-hands]")).to_be_visible()


def test_the_first_screen_asks_for_no_hands_over_a_late_link_either(
    chromium: Browser, served: Served, furnace: Scripted
) -> None:
    with context(chromium) as phone:
        page = phone.new_page()
        pair(page, served)
        furnace.show(READY)
        page.goto(served.address)
        page.wait_for_function("document.querySelector('#rule .newest')")
        words = page.get_by_text("and dip, then decide.").first
        expect(words).to_be_visible()
        served.process.send_signal(signal.SIGSTOP)
        try:
            expect(words).to_be_hidden(timeout=10_000)
            assert page.evaluate("parseInt(document.getElementById('age').textContent)") <= 4
        finally:
            served.process.send_signal(signal.SIGCONT)
        expect(words).to_be_visible()


@pytest.fixture
def at_work(data: Path) -> Iterator[AtWork]:
    it = AtWork(_hot, data)
    yield it
    it.close()


def _hot() -> FurnaceAtHand:
    """Heated by the real supervisor until the metal is likely at its pouring temperature."""
    hand = furnace_at_hand()
    hand.memory.firing.adviser.adopted = as_described(BENCH)
    hand.memory.firing.drained = True
    hand.start(melt(rate_c_per_h=6000.0))
    hand.answer_everything()
    hand.run_until(lambda: hand.memory.firing.window.fit, 3 * 3600.0)
    hand.run_until(lambda: hand.shown()["pour"]["stage"] == "heat off first", 600.0)
    return hand


def test_the_real_supervisor_waits_for_the_contactor_and_a_broken_sensor_ends_it(
    chromium: Browser, data: Path, at_work: AtWork
) -> None:
    with (
        serving([*WEB, "--data", str(data), "--host", "127.0.0.1", "--port", "0"], data) as served,
        context(chromium) as phone,
    ):
        page = phone.new_page()
        pair(page, served)
        page.goto(served.address + "/pour")
        page.wait_for_function("document.querySelector('#rule .newest')")
        expect(page.locator("h1")).to_contain_text("Likely ready. First heat off")
        page.evaluate(WATCH)
        began_s = monotonic_s()
        while monotonic_s() - began_s < 3.0:  # the contactor is in: the words never come
            page.evaluate("() => new Promise(requestAnimationFrame)")
        assert page.evaluate("window.seen") is False
        page.get_by_role("button", name="Stop heating").click()
        expect(page.locator("[data-hands]")).to_be_visible()
        expect(page.locator(".contactor")).to_contain_text("Contactor open, proved")
        page.get_by_role("button", name="Mould 1 is full").wait_for()
        began_ms = page.evaluate("Date.now()")
        at_work.do(lambda hand: hand.inject("sensor_open"))
        page.wait_for_function("window.gone !== null")
        assert page.evaluate("window.gone") - began_ms <= WITHIN_MS + 250  # the finding needs its four frames
        assert "ook and dip" not in page.locator("main").inner_text()


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_is_readable_by_everybody_and_fits(
    chromium: Browser, served: Served, furnace: Scripted, size: dict[str, int], scheme: Any
) -> None:
    with context(chromium, size=size, color_scheme=scheme) as phone:
        page = phone.new_page()
        pair(page, served)
        for name in ("ready", "ready hot", "withdrawn", "pouring", "heating"):
            furnace.show(ALL[name])
            page.goto(served.address + "/pour")
            page.wait_for_function("document.querySelector('#rule .newest')")
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), name
            key = page.locator(".says .key").evaluate("e => parseFloat(getComputedStyle(e).fontSize)")
            assert key >= (60 if size is PHONE else 120), name
            if name in ("ready", "pouring"):
                assert violations(page) == [], name
                button = page.get_by_role("button", name="is full").bounding_box()
                assert button is not None
                assert button["height"] >= 96
            stop = page.locator(".stop").bounding_box()
            assert stop is not None
            assert stop["height"] >= 72
            assert stop["y"] + stop["height"] <= size["height"]


def test_a_tap_counts_a_mould(phone: Page, served: Served, furnace: Scripted) -> None:
    furnace.show(READY)
    phone.goto(served.address + "/pour")
    phone.get_by_role("button", name="Mould 1 is full").click()
    expect(phone.locator("#mouldsaid")).to_contain_text("Done.")
    asked = furnace.asked[-1]
    assert isinstance(asked, c.Note)
    assert (asked.kind, asked.text) == (c.NoteKind.MOULD, "1")


AGAIN = """() => new Promise((done) => {
    const tap = () => document.querySelector('.mould-full').click();
    new MutationObserver(() => setTimeout(() => { tap(); done(); }, 100))
        .observe(document.getElementById('mouldsaid'), { attributes: true, attributeFilter: ['hidden'] });
    tap();
})"""


def test_a_second_tap_right_after_the_answer_counts_no_other_mould(
    phone: Page, served: Served, furnace: Scripted
) -> None:
    furnace.show(READY)
    phone.goto(served.address + "/pour")
    phone.wait_for_function("document.querySelector('#rule .newest')")
    furnace.on_command = lambda: furnace.show(POURING)
    phone.evaluate(AGAIN)
    expect(phone.locator("h1")).to_contain_text("Pouring. Full: 1 mould.")
    readings(phone, 2)
    assert len(furnace.asked) == 1


def test_the_mould_that_fills_is_tapped_without_scrolling_and_no_name_breaks(
    phone: Page, served: Served, furnace: Scripted
) -> None:
    _plan_moulds(served.data)
    for snapshot in (READY, made(POURING, pour={**POURING["pour"], "moulds": ["M-1", "M-2"]})):
        furnace.show(snapshot, heat_number="A-001")
        phone.goto(served.address + "/pour")
        expect(phone.locator(".mould")).to_have_count(4)
        lever = phone.get_by_role("button", name="is full").bounding_box()
        bar = phone.locator(".stopbar").bounding_box()
        assert lever
        assert bar
        assert lever["y"] + lever["height"] <= bar["y"]
        heights = phone.locator(".mould b").evaluate_all("all => all.map((e) => e.getBoundingClientRect().height)")
        assert len(set(heights)) == 1
        assert heights[0] < 30  # one line
        assert phone.evaluate("document.documentElement.scrollWidth <= innerWidth")


def _plan_moulds(data: Path) -> None:
    """A-001, planned for four dry moulds. All invented."""
    with open_book(data / "book.db", who="Ada", sent_from="page", utc_ms=utc_ms()) as book:
        lot = lots.add(book, 2.4, form="solid_offcut", origin="plate", alloy_name="6082", certainty="marked",
                       surface="bare", shape="solid", longest_mm=60.0)  # fmt: skip
        tins = [add_mould(book, "tray", 300.0, mass_kg=5.0).id for _ in range(4)]
        dried(book, [("lot", lot.id), *(("mould", tin) for tin in tins)], 160.0, 120.0)
        planned = keep(book, [Entry(("lot", lot.id), 1.9)], profile="example/ingots-2kg", mould_ids=tins,
                       answers={"air": "dry"})  # fmt: skip
        furnace = Furnace("workshop", "A", "simulated", Pot(2.5, 95.0, 170.0))
        confirm(book, planned, furnace, Heating("Ingots, 2 kg of 6082", 740.0, 720.0), [])
