"""The page Model: what is learned in plain words, model against data, what is lacking, and how one is put back."""

import json
import re
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from supervisor.logbook.reading import open_log
from supervisor.logbook.records import ModelRow
from supervisor.model import reduced
from tests.supervisor.logbook import scribe_of
from tests.web.conftest import Browser
from tests.web.kept_melt import against, keep_a_melt, learned
from tests.web.looking import look
from tests.web.melting import MODEL
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import commands, made
from tests.web.snapshots import STOPPED
from web.chart import against as drawn
from web.learned import FACTORS, factors, lacks

MAY_ADOPT = made(STOPPED, model=MODEL, commands=commands("prepare", "adopt"))


def said_by(firings: list[int]) -> dict[str, Any]:
    """What a model learned from these firings says in the log."""
    found: dict[str, Any] = json.loads(learned(firings, 0.1).to_json())
    return found


def said(page: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", page))


def test_a_furnace_that_nothing_is_learned_of_says_so_and_what_would_teach_it(
    phone: Browser, furnace: Scripted
) -> None:
    page = said(phone.get("/model").text)
    assert "Nothing is learned of this furnace yet." in page
    assert "need three melts: charge weighed, run to the end without an alarm, the pour noted." in page


def test_what_is_learned_is_told_with_its_standard_errors(phone: Browser, furnace: Scripted, data: Path) -> None:
    keep_a_melt(data)
    page = said(phone.get("/model").text)
    assert "Learned from 3 firings of its own." in page
    assert "Heat lost through the lining 13 % more than the data sheets, ± 3 %" in page
    assert "Heat that the lining takes up not to be told from the data sheets, ± 8 %" in page
    assert "Weight of the hot face not told apart yet, ± 49 %" in page
    assert "5 K while all is solid on the whole the reading is 1 K over the model" in page
    assert "A-098" in page
    assert "power metered" in page


def test_every_factor_has_words() -> None:
    assert tuple(FACTORS) == reduced.FACTORS
    assert [what for what, _ in factors(said_by([1]))] == list(FACTORS.values())


@pytest.mark.parametrize(
    ("count", "sentence"), [(0, "need three melts"), (1, "need two more melts"), (2, "need one more melt"), (3, None)]
)
def test_how_many_melts_are_lacking(count: int, sentence: str | None) -> None:
    found = [text for text in lacks(said_by(list(range(count))) if count else None) if "need " in text]
    assert bool(found) == (sentence is not None)
    assert all(sentence and sentence in text for text in found)


def test_each_firing_learned_from_is_drawn_with_model_against_data(
    phone: Browser, furnace: Scripted, data: Path
) -> None:
    keep_a_melt(data)
    page = phone.get("/model").text
    assert page.count('<svg class="against"') == 2
    assert 'aria-label="A-098: read against expected over 79 min, off by 3 K on the whole"' in page


@pytest.mark.parametrize(("units", "unit", "difference"), [("C", "°C", "K"), ("F", "°F", "°F")])
def test_the_picture_is_sound_and_keeps_gaps(units: str, unit: str, difference: str) -> None:
    series = against(1, 9.0)
    series["measured_c"][10] = None
    svg = ElementTree.fromstring(drawn(series, "<A-098>", units))  # type: ignore[arg-type]
    words = [text.text for text in svg.iter("text")]
    assert unit in words
    assert difference in words
    (read,) = [path.get("d") or "" for path in svg.iter("path") if path.get("class") == "read"]
    assert read.count("M") == 2
    numbers = [float(number) for number in re.findall(r"\d+\.\d", read)]
    assert max(numbers) < 328
    assert min(numbers) >= 0


def test_a_model_beyond_the_rule_waits_with_its_objection(phone: Browser, furnace: Scripted, data: Path) -> None:
    keep_a_melt(data)
    look(phone, furnace, MAY_ADOPT)
    page = said(phone.get("/model").text)
    assert "learned from 4 firings" in page
    assert "The loss through the lining is 121 % of" in page
    assert "Take the newer model beyond the rule: hold the button at the furnace 3 s" in page


def test_an_earlier_model_is_put_back_by_a_command(phone: Browser, furnace: Scripted, data: Path) -> None:
    keep_a_melt(data)
    look(phone, furnace, MAY_ADOPT)
    assert phone.get("/model").text.count("Put it back") == 1
    answer = phone.post("/model", data={"model": "1"}, headers={"Accept": "application/json"}).json
    assert answer["answer"] == "accepted", answer
    asked = furnace.asked[-1]
    assert type(asked).__name__ == "Adopt"
    assert asked.takes == 1  # type: ignore[union-attr]
    assert asked.ask  # type: ignore[union-attr]


def test_a_model_that_was_put_back_is_in_use_and_not_offered_again(
    phone: Browser, furnace: Scripted, data: Path
) -> None:
    keep_a_melt(data)
    with open_log(data) as log:
        first = log.models()[-1]
    with scribe_of(data) as scribe:
        text = json.dumps(first.model)
        scribe.put([ModelRow(1, True, 1, "Ada’s phone", "page", text, {"series": []}, "Model 1 put back.")])
    look(phone, furnace, MAY_ADOPT)
    page = said(phone.get("/model").text)
    assert "Learned from 1 firing of its own." in page
    assert "put back" in page
    assert "learned from 3 firings" in page
    assert page.count("Put it back") == 1


def test_nothing_is_offered_while_the_supervisor_refuses_it(phone: Browser, furnace: Scripted, data: Path) -> None:
    keep_a_melt(data)
    look(phone, furnace, made(MAY_ADOPT, commands=commands(why="Not while a firing runs.")))
    page = phone.get("/model").text
    assert 'action="/model"' not in page
    assert "Not while a firing runs." in page


def test_a_phone_that_looks_sees_the_model_and_cannot_change_it(looker: Browser, furnace: Scripted, data: Path) -> None:
    keep_a_melt(data)
    look(looker, furnace, MAY_ADOPT)
    assert 'action="/model"' not in looker.get("/model").text
    assert looker.post("/model", data={"model": "1"}).status_code == 403
    assert not furnace.asked


def test_a_model_that_is_not_in_the_list_is_refused(phone: Browser, furnace: Scripted, data: Path) -> None:
    keep_a_melt(data)
    answer = phone.post("/model", data={"model": "99"}, headers={"Accept": "application/json"}).json
    assert answer == {"answer": "refused", "word": "Not done.", "sentence": "model is '99'; allowed: one of the list."}
    assert not furnace.asked
