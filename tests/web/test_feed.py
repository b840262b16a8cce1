"""Where nobody answers a page is not kept waiting: it says so, and the stream tells when somebody does."""

from collections.abc import Callable, Iterator
from typing import Any

from hardware.clock import monotonic_s
from web.feed import Answered, Feed, Snapshot


class Nobody:
    """A link that nobody listens on."""

    def send(self, message: dict[str, Any]) -> Answered:
        raise AssertionError(message)

    def watch(self, readers: Callable[[], int]) -> Iterator[Snapshot]:
        raise ConnectionRefusedError("nobody listens")


def test_where_nobody_listens_a_page_waits_for_nothing() -> None:
    feed = Feed(Nobody(), monotonic_s)
    feed.start()
    began_s = monotonic_s()
    assert feed.latest(30.0) is None
    assert feed.trouble == "nobody listens"
    assert monotonic_s() - began_s < 15.0
    feed.close()
