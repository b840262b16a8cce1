"""From the scrap bin to the ingot and back: book and furnace together, the melt fired in virtual time."""

from pathlib import Path
from typing import Any

import pytest

from hardware.simulated.plant import Bench
from supervisor.book import closing, ingots, lots, melts, pot, quarantine, tree
from supervisor.book.charging import Confirmed, Furnace, confirm
from supervisor.book.moulds import add_mould
from supervisor.book.pedigree import Pedigree
from supervisor.book.plans import Entry, keep
from supervisor.book.proofs import dried
from supervisor.book.starting import refusal_to_start
from supervisor.book.verifying import verify
from supervisor.book.writing import FILE_NAME, Book, open_book
from supervisor.firing.profile_file import read_profile
from supervisor.furnace.file import read_furnace
from supervisor.logbook.digest import altered
from supervisor.logbook.reading import open_log
from supervisor.metal.descent import Holder
from supervisor.metal.fit import Pot
from supervisor.metal.plan import Heating
from supervisor.refusal import InputRefused
from supervisor.rehearsal.rehearse import BEGINS_UTC_MS, DAY_MS, Wish, rehearse

FURNACE = read_furnace("bench")
WHICH = Furnace(FURNACE.name, "A", "simulated", Pot(2.5, 95.0, 170.0))
HEATING = Heating("Ingots", 740.0, 720.0)
HOUR_MS = 3_600_000
SEEN: dict[str, Any] = {"form": "solid_offcut", "surface": "bare", "shape": "solid", "longest_mm": 60.0}


def writing(data: Path, utc_ms: int) -> Any:
    return open_book(data / FILE_NAME, who="Ada", sent_from="page", utc_ms=utc_ms)


def confirmed(book: Book, *entries: Entry) -> Confirmed:
    """Everything that is named is dried, planned and taken to the furnace."""
    dried(book, [*(entry.holder for entry in entries), ("mould", 1), ("mould", 2)], 160.0, 120.0)
    kept = keep(
        book, entries, profile="ingots", mould_ids=(1, 2), answers={"air": "dry", "lead": "yes", "bismuth": "yes"}
    )
    return confirm(book, kept, WHICH, HEATING, ())


def fire(data: Path, repository: Path, heat_number: str) -> closing.Fired:
    profile = read_profile(repository / "docs/examples/ingots-2kg.toml", FURNACE)
    outcome = rehearse(Wish(profile, FURNACE, Bench, heat_number=heat_number), data)
    assert outcome.state == "complete"
    return closing.fired(data)[heat_number]


def test_a_bad_bin_is_followed_through_melt_returns_and_the_next_melt(tmp_path: Path, repository: Path) -> None:
    day = BEGINS_UTC_MS - 2 * HOUR_MS
    with writing(tmp_path, day) as book:
        for name, origin, alloy in (("plate ends", "plate", "6082"), ("bar ends", "bright_bar", "2011")):
            lots.add(book, 3.0, origin=origin, name=name, alloy_name=alloy, certainty="marked", **SEEN)
        for _ in range(2):
            add_mould(book, "tray", 600.0, mass_kg=4.0)
        first = confirmed(book, Entry(("lot", 1), 1.2), Entry(("lot", 2), 0.7))
    assert first.heat_number == "A-001"
    fired = fire(tmp_path, repository, "A-001")
    assert fired.poured_utc_ms is not None
    for after_min in (31, 62, 190):
        with writing(tmp_path, fired.poured_utc_ms + after_min * 60_000) as book:
            melts.walked(book, melts.melt(book, "A-001"), "nothing")
    with writing(tmp_path, fired.poured_utc_ms + 4 * HOUR_MS) as book:
        found = melts.melt(book, "A-001")
        ingots.count(book, found, [0.9, 0.9], "Ada")
        melts.dross(book, found, 0.06)
        pot.say(book, found, "drained")
        assert closing.close(book, tmp_path, "A-001").startswith("Melt A-001 is closed. 40 g not found")
    with writing(tmp_path, day + DAY_MS) as book:
        one = ingots.ingot_of(book, 1)
        lot = lots.lot_for_returns(book, one.name, "6082")
        ingots.return_as_scrap(book, one, 0.4, lot)
        lots.describe(book, lot, certainty="marked", surface="bare", longest_mm=60.0)
        second = confirmed(book, Entry(("lot", 1), 1.5), Entry(("lot", lot), 0.4))
        assert refusal_to_start(book, second.heat_number, book.utc_ms) == ""
    with writing(tmp_path, day + DAY_MS + HOUR_MS) as book:  # between charge and start
        touched = quarantine.set_quarantine(book, Holder("lot", 2), "lead")
        assert set(touched.children) == {"A-001", "A-001/1", "A-001/2", "L-3", "A-002"}
        assert "under quarantine" in refusal_to_start(book, "A-002", book.utc_ms)
        with pytest.raises(InputRefused, match="quarantine"):
            confirmed(book, Entry(("ingot", 2), 0.5))
        quarantine.clear(book, tree.named(book, "A-002"), "kept apart, for brackets alone")
    with writing(tmp_path, day + 2 * DAY_MS) as book:
        ingots.count(book, melts.melt(book, "A-002"), [0.9, 0.9], "Ada")
        lead = [Pedigree(book).of(Holder("ingot", number)).likely["Pb"] for number in (1, 3)]
        assert lead[0] == pytest.approx(0.4 * 0.7 / 1.9, abs=0.01)  # 2011: 0.2 to 0.6 % lead, its limits
        assert lead[1] == pytest.approx(lead[0] * 0.4 / 1.9, abs=0.005)
        held = quarantine.state(book)
        assert held.why(Holder("ingot", 2)) == "A-001/2 is under quarantine: it holds metal of L-2 (lead)."
        assert held.why(Holder("ingot", 3)) == ""
        kept = melts.last(melts.happened(book, 1), "closed")
    assert kept is not None
    with open_log(tmp_path) as log:
        assert altered(log, 1, kept.detail["firing"]) == ""
    assert verify(tmp_path / FILE_NAME).fault == ""
