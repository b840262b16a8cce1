"""What the forms of the page send to the supervisor, and how its answers are shown without script."""

import re
from pathlib import Path
from typing import Any

import pytest

from supervisor.firing.commands import Acknowledge, Command, Note, NoteKind, Prepare, Reset, Resume, Start
from tests.web.conftest import Browser, Clock
from tests.web.kept import keep_firings
from tests.web.looking import JSON, look, said
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import made
from tests.web.snapshots import HEATING, HELD, IDLE, STOPPED


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
        "drained": "yes",
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
    (own / "deep.toml").write_text("name = " + 3000 * "[")
    (own / "..evil.toml").write_text("")
    time.ahead_s += 5
    page = said(look(phone, furnace, STOPPED))
    assert "Mine2.00 kg, top 800 °C, your own" in page
    assert "broken.toml cannot be read" in page
    assert "deep.toml cannot be read" in page
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
