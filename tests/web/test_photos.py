"""Photographs of lots and ingots as the pages take and show them."""

from pathlib import Path

import pytest

from hardware import clock
from supervisor.book import lots
from supervisor.book.verifying import verify
from supervisor.book.writing import open_book
from tests.supervisor.book.shop import Shop, story
from tests.supervisor.book.test_photos import jpeg
from tests.web.conftest import Browser
from tests.web.looking import said

JPEG = {"Content-Type": "image/jpeg", "Accept": "application/json"}


@pytest.fixture
def weighed(data: Path) -> None:
    with open_book(data / "book.db", who="Ada", sent_from="page", utc_ms=clock.utc_ms()) as book:
        lots.add(book, 2.4, form="solid_offcut")


@pytest.mark.usefixtures("weighed")
def test_a_photograph_is_kept_and_shown_to_paired_phones_alone(
    phone: Browser, looker: Browser, stranger: Browser, data: Path
) -> None:
    answer = phone.post("/photos/L-1", data=jpeg(with_place=True), headers=JPEG)
    assert (answer.json["answer"], answer.json["sentence"]) == ("accepted", "L-1: photograph 1 is kept.")
    (path,) = (data / "photographs").iterdir()
    address = f"/photos/{path.stem}.jpg"
    text = phone.get("/lots/L-1").text
    assert f'<img src="{address}"' in text
    assert 'data-to="/photos/L-1"' in text
    assert "photo.js" in text
    shown = looker.get(address)
    assert (shown.status_code, shown.mimetype, shown.data) == (200, "image/jpeg", path.read_bytes())
    assert b"Ada" not in shown.data
    assert "data-to=" not in looker.get("/lots/L-1").text
    assert looker.post("/photos/L-1", data=jpeg(), headers=JPEG).status_code == 403
    assert stranger.get(address).status_code == 403


@pytest.mark.usefixtures("weighed")
def test_what_is_no_photograph_is_answered_with_a_sentence(phone: Browser, data: Path) -> None:
    for body, headers, sentence in (
        (b"<html>", JPEG, "The photograph is no JPEG"),
        (jpeg(), {**JPEG, "Content-Type": "image/png"}, "The photograph is no JPEG"),
        (jpeg(1601, 4), JPEG, "The photograph is 1601 by 4 points"),
    ):
        answer = phone.post("/photos/L-1", data=body, headers=headers)
        assert answer.json["answer"] == "refused"
        assert answer.json["sentence"].startswith(sentence)
    assert "is no lot or ingot" in phone.post("/photos/L-9", data=jpeg(), headers=JPEG).json["sentence"]
    assert not (data / "photographs").exists()
    assert phone.post("/photos/L-1", data=bytes(400_000), headers=JPEG).status_code == 413


def test_no_address_leads_out_of_the_folder(phone: Browser, data: Path) -> None:
    (data / "photographs").mkdir()
    (data / "secret.jpg").write_bytes(b"secret")
    for address in ("/photos/..%2Fsecret.jpg", "/photos/secret.jpg", f"/photos/{'0' * 64}.jpg"):
        assert phone.get(address).status_code == 404
    assert "secret" not in said(phone.get("/metal").text)


def test_an_ingots_photograph_joins_how_it_cut(phone: Browser, data: Path) -> None:
    story(Shop(data))
    phone.takes_s = 1.0
    phone.post("/ingots/A-094-1/note", data={"score": "4", "text": "short chips"})
    answer = phone.post("/photos/A-094-1", data=jpeg(), headers=JPEG)
    assert answer.json["sentence"] == "A-094-1: photograph 1 is kept."
    shown = said(phone.get("/ingots/A-094-1").text)
    assert "Machined: 4 of 5, good" in shown
    assert "how it looked" in shown
    assert verify(data / "book.db").fault == ""
