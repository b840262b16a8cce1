"""What leaves is compressed where the other end takes it: a phone at the edge of the Wi-Fi has 50 KB a second."""

import gzip
import zlib
from collections.abc import Iterator

from flask import Request, Response

LEAST_BYTES = 500
PAGE_LEVEL = 5  # a page of 20 KB takes a Pi about 2 ms
STREAM_LEVEL = 1  # once a second for each of 20 phones
STREAM_WINDOW_BITS = 13  # 8 KiB: with its tables 64 KiB for each of at most 20 streams
STREAM_MEMORY = 6
GZIP = 16  # zlib: with gzip's head and tail
PACKABLE = frozenset(
    {
        "text/html",
        "text/css",
        "text/csv",
        "text/javascript",
        "text/calendar",
        "application/json",
        "image/svg+xml",
        "application/openmetrics-text",
    }
)


def takes_gzip(asked: Request) -> bool:
    """The other end takes gzip."""
    return asked.accept_encodings.quality("gzip") > 0


def pack(response: Response) -> None:
    """Compress a whole answer in place, where it is text and long enough to gain."""
    if response.is_streamed or response.mimetype not in PACKABLE or "Content-Encoding" in response.headers:
        return
    whole = response.get_data()
    if len(whole) >= LEAST_BYTES:
        response.set_data(gzip.compress(whole, PAGE_LEVEL, mtime=0))
        response.headers["Content-Encoding"] = "gzip"


def packed_stream(chunks: Iterator[str]) -> Iterator[bytes]:
    """Compress a stream so that each chunk arrives whole with what was sent so far.

    Source: RFC 1952; zlib's Z_SYNC_FLUSH ends a block at a byte, so that a reader has all that was written.
    """
    packer = zlib.compressobj(STREAM_LEVEL, zlib.DEFLATED, GZIP + STREAM_WINDOW_BITS, STREAM_MEMORY)
    try:
        for chunk in chunks:
            yield packer.compress(chunk.encode()) + packer.flush(zlib.Z_SYNC_FLUSH)
    finally:
        close = getattr(chunks, "close", None)
        if close:
            close()
    yield packer.flush()
