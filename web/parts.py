"""The parts that `create_app` joins, as the pages reach them."""

from dataclasses import dataclass
from typing import cast

from flask import current_app

from web.asking import Asking
from web.audit import Audit
from web.bench import Bench
from web.book import Book
from web.config import WebConfig
from web.drawing import Drawer
from web.equipment import Equipment
from web.feed import Feed
from web.forecasts import Forecasts
from web.telling import Teller


@dataclass(frozen=True, slots=True)
class Parts:
    """Everything that outlives a request."""

    config: WebConfig
    feed: Feed
    drawer: Drawer
    teller: Teller
    asking: Asking
    book: Book
    audit: Audit
    bench: Bench | None
    equipment: Equipment
    forecasts: Forecasts


def parts() -> Parts:
    """The parts of the application that answers now."""
    return cast(Parts, current_app.extensions["meltkeeper"])
