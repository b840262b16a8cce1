"""Photographs: the picture alone is kept, whole, by its digest; what is no picture gets a sentence."""

from collections.abc import Iterator
from hashlib import sha256
from io import BytesIO
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from supervisor.book import lots, photos
from supervisor.book.jpeg import MOST_BYTES, checked
from supervisor.book.verifying import verify
from supervisor.book.writing import Book, open_book
from supervisor.refusal import InputRefused
from tests.supervisor.metal.at_hand import NOW_MS


def jpeg(wide: int = 64, high: int = 48, *, with_place: bool = False, **more: object) -> bytes:
    """A picture of shades, as Pillow writes it."""
    shades = Image.linear_gradient("L").resize((wide, high))
    picture = Image.merge("RGB", (shades, shades.transpose(Image.Transpose.ROTATE_180), shades))
    exif = Image.Exif()
    if with_place:
        exif[0x010F], exif[0x8825] = "Ada’s phone", {1: "N", 2: (54.0, 5.0, 0.0)}
    out = BytesIO()
    picture.save(out, "JPEG", exif=exif, **more)
    return out.getvalue()


def points(data: bytes) -> bytes:
    with Image.open(BytesIO(data)) as picture:
        return picture.convert("RGB").tobytes()


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    path = tmp_path / "book.db"
    with open_book(path, who="Ada", sent_from="page", utc_ms=NOW_MS) as opened:
        lots.add(opened, 2.4, form="solid_offcut")
        yield opened
    assert verify(path).fault == ""


@pytest.mark.parametrize("progressive", [False, True])
def test_the_picture_stays_and_what_else_the_phone_wrote_goes(progressive: bool) -> None:
    came = jpeg(1600, 1200, with_place=True, comment=b"at home", progressive=progressive, quality=40)
    found = checked(came)
    assert (found.wide, found.high) == (1600, 1200)
    assert points(found.data) == points(came)
    for word in (b"Exif", b"Ada", b"at home"):
        assert word in came
        assert word not in found.data
    with Image.open(BytesIO(found.data)) as picture:
        assert not picture.getexif()
    assert checked(found.data) == found


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "The photograph is no JPEG"),
        (b"\x89PNG\r\n\x1a\n" + bytes(100), "The photograph is no JPEG"),
        (jpeg()[:-2], "The photograph is cut off"),
        (jpeg()[:40], "The photograph is cut off"),
        (jpeg(1601, 8), "The photograph is 1601 by 8 points; allowed: up to 1600 on each side"),
        (jpeg(8, 1601), "The photograph is 8 by 1601 points"),
        (bytes((0xFF, 0xD8)) + bytes(MOST_BYTES), f"The photograph has {MOST_BYTES + 2} bytes; allowed: up to"),
        (b"\xff\xd8\xff\xd9", "The photograph holds no picture"),
        (jpeg()[:-2] + jpeg()[2:], "The photograph holds several pictures"),
    ],
)
def test_what_is_no_picture_gets_a_sentence(data: bytes, sentence: str) -> None:
    with pytest.raises(InputRefused) as refused:
        checked(data)
    assert str(refused.value).startswith(sentence)


def test_a_small_file_that_claims_a_huge_picture_is_refused_without_decoding() -> None:
    small = jpeg(8, 8)
    at = small.index(b"\xff\xc0") + 5
    with pytest.raises(InputRefused, match="65000 by 65000 points"):
        checked(small[:at] + (65000).to_bytes(2, "big") * 2 + small[at + 4 :])


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 3000), st.binary(min_size=0, max_size=6))
def test_whatever_comes_is_kept_as_a_picture_or_refused(at: int, put: bytes) -> None:
    data = jpeg()
    at %= len(data)
    try:
        found = checked(data[:at] + put + data[at + len(put) :])
    except InputRefused:
        return
    assert found.wide <= 1600
    assert len(found.data) <= MOST_BYTES


def test_a_photograph_is_a_file_by_its_digest_and_a_row(book: Book, tmp_path: Path) -> None:
    kept = photos.add(book, tmp_path, ("lot", 1), jpeg(with_place=True))
    data = (tmp_path / kept.file).read_bytes()
    assert kept.file == f"photographs/{sha256(data).hexdigest()}.jpg"
    assert (kept.sha256, kept.who, kept.utc_ms) == (sha256(data).hexdigest(), "Ada", NOW_MS)
    assert photos.photos(book, ("lot", 1)) == [kept]
    assert photos.files(book) == [(kept.file, kept.sha256)]
    assert list(photos.faults(book, tmp_path)) == []
    with pytest.raises(InputRefused, match="L-1 has this photograph already"):
        photos.add(book, tmp_path, ("lot", 1), jpeg())
    assert [path.name for path in (tmp_path / "photographs").iterdir()] == [f"{kept.sha256}.jpg"]


def test_a_file_that_is_gone_or_was_exchanged_is_named(book: Book, tmp_path: Path) -> None:
    first, second = (photos.add(book, tmp_path, ("lot", 1), jpeg(wide)) for wide in (40, 48))
    (tmp_path / first.file).unlink()
    (tmp_path / second.file).write_bytes(jpeg(56))
    assert sorted(photos.faults(book, tmp_path)) == sorted([f"{first.file} is missing", f"{second.file} was altered"])


def test_one_thing_has_so_many_photographs_and_no_more(book: Book, tmp_path: Path) -> None:
    for number in range(photos.MOST_OF_ONE):
        photos.add(book, tmp_path, ("lot", 1), jpeg(16 + number))
    with pytest.raises(InputRefused, match="L-1 has 24 photographs; allowed: 24"):
        photos.add(book, tmp_path, ("lot", 1), jpeg(60))
