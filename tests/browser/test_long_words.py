"""What people type may be one word without end: no page of it gets wider than a phone."""

from playwright.sync_api import Browser

from hardware import clock
from supervisor.book import ingots, lots, melts
from supervisor.book.moulds import add_mould
from supervisor.book.plans import Entry, keep
from supervisor.book.writing import open_book
from tests.browser.conftest import Served, context, pair, see
from tests.browser.test_pages import overflow
from tests.supervisor.book.shop import Shop, story
from tests.supervisor.logbook import event, scribe_of
from tests.web.kept_melt import keep_a_melt
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import contact
from tests.web.snapshots import CHARGE, IDLE, PREPARED, PROFILE, STOPPED

WORD = "Donaudampfschifffahrtselektrizitaetenhauptbetriebswerkbauunt"
PATHS = (
    *("/", "/metal", "/lots/L-30", "/plan", "/plan/P-001", "/melts", "/melts/1", "/melts/A-094"),
    *("/ingots/A-094-1", "/I/A-094-1", "/settings"),
)


def test_one_word_without_end_widens_no_page(chromium: Browser, served: Served, furnace: Scripted) -> None:
    assert len(WORD) == 60
    shop = Shop(served.data)
    story(shop)
    shop.quarantine("L-31", WORD)
    with open_book(shop.path, who=WORD[:40], sent_from="page", utc_ms=clock.utc_ms()) as book:
        lot = lots.describe(book, 1, name=WORD, note=WORD, origin="plate")
        melts.remark(book, melts.melt(book, "A-094"), WORD)
        melts.walked(book, melts.melt(book, "A-094"), WORD)
        ingots.note(book, ingots.ingots(book)[-1], WORD)
        mould = add_mould(book, WORD[:40], 400.0, note=WORD)
        keep(book, [Entry(("lot", lot.id), 0.3)], name=WORD, note=WORD, mould_ids=[mould.id], profile="")
    keep_a_melt(served.data)
    with scribe_of(served.data) as scribe:
        scribe.put([event(4_700_000, 1, text=WORD)])
    named = {**PROFILE, "name": WORD}
    told = {**STOPPED["reach"], "nobody_told": "", "contacts": [contact(WORD, confirmed=True)]}
    charge = {**CHARGE, "form": WORD}
    with context(chromium) as phone:
        page = phone.new_page()
        pair(page, served)
        see(
            page,
            served,
            furnace,
            IDLE,
            profile=named,
            prepared={**PREPARED, "profile": WORD},
            charge=charge,
            reach=told,
        )
        for path in PATHS:
            page.goto(served.address + path)
            page.evaluate("document.querySelectorAll('main details').forEach((fold) => { fold.open = true; })")
            assert WORD[:40] in page.content(), path
            assert overflow(page) <= 0, path
