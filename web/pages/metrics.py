"""Metrics: the furnace's figures in OpenMetrics 1.0, for whoever may see the furnace."""

from flask import Blueprint, Response, current_app

from web.parts import parts
from web.roles import anybody

metrics = Blueprint("metrics", __name__)


@metrics.get("/metrics")
@anybody
def show() -> Response:
    """The figures of now. They hold nothing that the page Furnace now does not show to everybody."""
    from web.metrics import CONTENT_TYPE, as_text  # late: its library takes 14 MB that only a collector needs

    feed = parts().feed
    moment = feed.latest()
    age_s = feed.age_s(moment) if moment else float("inf")
    text = as_text(moment.snapshot if moment else None, age_s, feed.streams)
    return current_app.response_class(text, content_type=CONTENT_TYPE)
