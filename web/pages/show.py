"""How every page is drawn: its own template, the parts that stay live, and the way back after something was asked."""

from typing import Any

from flask import Response, current_app, g, render_template, request

from supervisor.example import mark
from web.access import may_open, phone, runs_it, wants_json
from web.asking import Answer
from web.live import reader
from web.pages.menu import PAGES
from web.parts import parts
from web.replies import as_answer, go_to
from web.typed import filled

FIRST_WORD_S = 1.0  # a page that opens before the supervisor has spoken waits this long


def page(name: str, template: str, status: int = 200, **more: Any) -> Response:
    """Draw a page of the menu."""
    mine = parts()
    view = mine.drawer.view(reader(), mine.feed.latest(FIRST_WORD_S))
    paired = phone()
    html = render_template(
        template,
        page=name,
        pages=[row for row in PAGES if may_open(f"{row.name}.show")],
        view=view,
        sent_s=mine.feed.monotonic_s(),
        moment_id=mine.feed.id_of(view.moment) if view.moment else "",
        regions=mine.teller.page(view, name),
        furnace=view.s["furnace"]["title"] if view.known else "Furnace",
        light=paired.light if paired else "auto",
        units=view.units,
        phone=paired,
        runs=runs_it(),
        example=mark.read(mine.config.data),
        **more,
    )
    answer = more.get("answer")
    if isinstance(answer, Answer) and answer.typed:
        html = filled(html, answer.typed)
    return current_app.response_class(html, status)


def answered(answer: Answer) -> Response:
    """Tell what became of something: to the page's script, or by showing the page again."""
    g.answer = answer.kind
    if wants_json():
        return as_answer(answer)
    return go_to(f"/?answer={answer.id}")


def last_answer() -> Answer | None:
    """The answer that this page was sent back with."""
    return parts().asking.answer(request.args.get("answer", ""))
