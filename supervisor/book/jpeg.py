"""A JPEG file looked at without decoding it: its size, and the same picture without what else a phone writes into it.

Nothing is decoded here, so that no picture can ask for more memory than its own bytes; whoever shows it meets at most
1600 by 1600 points. Markers: ITU-T T.81 (1992), annex B; JFIF: ITU-T T.871 (2011).
"""

from typing import NamedTuple

from supervisor.refusal import InputRefused

MOST_POINTS = 1600
"""Of the longer side: the phone draws it anew before it is sent."""

MOST_BYTES = 240_000
"""The pages take no more from a phone at once; a card holds thousands of these."""

MOST_SCANS = 12
"""A picture of many scans makes a phone decode it over and over."""

_START, _END, _SCAN = 0xD8, 0xD9, 0xDA
_FRAMES = (0xC0, 0xC1, 0xC2)  # baseline, extended, progressive: what phones and browsers read
_KEPT = {0xC4, 0xDB, 0xDD, 0xE0, 0xEE, *_FRAMES, _SCAN}
"""Tables, frames, scans, and the two notes on colour. Place, time, owner, thumbnail and remarks are in the others."""


class Jpeg(NamedTuple):
    """A picture that may be kept."""

    data: bytes
    wide: int
    high: int


def checked(data: bytes) -> Jpeg:
    """The picture without anything but the picture.

    Raises:
        InputRefused: it is no JPEG, is cut off, or is larger than allowed.
    """
    if len(data) > MOST_BYTES:
        raise InputRefused(f"The photograph has {len(data)} bytes; allowed: up to {MOST_BYTES}")
    if data[:2] != bytes((0xFF, _START)):
        raise InputRefused("The photograph is no JPEG; allowed: a JPEG picture, as the page draws it anew")
    kept, size, scans, at = [data[:2]], None, 0, 2
    while True:
        marker, at = _marker(data, at)
        if marker == _END:
            break
        end = at + _length(data, at)
        if marker in _FRAMES:
            if size is not None:
                raise InputRefused("The photograph holds several pictures; allowed: one")
            size = _size(data, at, end)
        if marker == _SCAN:
            scans += 1
            end = _end_of_scan(data, end)
        if marker in _KEPT:
            kept.append(bytes((0xFF, marker)) + data[at:end])
        elif 0xC0 <= marker <= 0xCF:
            raise InputRefused(
                "The photograph is a kind of JPEG that phones cannot read; allowed: baseline, progressive"
            )
        at = end
    if size is None or not 0 < scans <= MOST_SCANS:
        raise InputRefused("The photograph holds no picture; allowed: one picture")
    return Jpeg(b"".join([*kept, bytes((0xFF, _END))]), *size)


def _cut_off() -> InputRefused:
    return InputRefused("The photograph is cut off; allowed: a whole JPEG. Send it again.")


def _marker(data: bytes, at: int) -> tuple[int, int]:
    """The marker that stands here, and where what belongs to it begins."""
    while at + 1 < len(data) and data[at] == 0xFF:
        at += 1
        if data[at] != 0xFF:
            return data[at], at + 1
    raise _cut_off()


def _length(data: bytes, at: int) -> int:
    length = int.from_bytes(data[at : at + 2], "big")
    if length < 2 or at + length > len(data):
        raise _cut_off()
    return length


def _size(data: bytes, at: int, end: int) -> tuple[int, int]:
    if end - at < 8:
        raise _cut_off()
    high, wide = int.from_bytes(data[at + 3 : at + 5], "big"), int.from_bytes(data[at + 5 : at + 7], "big")
    if not (0 < wide <= MOST_POINTS and 0 < high <= MOST_POINTS):
        raise InputRefused(f"The photograph is {wide} by {high} points; allowed: up to {MOST_POINTS} on each side")
    return wide, high


def _end_of_scan(data: bytes, at: int) -> int:
    """Where the next marker stands: a zero after 0xFF is data, and restarts belong to the scan."""
    while True:
        at = data.find(0xFF, at)
        if at < 0 or at + 1 >= len(data):
            raise _cut_off()
        following = data[at + 1]
        if following != 0x00 and not 0xD0 <= following <= 0xD7 and following != 0xFF:
            return at
        at += 1 if following == 0xFF else 2
