"""The profile editor: sentences in order, changed by taps; nothing is kept until it is saved, and then whole."""

import re
import tomllib
from pathlib import Path
from urllib.parse import urlencode

import pytest
from flask import Flask

from supervisor.firing.profile_file import profile_from_text
from supervisor.furnace.file import read_furnace
from tests.web.conftest import EXAMPLES, Browser, parts
from tests.web.looking import said
from tests.web.scripted import Scripted
from tests.web.snapshots import HEATING
from web.draft import Draft, changed, from_form, from_text

INGOTS = Path("docs/examples/ingots-2kg.toml")


def form_of(draft: Draft, **changes: str) -> dict[str, str]:
    """What the page's form sends for a draft."""
    found = {**draft.head, **draft.charge}
    for number, each in enumerate(draft.segments, start=1):
        found |= {f"kind-{number}": each.kind, f"until-{number}": each.until}
        found |= {f"{name}-{number}": each.typed[name] for name in each.fields}
    return {**found, **changes}


@pytest.fixture
def ingots() -> Draft:
    return from_text(INGOTS.read_text(encoding="utf-8"))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_shipped_profile_there_and_back_is_the_same(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    furnace = read_furnace("workshop")
    before = profile_from_text(text, "before", furnace)
    draft = from_text(text)
    made = from_form(form_of(draft), draft.remarks).toml()
    after = profile_from_text(made, "after", furnace)
    assert (after.segments, after.charge, after.top_c, after.pour_c, after.longest_s) == (
        before.segments, before.charge, before.top_c, before.pour_c, before.longest_s,
    )  # fmt: skip
    assert made.startswith(text.split("\n\n")[0])  # the remarks above stay


def test_taps_add_move_change_and_remove_a_segment(ingots: Draft) -> None:
    kinds = [each.kind for each in ingots.segments]
    assert kinds == ["rate", "hold", "hold"]
    assert [each.kind for each in changed(ingots, "add 1").segments] == ["rate", "hold", "hold", "hold"]
    assert [each.kind for each in changed(ingots, "add 3").segments][-1] == "rate"
    assert [each.kind for each in changed(ingots, "down 1").segments] == ["hold", "rate", "hold"]
    assert changed(changed(ingots, "up 3"), "down 2") == ingots
    assert len(changed(ingots, "remove 2").segments) == 2
    assert changed(ingots, "more 1 ramp_to_c").segments[0].typed["ramp_to_c"] == "750"
    assert changed(ingots, "less 2 hold_min").segments[1].typed["hold_min"] == "10"
    for nothing in ("up 1", "down 3", "remove 9", "more 1 hold_min", "more 1 nix", "fly 2", "add x", ""):
        assert changed(ingots, nothing) == ingots


def test_the_page_says_each_segment_in_a_sentence_with_its_picture(phone: Browser) -> None:
    text = phone.get("/profiles/example/ingots-2kg").text
    shown = said(text)
    assert "1. Ramp to 740 °C at 600 °C/h." in shown
    assert "2. Hold 15 min, from when the reading is within 5 K, then until you say go on." in shown
    assert '<polyline class="plan" points="34.0,' in text
    assert "From 20 to 740 °C in 1.5 h, at most 740 °C" in shown
    assert "It ships with the program" in shown


def test_a_tap_shows_another_draft_and_saves_nothing(phone: Browser, ingots: Draft, data: Path) -> None:
    asked = urlencode(form_of(ingots, do="more 1 ramp_to_c"))
    assert "1. Ramp to 750 °C at 600 °C/h." in said(phone.get(f"/profiles/example/ingots-2kg?{asked}").text)
    assert not (data / "profiles").exists()


@pytest.mark.parametrize(
    ("changes", "at", "sentence"),
    [
        ({"rate_c_per_h-1": "6000"}, 1, "segment[1].rate_c_per_h is 6000; allowed: up to"),
        ({"ramp_to_c-1": "900"}, 1, "segment[1].ramp_to_c is 900; allowed: 40 °C to this profile"),
        ({"hold_min-2": "x"}, 2, "segment[2].hold_min is &#39;x&#39;; allowed: a number"),
        ({"wait_within_c-2": "90"}, 2, "segment[2].wait_within_c is 90; allowed: 1 to 50 °C"),
        ({"top_c": "2000"}, 0, "top_c is 2000; allowed: 40 to"),
        ({"name": ""}, 0, "name is "),
        ({"kind-1": "hold", "hold_min-1": "5"}, 1, "a ramp before the first hold"),
        ({"alloy": ""}, 0, "charge.alloy is "),
    ],
)
def test_what_cannot_be_is_said_at_its_segment_and_is_not_saved(
    phone: Browser, ingots: Draft, data: Path, changes: dict[str, str], at: int, sentence: str
) -> None:
    form = form_of(ingots, **changes)
    for text in (
        phone.get(f"/profiles/example/ingots-2kg?{urlencode(form)}").text,
        phone.post("/profiles/example/ingots-2kg", data=form).text,
    ):
        assert sentence in said(text)
        wrong = re.findall(r'<li id="segment-(\d+)" class="wrong">', text)
        assert wrong == ([str(at)] if at else [])
    assert not (data / "profiles").exists()


def test_a_shipped_profile_is_copied_and_an_own_one_keeps_what_it_said_before(
    app: Flask, phone: Browser, ingots: Draft, data: Path
) -> None:
    before = INGOTS.read_bytes()
    done = phone.post(
        "/profiles/example/ingots-2kg", data=form_of(ingots, name="Mine, hotter", **{"ramp_to_c-1": "750"})
    )
    assert done.status_code == 303
    assert "Done. own/mine-hotter is saved: now name Mine, hotter; 1. Ramp to 750 °C" in said(
        phone.get(done.headers["Location"]).text
    )
    path = data / "profiles" / "mine-hotter.toml"
    assert INGOTS.read_bytes() == before
    assert tomllib.loads(path.read_text(encoding="utf-8"))["segment"][0]["ramp_to_c"] == 750
    again = phone.post("/profiles/example/ingots-2kg", data=form_of(ingots, name="Mine, hotter"))
    assert "allowed: one that no profile has yet, own/mine-hotter has this one" in said(again.text)
    mine = from_text(path.read_text(encoding="utf-8"))
    first = path.read_bytes()
    assert phone.post("/profiles/own/mine-hotter", data=form_of(mine, **{"hold_min-3": "8"})).status_code == 303
    (earlier,) = (data / "profiles" / "earlier").glob("mine-hotter.*.toml")
    assert earlier.read_bytes() == first
    parts(app).audit.flush(minute_over=True)
    (told, *_) = [each.what for _, each in parts(app).book.remembered(9) if each.what.startswith("profile own/")]
    assert told == "profile own/mine-hotter: now 3. Hold 8 min.; was 3. Hold 5 min.: saved"


def test_no_two_profiles_of_the_list_have_one_name(phone: Browser, ingots: Draft, data: Path) -> None:
    for name in (ingots.head["name"], f"  {ingots.head['name'].upper()} "):
        refused = said(phone.post("/profiles/example/ingots-2kg", data=form_of(ingots, name=name)).text)
        assert "Nothing is saved. name is &#39;" in refused
        assert "allowed: one that no profile has yet, example/ingots-2kg has this one" in refused
    assert not (data / "profiles").exists()
    phone.takes_s = 1.0
    for name in ("Mine", "Mine, hotter", "Mine: hotter"):
        assert phone.post("/profiles/example/ingots-2kg", data=form_of(ingots, name=name)).status_code == 303
    names = sorted(path.name for path in (data / "profiles").glob("*.toml"))
    assert names == ["mine-hotter-2.toml", "mine-hotter.toml", "mine.toml"]
    taken = phone.post("/profiles/own/mine", data=form_of(ingots, name="mine, HOTTER"))
    assert "own/mine-hotter has this one" in said(taken.text)
    assert phone.post("/profiles/own/mine", data=form_of(ingots, name="Mine")).status_code == 303


@pytest.mark.parametrize(("name", "stem"), [("ÄÖÜ", "aou"), ("Größe 2", "grosse-2"), ("плавка", "profile")])
def test_a_name_in_any_letters_names_its_file(phone: Browser, ingots: Draft, data: Path, name: str, stem: str) -> None:
    done = phone.post("/profiles/example/ingots-2kg", data=form_of(ingots, name=name))
    assert done.status_code == 303
    assert f"own/{stem} is saved" in said(phone.get(done.headers["Location"]).text)
    assert name in said(phone.get("/profiles").text)
    assert phone.get(f"/profiles/own/{stem}").status_code == 200


def test_only_a_phone_that_runs_may_save(looker: Browser, ingots: Draft, data: Path) -> None:
    assert looker.post("/profiles/example/ingots-2kg", data=form_of(ingots, name="Mine")).status_code == 403
    assert "Save" not in said(looker.get("/profiles/example/ingots-2kg").text)
    assert not (data / "profiles").exists()


def test_names_lead_nowhere_else(phone: Browser, ingots: Draft, data: Path) -> None:
    assert phone.get("/profiles/own/..%2F..%2Fbook").status_code == 404
    done = phone.post("/profiles/example/ingots-2kg", data=form_of(ingots, name="../../etc/passwd"))
    assert done.status_code == 303
    assert [path.name for path in (data / "profiles").iterdir()] == ["etc-passwd.toml"]
    refused = phone.post("/profiles/example/ingots-2kg", data=form_of(ingots, name="…"))
    assert "allowed: letters or digits in it" in said(refused.text)


def test_the_firing_that_runs_keeps_its_profile(phone: Browser, furnace: Scripted) -> None:
    kept = "it keeps the profile that it began with"
    assert kept not in said(phone.get("/profiles/example/ingots-2kg").text)
    furnace.show(HEATING, profile={**HEATING["profile"], "name": "Ingots, 2 kg of 6082"})
    assert kept in said(phone.get("/profiles/example/ingots-2kg").text)
    for over in ("aborted", "complete", "stopped"):
        furnace.show(furnace.snapshot, state=over)
        assert kept not in said(phone.get("/profiles/example/ingots-2kg").text)


def test_the_list_says_what_is_one_s_own_and_what_is_to_be_copied(phone: Browser) -> None:
    shown = said(phone.get("/profiles").text)
    assert "No profiles of your own." in shown
    assert "Ingots, 2 kg of 6082" in shown
    assert phone.get("/profiles/own/nix").status_code == 404
