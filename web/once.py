"""A form that is sent twice is written once: the second tap gets what became of the first."""

from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future
from functools import wraps
from hashlib import sha256
from threading import Lock
from typing import Any
from uuid import uuid4

from flask import Flask, Response, g, request
from markupsafe import Markup

from web.access import who
from web.replies import go_to
from web.roles import Needs, needs_of

KEPT_FORMS = 300
"""So many forms of the last are known again; an older one that comes again is written again."""

View = Callable[..., Any]


def field() -> Markup:
    """The hidden field of a form that writes the book: another one each time that the form is drawn."""
    return Markup(f'<input type="hidden" name="once" value="{uuid4().hex}" autocomplete="off">')


def wrote() -> None:
    """Say that this request has written: the same form does not write a second time."""
    g.wrote = True


def write_once(app: Flask) -> None:
    """Let every form with the field of above write once, and its second tap wait for the first and go where that goes.

    It is the same form if its field and all else in it is: what was typed anew into a page that the browser kept is
    another one. What was refused has written nothing and is judged anew. A form without the field always writes.
    """
    app.jinja_env.globals["once"] = field
    sent: OrderedDict[str, Future[str]] = OrderedDict()
    lock = Lock()

    def once(view: View) -> View:
        @wraps(view)
        def answer(**named: str) -> Any:
            if request.method != "POST" or not request.form.get("once"):
                return view(**named)
            key = _key()
            while True:
                with lock:
                    first, mine = sent.get(key), Future[str]()
                    if first is None:
                        sent[key] = mine
                        while len(sent) > KEPT_FORMS:
                            sent.popitem(last=False)
                if first is None:
                    break
                if led_to := first.result():
                    return go_to(led_to)
            led_to = ""
            try:
                response = view(**named)
                led_to = _led_to(response)
            finally:
                if not led_to:
                    with lock:
                        if sent.get(key) is mine:
                            del sent[key]
                mine.set_result(led_to)
            return response

        return answer

    for endpoint, view in app.view_functions.items():
        if needs_of(app.view_functions, endpoint) is Needs.RUN:  # a stop reads no form: none can keep it out
            app.view_functions[endpoint] = once(view)


def _key() -> str:
    """Who sent it, where to, and all that is in it."""
    fields = sorted(request.form.items(multi=True))
    return sha256(repr((who(), request.path, fields)).encode("utf-8", "replace")).hexdigest()


def _led_to(response: object) -> str:
    """Where the page went after it wrote; empty: nothing was written."""
    if not g.get("wrote") or not isinstance(response, Response):
        return ""
    return response.headers.get("Location", "")
