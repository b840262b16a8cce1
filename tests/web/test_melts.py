"""Past firings on the page: the list, one melt, and the table of its samples."""

from pathlib import Path

from tests.supervisor.logbook import scribe_of
from tests.web.conftest import Browser
from tests.web.kept import chamber_c, keep_firings
from tests.web.kept_melt import FORECAST, keep_a_melt, metal_c
from tests.web.looking import said
from tests.web.scripted import Scripted


def test_the_list_names_every_firing_and_how_it_ended(phone: Browser, furnace: Scripted, data: Path) -> None:
    keep_firings(data)
    page = said(phone.get("/melts").text)
    assert page.index("A-097") < page.index("A-096")
    assert "Two melts." in page
    assert "aborted by sensor open" in page


def test_one_melt_has_its_closing_results(phone: Browser, furnace: Scripted, data: Path) -> None:
    keep_firings(data)
    page = said(phone.get("/melts/1").text)
    assert "A-096 was ended by a watch: sensor open." in page
    assert "peak 500 °C" in page


def test_a_firing_without_closing_record_shows_what_its_samples_say(
    phone: Browser, furnace: Scripted, data: Path
) -> None:
    keep_firings(data)
    page = said(phone.get("/melts/2").text)
    assert "without its closing record" in page or "is running now" in page
    assert f"peak {chamber_c(1800):.0f} °C" in page


def test_there_is_no_page_for_a_firing_that_never_was(phone: Browser, furnace: Scripted, data: Path) -> None:
    keep_firings(data)
    assert phone.get("/melts/77").status_code == 404


def test_a_past_melt_shows_what_was_expected_beside_what_came(phone: Browser, furnace: Scripted, data: Path) -> None:
    keep_a_melt(data)
    page = said(phone.get("/melts/1").text.replace("<em>", " "))
    assert "Gate asksexpected after 27 min came after 28 min" in page
    assert "Pour likelyexpected after 62 min, 54 to 71 came after 69 min" in page
    assert "Energy until thenexpected 2.3 kWh came 2.5 kWh" in page


def test_what_has_not_come_is_not_yet_while_the_melt_goes_on_and_never_afterwards(
    phone: Browser, furnace: Scripted, data: Path
) -> None:
    keep_a_melt(data, as_far_as_s=660)
    with scribe_of(data):  # the supervisor writes on
        assert "Gate asksexpected after 27 min came not yet" in said(phone.get("/melts/1").text.replace("<em>", " "))
    assert "came it never asked" in said(phone.get("/melts/1").text.replace("<em>", " "))


def test_a_past_melt_shows_its_dip_beside_the_estimate(phone: Browser, furnace: Scripted, data: Path) -> None:
    keep_a_melt(data)
    page = said(phone.get("/melts/1").text.replace("<em>", " "))
    assert "Dip 727 °C the estimate had said 725 ± 15 K" in page
    assert "Metal, at mostabout 730 °C± 15 K, estimated" in page


def test_a_firing_that_nobody_forecast_shows_no_comparison(phone: Browser, furnace: Scripted, data: Path) -> None:
    keep_firings(data)
    page = said(phone.get("/melts/1").text)
    assert "Expected, and came" not in page
    assert "not estimated" in page


def test_the_strip_of_a_past_melt_has_the_metal_with_its_band_and_the_promise(
    phone: Browser, furnace: Scripted, data: Path
) -> None:
    keep_a_melt(data)
    curve = phone.get("/strip/1.json").json
    at = curve["metal"]["t_s"].index(3000)
    assert curve["metal"]["c"][at] == round(metal_c(3000), 1)
    assert curve["metal"]["low_c"][at] < curve["metal"]["c"][at] < curve["metal"]["high_c"][at]
    assert curve["promise"]["likely_s"] == 20 + 60 * FORECAST["minutes"]["likely"]  # type: ignore[index]


def test_the_strip_of_a_firing_that_was_not_followed_has_no_metal(
    phone: Browser, furnace: Scripted, data: Path
) -> None:
    keep_firings(data)
    curve = phone.get("/strip/1.json").json
    assert curve["metal"] == {"t_s": [], "c": [], "low_c": [], "high_c": []}
    assert curve["promise"] is None
