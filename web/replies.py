"""Answers in JSON and by sending on, as Flask's own kind of response."""

from typing import Any

from flask import Response, current_app, json, redirect


def as_json(data: dict[str, Any], status: int = 200) -> Response:
    """Data for the page's own script."""
    return current_app.response_class(json.dumps(data), status, mimetype="application/json")


def go_to(path: str) -> Response:
    """After a form: the browser asks for that page next."""
    return current_app.make_response(redirect(path, code=303))
