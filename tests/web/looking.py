"""Looking at the page that a snapshot makes."""

import re
from html import unescape
from typing import Any

from tests.web.conftest import Browser
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import Snapshot

JSON = {"Accept": "application/json"}


def look(phone: Browser, furnace: Scripted, snapshot: Snapshot, **changes: Any) -> str:
    """Show a snapshot and look at the page once it has come through."""
    furnace.show(snapshot, **changes)
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
