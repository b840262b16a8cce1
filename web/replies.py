"""Answers in JSON and by sending on, as Flask's own kind of response."""

from typing import Any

from flask import Response, current_app, g, json, redirect

from web.asking import Answer


def as_json(data: dict[str, Any], status: int = 200) -> Response:
    """Data for the page's own script. What became of a command goes into the record of access too."""
    g.answer = data.get("answer")
    return current_app.response_class(json.dumps(data), status, mimetype="application/json")


def as_answer(answer: Answer) -> Response:
    """What became of something, for the page's own script."""
    return as_json({"answer": answer.kind, "word": answer.word, "sentence": answer.sentence})


def go_to(path: str) -> Response:
    """After a form: the browser asks for that page next."""
    return current_app.make_response(redirect(path, code=303))
