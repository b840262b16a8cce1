"""A whole melt of 2 kg as the newcomer makes it, at the bench's fastest: by a person's presses alone, none missed."""

from pathlib import Path

from playwright.sync_api import Browser, expect

from hardware.clock import monotonic_s
from supervisor.logbook.reading import open_log
from tests.browser.conftest import context
from tests.browser.firing import bench, headline, running, start

WITHIN_S = 600.0


def test_two_kilograms_through_gate_and_pour_in_ten_minutes_by_presses_alone(chromium: Browser, data: Path) -> None:
    with running(data, times_real=60) as served, context(chromium) as phone:
        page, began_s = phone.new_page(), monotonic_s()
        start(page, served)
        asked, word = page.locator("#now", has_text="A short press."), page.get_by_role("button", name="Done: go on")
        done = page.locator("h1", has_text="Done:")
        while True:
            expect(asked.or_(word).or_(done).first).to_be_visible(timeout=WITHIN_S * 1000.0)
            if done.count():
                break
            if asked.count():
                bench(page, "Press its button")
                expect(asked).to_have_count(0)
            else:
                word.click()
                expect(word).to_have_count(0)
            assert monotonic_s() - began_s < WITHIN_S
        bench(page, "Empty the pot")
        page.locator("details.fold summary", has_text="Note").click()
        page.get_by_label("Poured").check()
        page.get_by_role("button", name="Write it down").click()
        headline(page, "do not touch before")
        assert monotonic_s() - began_s < WITHIN_S
    with open_log(data) as log:
        firing = log.firings()[0]
        events = log.events(firing.id)
        assert firing.state == "complete"
        assert log.alarms(firing.id) == []
        assert [event for event in events if event["kind"] == "not answered"] == []
        answered = [event["detail"]["answers"] for event in events if event["kind"] == "press"]
        assert [asked for asked in answered if asked != "sign"][:2] == ["start", "gate"]  # signs are due in between
        assert [event["detail"]["kind"] for event in events if event["kind"] == "note"] == ["go on", "pour"]
        assert firing.results["may_have_been_liquid"] is True
