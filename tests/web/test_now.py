"""Furnace now, as it comes from the server: what it shows in each state, and what its forms send."""

import re
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from supervisor.firing.commands import Acknowledge, Command, Note, NoteKind, Prepare, Reset, Resume, Start
from tests.web.conftest import Browser, Clock
from tests.web.kept import keep_firings
from tests.web.scripted import Scripted
from tests.web.snapshots import ALL, GATE, HEATING, HELD, IDLE, LIQUID, STARTING, STOPPED, TRIPPED, Snapshot, made

JSON = {"Accept": "application/json"}


def look(phone: Browser, furnace: Scripted, snapshot: Snapshot, **changes: Any) -> str:
    """Show a snapshot and look at the page once it has come through."""
    furnace.show(snapshot, **changes)
    furnace.wait(0.25)
    return unescape(phone.get("/").text)


def offered(page: str) -> set[str]:
    return set(
        re.findall(
            r'<form class="(?:command|command entry|command entry wide|stopform)" method="post" action="/([a-z]+)"',
            page,
        )
    )


def said(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", "", html))


def test_the_first_number_is_there_without_any_script(phone: Browser, furnace: Scripted) -> None:
    page = look(phone, furnace, HEATING)
    assert "276<small> °C" in page
    assert "setpoint 283 °C" in page
    assert "Heating, all solid. The gate asks at 545 °C. Nothing melts until you press." in said(page)
    assert '<form class="stopform" method="post" action="/stop">' in page


@pytest.mark.parametrize("state", sorted(ALL))
def test_what_is_offered_is_what_the_snapshot_allows(phone: Browser, furnace: Scripted, state: str) -> None:
    snapshot = ALL[state]
    allowed = {command["name"] for command in snapshot["commands"] if command["allowed"]}
    if not any("unacknowledged" in alarm["state"] for alarm in snapshot["alarms"]):
        allowed.discard("acknowledge")  # there is nothing to have seen
    if state in {"stopped", "idle", "tripped"}:
        allowed.discard("lower")  # nothing runs that could be lowered
    assert offered(look(phone, furnace, snapshot)) == allowed


@pytest.mark.parametrize("state", sorted(ALL))
def test_a_stranger_is_offered_stop_and_lower_alone(stranger: Browser, furnace: Scripted, state: str) -> None:
    stranger.post("/first")
    assert offered(look(stranger, furnace, ALL[state])) <= {"stop", "lower"}


def test_the_metal_is_never_called_ready(phone: Browser, furnace: Scripted) -> None:
    page = said(look(phone, furnace, LIQUID))
    assert "not estimated yet" in page
    assert "Chamber at temperature for 12 min: look. Take heat off first" in page
    assert "ready" not in page.lower()
    assert "all solid" not in page.lower()


def test_a_trip_shows_first_cause_acts_and_that_heat_is_proved_off(phone: Browser, furnace: Scripted) -> None:
    page = look(phone, furnace, TRIPPED)
    assert 'aria-live="assertive"' in page
    assert page.index("Switch off at the wall") < page.index("Keep the lid shut")
    assert "– –" in page
    assert "open circuit" in page
    assert "Nothing on this page resets." in page
    assert "Off, proved." in page


def test_off_is_not_said_before_it_is_proved(phone: Browser, furnace: Scripted) -> None:
    heat = {"allowed": False, "off": "ordered", "sentence": "Off was ordered."}
    page = said(look(phone, furnace, TRIPPED, heat=heat))
    assert "Off, proved" not in page
    assert "ordered, not proved yet" in page


def test_conditions_say_what_is_missing_and_what_mends_it(phone: Browser, furnace: Scripted) -> None:
    page = said(look(phone, furnace, STOPPED))
    assert "What heat asks for1 missing" in page
    assert "Profile chosen: missing No profile is chosen. Choose a profile." in page


def test_a_start_reads_back_everything_and_shows_the_cautions(phone: Browser, furnace: Scripted) -> None:
    page = said(look(phone, furnace, IDLE))
    for words in ("Ingots, 2 kg", "2.00 kg of 6082, off-cuts", "A-097", "760 °C", "3 h 30 min", "3.3 kWh"):
        assert words in page
    assert "Water under molten metal throws it" in page
    assert "hold the button at the furnace 3 s" in page


def test_what_the_furnace_asks_is_said_with_the_seconds_left(phone: Browser, furnace: Scripted) -> None:
    page = said(look(phone, furnace, STARTING))
    assert re.search(
        r"Hold the button at the furnace\. It ticks while you hold\. 4\d s left\. A tap here does not count\.", page
    )
    assert "A short press." in said(look(phone, furnace, GATE))


def test_a_simulated_furnace_is_stamped_so(phone: Browser, furnace: Scripted) -> None:
    assert "SIMULATED, INVENTED" in look(phone, furnace, HEATING)
    real = {**HEATING["furnace"], "backend": "pi", "invented": False}
    assert "SIMULATED" not in look(phone, furnace, made(HEATING, furnace=real))


def test_there_is_no_bench_without_its_socket(phone: Browser, furnace: Scripted) -> None:
    assert "Bench" not in look(phone, furnace, HEATING)
    assert phone.post("/bench", data={"lever": "lid", "to": "open"}).status_code == 404


def test_an_old_page_withdraws_what_it_promised(phone: Browser, furnace: Scripted, time: Clock) -> None:
    look(phone, furnace, GATE)
    furnace.turning = False
    time.ahead_s = 11
    page = phone.get("/").text
    assert 'data-stale="old"' in page
    assert 'data-tone="blind"' in page
    assert "This page is" in page
    assert "Press the button" not in page
    assert offered(page) == {"stop", "lower"}


def test_after_half_a_minute_the_numbers_go(phone: Browser, furnace: Scripted, time: Clock) -> None:
    look(phone, furnace, HEATING)
    furnace.turning = False
    time.ahead_s = 31
    page = phone.get("/").text
    assert "– –" in page
    assert "was 276 °C" in page


def test_a_supervisor_that_repeats_itself_is_silent(phone: Browser, furnace: Scripted) -> None:
    look(phone, furnace, HEATING)
    furnace.turning = False
    furnace.wait(0.2)
    before = phone.get("/live.json").json
    furnace.link.publish(furnace.snapshot)
    furnace.wait(0.3)
    after = phone.get("/live.json").json
    assert after["live"]["id"] == before["live"]["id"]
    assert after["age_s"] > before["age_s"]


def test_a_page_whose_supervisor_never_answered_says_so_and_can_still_try_to_stop(
    phone: Browser, furnace: Scripted, data: Path
) -> None:
    furnace.close()
    answer = phone.post("/stop", headers=JSON).json
    assert answer["answer"] == "unknown"
    assert answer["off"] is None or answer["off"] == "proved"


# --- what is sent ------------------------------------------------------------------------------------------------


def send(phone: Browser, furnace: Scripted, path: str, **form: object) -> Command:
    answer = phone.post(path, data=form, headers=JSON)
    assert answer.json["answer"] == "accepted", answer.text
    return furnace.asked[-1]


def test_a_start_echoes_what_was_read_back_and_names_the_epoch(phone: Browser, furnace: Scripted) -> None:
    page = look(phone, furnace, IDLE)
    form = page[page.index('action="/start"') :].partition("</form>")[0]
    fields = dict(re.findall(r'name="(\w+)" value="([^"]*)"', form))
    assert fields == {
        "epoch": "4",
        "profile": "Ingots, 2 kg",
        "mass_kg": "2.0",
        "top_c": "760.0",
        "longest_s": "12600.0",
        "allowance_wh": "3300.0",
        "cautions_read": "yes",
    }
    asked = send(phone, furnace, "/start", **fields)
    assert isinstance(asked, Start)
    assert (asked.epoch, asked.profile, asked.mass_kg, asked.top_c) == (4, "Ingots, 2 kg", 2.0, 760.0)
    assert (asked.longest_s, asked.allowance_wh, asked.cautions_read) == (12600.0, 3300.0, True)
    assert (asked.by.who, asked.by.where) == ("Ada’s phone", "page (same user)")


def test_a_start_without_metal_sends_no_mass_and_unread_cautions_stay_unread(phone: Browser, furnace: Scripted) -> None:
    fields = {"epoch": 4, "profile": "Dry-out", "mass_kg": "", "top_c": 360, "longest_s": 21600, "allowance_wh": 2000}
    asked = send(phone, furnace, "/start", **fields)
    assert isinstance(asked, Start)
    assert asked.mass_kg is None
    assert not asked.cautions_read


def test_preparing_sends_the_file_and_the_next_heat_number(phone: Browser, furnace: Scripted, data: Path) -> None:
    keep_firings(data)
    look(phone, furnace, STOPPED)
    asked = send(phone, furnace, "/prepare", profile="example/ingots-2kg")
    assert isinstance(asked, Prepare)
    assert asked.profile.name == "Ingots, 2 kg of 6082"
    assert asked.heat_number == "A-098"
    asked = send(phone, furnace, "/prepare", profile="example/dry-out-6h")
    assert isinstance(asked, Prepare)
    assert asked.heat_number is None


def test_own_profiles_lie_in_the_data_directory_and_broken_ones_say_why(
    phone: Browser, furnace: Scripted, data: Path, time: Clock
) -> None:
    own = data / "profiles"
    own.mkdir()
    (own / "mine.toml").write_text(
        Path("docs/examples/ingots-2kg.toml").read_text().replace("Ingots, 2 kg of 6082", "Mine")
    )
    (own / "broken.toml").write_text("name = ")
    (own / "..evil.toml").write_text("")
    time.ahead_s += 5
    page = said(look(phone, furnace, STOPPED))
    assert "Mine2.00 kg, top 760 °C, your own" in page
    assert "broken.toml cannot be read" in page
    assert isinstance(send(phone, furnace, "/prepare", profile="own/mine"), Prepare)


@pytest.mark.parametrize("key", ["../furnace", "example/../../pyproject", "", "own/broken"])
def test_no_other_file_can_be_prepared(phone: Browser, furnace: Scripted, key: str) -> None:
    answer = phone.post("/prepare", data={"profile": key}, headers=JSON)
    assert answer.json["answer"] == "refused"
    assert f"profile is {key!r}; allowed: one of the list." in answer.json["sentence"]
    assert not furnace.asked


def test_going_on_names_the_epoch_that_was_seen(phone: Browser, furnace: Scripted) -> None:
    page = look(phone, furnace, HELD)
    assert 'name="epoch" value="9"' in page
    asked = send(phone, furnace, "/resume", epoch=9)
    assert isinstance(asked, Resume)
    assert asked.epoch == 9


def test_notes_carry_mass_probe_reading_and_words(phone: Browser, furnace: Scripted, time: Clock) -> None:
    cases = [
        ({"kind": "addition", "mass_kg": "0,35"}, (NoteKind.ADDITION, 0.35, None, "")),
        ({"kind": "dip reading", "temperature": "731.5"}, (NoteKind.DIP, None, 731.5, "")),
        (
            {"kind": "skim", "mass_kg": "", "temperature": "", "text": " much dross "},
            (NoteKind.SKIM, None, None, "much dross"),
        ),
        ({"kind": "pour"}, (NoteKind.POUR, None, None, "")),
        ({"kind": "go on", "epoch": "10"}, (NoteKind.WORD, None, None, "")),
    ]
    for form, expected in cases:
        time.ahead_s += 5
        asked = send(phone, furnace, "/note", **form)
        assert isinstance(asked, Note)
        assert (asked.kind, asked.mass_kg, asked.temperature_c, asked.text) == expected


def test_a_probe_reading_in_fahrenheit_is_kept_in_celsius(phone: Browser, furnace: Scripted) -> None:
    phone.post("/settings", data={"units": "F", "light": "auto"})
    asked = send(phone, furnace, "/note", kind="dip reading", temperature="1350")
    assert isinstance(asked, Note)
    assert asked.temperature_c == pytest.approx(732.22, abs=0.01)


@pytest.mark.parametrize(
    ("path", "form", "sentence"),
    [
        ("/note", {"kind": "addition", "mass_kg": "much"}, "mass kg is 'much'; allowed: a number, in kg."),
        ("/note", {"kind": "dip reading", "temperature": ""}, "temperature is ''; allowed: a number, in °C."),
        ("/resume", {}, "epoch is ''; allowed: a whole number."),
        ("/reset", {"found": "  "}, "What was found is empty"),
        ("/raise", {"epoch": "3", "by_k": "inf"}, "by k is 'inf'; allowed: a number, in K."),
    ],
)
def test_bad_input_names_field_value_and_what_is_allowed(
    phone: Browser, furnace: Scripted, path: str, form: dict[str, str], sentence: str
) -> None:
    answer = phone.post(path, data=form, headers=JSON).json
    assert answer["answer"] == "refused"
    assert sentence in answer["sentence"]
    assert not furnace.asked


def test_acknowledge_and_reset(phone: Browser, furnace: Scripted) -> None:
    assert isinstance(send(phone, furnace, "/acknowledge"), Acknowledge)
    asked = send(phone, furnace, "/reset", found="The plug was pulled.")
    assert isinstance(asked, Reset)
    assert asked.found == "The plug was pulled."


def test_a_refusal_is_shown_with_its_reason_on_a_page_without_script(phone: Browser, furnace: Scripted) -> None:
    look(phone, furnace, HEATING)
    furnace.answer = (False, "It is held already.")
    page = phone.post("/hold", follow_redirects=True).text
    assert "Not done.</b> It is held already." in page


def test_a_stop_without_script_says_off_proved_only_when_it_is(phone: Browser, furnace: Scripted) -> None:
    look(phone, furnace, HEATING)
    page = phone.post("/stop", follow_redirects=True).text
    assert "Not confirmed: switch off at the furnace." in page
    look(phone, furnace, STOPPED)
    page = phone.post("/stop", follow_redirects=True).text
    assert "Heat is off, proved." in page


def test_nobody_starts_before_the_cautions_were_read(
    stranger: Browser, furnace: Scripted, app: Any, time: Clock
) -> None:
    from tests.web.conftest import pair, parts

    pair(stranger, parts(app).book, time.utc_ms())
    look(stranger, furnace, STOPPED)
    assert stranger.get("/").headers["Location"] == "/first"
    answer = stranger.post("/prepare", data={"profile": "example/ingots-2kg"}, headers=JSON).json
    assert answer == {"answer": "refused", "sentence": "Read the cautions first: page Cautions.", "word": "Not done."}
    assert "Water under molten metal throws it" in stranger.get("/first").text
    stranger.post("/first")
    assert stranger.get("/").status_code == 200


def test_the_cautions_stand_in_nobodys_way_while_the_furnace_is_at_work(stranger: Browser, furnace: Scripted) -> None:
    furnace.show(made(HEATING))
    furnace.wait(0.6)
    assert stranger.get("/").status_code == 200
