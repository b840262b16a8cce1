"""The pages that look back: melts side by side, figures over the years, why an ingot is poor, search, cost."""

import shutil
from html import unescape
from pathlib import Path
from random import Random

import pytest

from supervisor.book import years
from supervisor.book.phases import NAMES, courses, of_rows
from supervisor.book.searching import asked, search
from supervisor.book.writing import FILE_NAME, read_book
from supervisor.book.years import Point, lines, moved
from supervisor.logbook.reading import open_log
from supervisor.refusal import InputRefused
from tests.campaigns.causes import cases, workshop
from tests.web.conftest import Browser
from tests.web.looking import said
from tests.web.scripted import Scripted


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three healthy melts, and a fourth that was liquid for long: pores."""
    shop = workshop(tmp_path_factory.mktemp("looking") / "shop", 3, healthy=3)
    shop.melt(next(case for case in cases() if case.cause == "held-long").melt)
    return shop.data


@pytest.fixture
def at_home(kept: Path, data: Path, furnace: Scripted) -> Path:
    for name in ("furnace.db", "book.db", "identity.json"):
        if (kept / name).exists():
            shutil.copy(kept / name, data / name)
    return data


def page(phone: Browser, path: str, status: int = 200) -> str:
    answer = phone.get(path)
    assert answer.status_code == status, answer.text
    return said(unescape(answer.text))


def test_five_melts_stand_side_by_side_phase_by_phase(at_home: Path, phone: Browser) -> None:
    assert "Which melts side by side?" in page(phone, "/compare")
    shown = page(phone, "/compare?melt=1&melt=4")
    assert "A-001, A-004 side by side." in shown
    assert "min of it in the phase hold." in shown
    assert page(phone, "/compare?melt=99", 404)
    with open_log(at_home) as log:
        found = courses(log, [log.firing(number) for number in (1, 4)])
    for each in found:
        assert [phase.name for phase in each.phases] == [name for name in NAMES if each.phase(name)]
        assert sum(phase.minutes for phase in each.phases) == pytest.approx(each.minutes, abs=0.1)
        assert sum(phase.kwh for phase in each.phases) == pytest.approx(each.kwh, rel=0.03)
        assert each.into_metal_kwh is not None
        assert 0.15 * each.kwh < each.into_metal_kwh < each.kwh
    liquid = [each.liquid_min or 0.0 for each in found]
    assert liquid[1] > liquid[0] + 25.0


def test_without_an_estimate_the_reading_parts_the_phases(at_home: Path) -> None:
    with open_log(at_home) as log:
        firing = log.firing(1)
        by_estimate = courses(log, [firing])[0]
        by_reading = of_rows(firing, log.frozen(1), log.minutes(1), [], [])
    assert (by_estimate.by, by_reading.by) == ("estimate", "reading")
    assert by_reading.phase("melt") is not None
    assert by_reading.poured_by == "reading"


def test_what_was_added_counts_into_the_charge_and_into_what_a_kilogram_took(at_home: Path) -> None:
    with open_log(at_home) as log:
        firing, frozen, minutes = log.firing(1), log.frozen(1), log.minutes(1)
    begun = frozen["charge"]["mass_kg"]
    added = [{"t_s": 60.0 * at, "kind": "addition", "mass_kg": kg} for at, kg in ((40, 0.15), (41, 0.25))]
    alone, more = (of_rows(firing, frozen, minutes, [], notes) for notes in ([], added))
    assert alone.charge_kg == begun
    assert more.charge_kg == pytest.approx(begun + 0.4)
    assert more.kwh_per_kg == pytest.approx(more.kwh / (begun + 0.4))
    weighed = [added[0], {"t_s": 2430.0, "kind": "mass", "mass_kg": 2.0}, added[1], {"t_s": 9e3, "kind": "pour"}]
    assert of_rows(firing, frozen, minutes, [], weighed).charge_kg == 2.25


def test_trends_say_no_more_than_their_scatter(at_home: Path, phone: Browser) -> None:
    shown = page(phone, "/trends")
    assert "Usual yield: solid off-cuts" in shown
    assert "too few melts to say whether it moves" in shown
    assert "nobody read the mains voltage beside a firing" in shown
    draw = Random(3)
    steady = [Point(day, 90.0 + draw.gauss(0.0, 3.0), "") for day in range(30)]
    rising = [Point(day, 90.0 + day + draw.gauss(0.0, 3.0), "") for day in range(30)]
    assert moved(steady, "Duration", "min").endswith("no more change than its scatter.")
    assert "more than at first" in moved(rising, "Duration", "min")


def test_the_poor_ingot_s_page_names_the_seeded_cause_and_its_evidence(at_home: Path, phone: Browser) -> None:
    shown = page(phone, "/ingots/A-004-1/why")
    assert "Likely: liquid for long: gas and oxide." in shown
    assert "min liquid; usual here" in shown
    assert "nothing was tested" in shown
    assert "Nothing in the record stands out." in page(phone, "/ingots/A-001-1/why?seen=cracks")
    assert page(phone, "/ingots/A-099-1/why", 404)


def test_search_finds_words_alloys_and_days_and_refuses_a_day_that_is_none(at_home: Path, phone: Browser) -> None:
    assert "A-004/1ingot, 2026-01-29" in page(phone, "/melts?q=pores")
    assert "Nothing was found" in page(phone, "/melts?q=pores+7075")
    assert "Not searched. from is 'May'; allowed: 2026, 2026-03 or 2026-03-14" in page(phone, "/melts?from=May")
    with open_log(at_home) as log, read_book(at_home / FILE_NAME) as book:
        assert {hit.kind for hit in search(book, log, asked("6082"))} == {"melt", "lot"}
        first = [hit.name for hit in search(book, log, asked("", "2026-01", "2026-01-16")) if hit.kind == "melt"]
        assert first == ["A-002", "A-001"]
        assert search(book, log, asked("")) == []
        assert [line.heat_number for line in lines(book, log.firings())] == ["A-001", "A-002", "A-003", "A-004"]
    with pytest.raises(InputRefused, match="search has 81 characters; allowed: up to 80"):
        asked("x" * 81)


def test_a_melt_s_own_page_has_its_phases_and_leads_to_the_melts_before_it(at_home: Path, phone: Browser) -> None:
    html = phone.get("/melts/4").text
    assert "By phases" in html
    assert "/compare?melt=4&amp;melt=3&amp;melt=2&amp;melt=1" in html


def test_as_plain_values_a_trend_keeps_its_units(at_home: Path) -> None:
    with open_log(at_home) as log, read_book(at_home / FILE_NAME) as book:
        found = years.as_object(years.trends(lines(book, log.firings())))
    assert {each["id"]: each["unit"] for each in found} == {"yield": "%", "energy": "kWh/kg", "duration": "min"}
