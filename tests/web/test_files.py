"""What leaves: compressed where the other end takes it, kept by the phone until it changes, the stream word by word."""

import gzip
import re
import zlib
from pathlib import Path

import pytest

from tests.web.conftest import Browser
from tests.web.scripted import Scripted
from tests.web.snapshots import HEATING

GZIP = {"Accept-Encoding": "gzip"}
STATIC = Path("web/static")


def marked(page: str) -> list[str]:
    """The addresses of files that a page asks for."""
    return re.findall(r'(?:href|src)="(/static/[^"]+)"', page)


def test_a_page_asks_for_every_file_by_its_mark_and_the_phone_keeps_it(stranger: Browser) -> None:
    found = marked(stranger.get("/first").text)
    assert {Path(address).name for address in found} >= {"look.css", "live.js", "age.js", "morph.js"}
    for address in found:
        assert re.match(r"/static/v-[0-9a-f]{12}/", address)
        answer = stranger.get(address)
        assert answer.status_code == 200
        assert answer.headers["Cache-Control"] == "public, max-age=31536000, immutable"


@pytest.mark.parametrize("address", ["/static/look.css", "/static/v-000000000000/look.css"])
def test_a_plain_address_or_an_old_mark_is_asked_again(stranger: Browser, address: str) -> None:
    first = stranger.get(address)
    assert first.data == (STATIC / "look.css").read_bytes()
    assert first.headers["Cache-Control"] == "no-cache"
    again = stranger.get(address, headers={"If-None-Match": first.headers["ETag"]})
    assert again.status_code == 304
    assert again.data == b""


def test_packed_files_hold_the_same_and_less(stranger: Browser) -> None:
    for path in (each for each in STATIC.rglob("*") if each.is_file()):
        answer = stranger.get(f"/static/{path.relative_to(STATIC)}", headers=GZIP)
        if answer.headers.get("Content-Encoding") != "gzip":
            assert answer.data == path.read_bytes()
            continue
        assert gzip.decompress(answer.data) == path.read_bytes()
        assert len(answer.data) < path.stat().st_size
        assert answer.headers["Vary"] == "Accept-Encoding"


@pytest.mark.parametrize("path", ["../access.py", "%2e%2e/access.py", "v-0/../../access.py", "nothing.css", "v-0", ""])
def test_nothing_else_is_a_file(stranger: Browser, path: str) -> None:
    assert stranger.get(f"/static/{path}").status_code == 404


def test_pages_and_data_are_packed_for_whoever_takes_it(phone: Browser, furnace: Scripted) -> None:
    furnace.show(HEATING)
    plain = phone.get("/")
    packed = phone.get("/", headers=GZIP)
    assert "Content-Encoding" not in plain.headers
    assert packed.headers["Content-Encoding"] == "gzip"
    assert b"Heating, all solid." in gzip.decompress(packed.data)
    assert len(packed.data) < len(plain.data) / 3
    assert "Content-Encoding" not in phone.get("/", headers={"Accept-Encoding": "gzip;q=0"}).headers


def test_each_word_of_a_packed_stream_can_be_read_when_it_comes(phone: Browser, furnace: Scripted) -> None:
    furnace.show(HEATING)
    reader, read = zlib.decompressobj(zlib.MAX_WBITS | 16), b""
    with phone.get("/live?page=now", headers=GZIP, buffered=False) as answer:
        assert answer.headers["Content-Encoding"] == "gzip"
        for number, chunk in enumerate(answer.response):
            read += reader.decompress(chunk)
            assert read.endswith(b"\n\n")
            if number == 2:
                break
    assert read.count(b"event: ") == 2
    assert b"276" in read
