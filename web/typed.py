"""A form that was refused is drawn again with what was typed into it: nobody weighs or types a second time.

The templates know nothing of it: what was sent is filled into the page as it goes out.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from html.parser import HTMLParser
from itertools import accumulate
from typing import NamedTuple

from markupsafe import escape

MOST_TYPED = 8000
"""Characters of one form that are kept; a longer one is not, for all that is kept waits in memory."""

Attributes = list[tuple[str, str | None]]


class Typed(NamedTuple):
    """A form as it was sent: where to, and each field with all its values in their order."""

    action: str
    fields: Mapping[str, Sequence[str]]


def typed(action: str, fields: Mapping[str, Sequence[str]]) -> Typed | None:
    """What is kept of a form; None: it has no field, or is too long."""
    length = sum(len(name) + len(value) for name, values in fields.items() for value in values)
    return Typed(action, fields) if 0 < length <= MOST_TYPED else None


def filled(html: str, sent: Typed) -> str:
    """The page with the form of that address filled in again, and unfolded."""
    filler = _Filler(html, sent)
    filler.feed(html)
    filler.close()
    for at, before, after in sorted(filler.edits, reverse=True):
        html = html[:at] + after + html[at + len(before) :]
    return html


class _Filler(HTMLParser):
    """Finds which tags of a page are to be others: where each is, as it was, as it is to be.

    Only a form that can have sent this is filled. Where a row is another by now, what was typed into the one before
    must not come to stand in it.
    """

    def __init__(self, html: str, sent: Typed) -> None:
        super().__init__()
        self.edits: set[tuple[int, str, str]] = set()
        self._lines = [0, *accumulate(len(line) + 1 for line in html.split("\n"))]
        self._sent = sent
        self._folds: list[tuple[int, str, str]] = []  # that are open here, each as the edit that unfolds it
        self._form: set[tuple[int, str, str]] | None = None  # what is to be changed in the form that is open here
        self._seen: Counter[str] = Counter()  # fields of it by name
        self._other = False  # it has a value that was not sent: it is another form
        self._choices: Sequence[str] | None = None  # of the select that is open here
        self._chosen = False

    def handle_starttag(self, tag: str, attrs: Attributes) -> None:
        given = dict(attrs)
        if tag == "details":
            self._folds.append((*self._here(), _tag(tag, attrs, "open", True)))
        elif tag == "form" and given.get("action") == self._sent.action and given.get("method") == "post":
            self._form, self._other = set(self._folds), False
            self._seen.clear()
        elif self._form is None:
            return
        elif tag == "select":
            self._choices, self._chosen = self._sent.fields.get(given.get("name") or "", ()), False
            self._seen[given.get("name") or ""] += 1
        elif tag == "option" and self._choices is not None:
            self._chosen |= given.get("value") in self._choices
            self._form.add((*self._here(), _tag(tag, attrs, "selected", given.get("value") in self._choices)))
        elif tag == "input":
            self._input(self._form, attrs, given)

    def handle_endtag(self, tag: str) -> None:
        if tag == "details":
            self._folds.pop()
        elif tag == "select" and self._form is not None:
            self._other |= not self._chosen
            self._choices = None
        elif tag == "form" and self._form is not None:
            if not self._other and self._seen.keys() >= self._sent.fields.keys():
                self.edits |= self._form
            self._form = None

    def _input(self, form: set[tuple[int, str, str]], attrs: Attributes, given: Mapping[str, str | None]) -> None:
        name, kind = given.get("name") or "", given.get("type")
        values, number = self._sent.fields.get(name, ()), self._seen[name]
        self._seen[name] += 1
        if kind in ("radio", "checkbox"):
            form.add((*self._here(), _tag("input", attrs, "checked", given.get("value") in values)))
        elif name == "once":
            return
        elif number >= len(values):
            self._other |= number == 0
        elif kind == "hidden":
            self._other |= values[number] != given.get("value")
        elif values[number] != (given.get("value") or ""):
            others: Attributes = [each for each in attrs if each[0] != "value"]
            form.add((*self._here(), _tag("input", [*others, ("value", values[number])])))
            form.update(self._folds)

    def _here(self) -> tuple[int, str]:
        line, offset = self.getpos()
        return self._lines[line - 1] + offset, self.get_starttag_text() or ""


def _tag(tag: str, attrs: Attributes, word: str = "", on: bool = False) -> str:
    """A tag with these attributes, and a word of its own there or not."""
    kept = [each for each in attrs if each[0] != word] + ([(word, None)] if on else [])
    said = (name if value is None else f'{name}="{escape(value)}"' for name, value in kept)
    return f"<{' '.join((tag, *said))}>"
