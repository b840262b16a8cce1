"""What a form on the page asks of the supervisor, as a message of the link; and what became of it."""

from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from math import isfinite
from threading import Lock
from typing import Any, NamedTuple
from uuid import uuid4

from web.book import Units
from web.feed import Supervisor
from web.profiles import ProfileFile
from web.typed import Typed

KEPT_ANSWERS = 200
WORDS = {"accepted": "Done.", "refused": "Not done.", "unknown": "No answer."}

Form = Mapping[str, str]
Message = dict[str, Any]


class Answer(NamedTuple):
    """What became of what was asked: accepted, refused with the reason, or unknown, which is never shown as done."""

    id: str
    kind: str
    sentence: str
    typed: Typed | None = None  # the form that was refused
    epoch: int | None = None  # of the furnace, once it was done; None: the answer is not about one

    @property
    def word(self) -> str:
        """The kind in the page's words."""
        return WORDS[self.kind]


class Asking:
    """Sends what is asked and keeps the last answers, so that a page without script can show them after it reloads."""

    def __init__(self, supervisor: Supervisor):
        self._supervisor = supervisor
        self._answers: OrderedDict[str, Answer] = OrderedDict()
        self._lock = Lock()

    def ask(self, message: Message, who: str) -> Answer:
        """Send one command and give its answer; a supervisor that is not there makes it unknown."""
        whole = {"v": 1, "id": uuid4().hex, "who": who[:64], "where": "page", **message}
        try:
            came = self._supervisor.send(whole)
        except OSError as problem:
            return self.keep(Answer(whole["id"], "unknown", f"{problem} Look at the furnace."))
        kind = {True: "accepted", False: "refused", None: "unknown"}[came.accepted]
        return self.keep(Answer(whole["id"], kind, came.sentence, epoch=came.epoch))

    def refuse(self, sentence: str, typed: Typed | None = None) -> Answer:
        """An answer of the page's own: it was not even sent."""
        return self.keep(Answer(uuid4().hex, "refused", sentence, typed))

    def keep(self, answer: Answer) -> Answer:
        """Keep an answer for the page that follows."""
        with self._lock:
            self._answers[answer.id] = answer
            while len(self._answers) > KEPT_ANSWERS:
                self._answers.popitem(last=False)
        return answer

    def answer(self, answer_id: str) -> Answer | None:
        """An answer kept earlier."""
        with self._lock:
            return self._answers.get(answer_id)


def number(form: Form, field: str, unit: str) -> float:
    """A number as people type it, comma or point.

    Raises:
        ValueError: it is none; names field, value and what is allowed.
    """
    typed = form.get(field, "").strip()
    try:
        value = float(typed.replace(",", "."))
    except ValueError:
        value = float("nan")
    if not isfinite(value):
        raise ValueError(f"{field.replace('_', ' ')} is {typed!r}; allowed: a number, in {unit}")
    return value


def _whole(form: Form, field: str) -> int:
    typed = form.get(field, "")
    if not typed.isdecimal():
        raise ValueError(f"{field} is {typed!r}; allowed: a whole number")
    return int(typed)


def lower(form: Form) -> Message:
    """Lower by some K; one that is no number lowers by the usual step: lowering is never refused."""
    try:
        by_k = number(form, "by_k", "K")
    except ValueError:
        by_k = 20.0
    return {"command": "lower", "by_k": min(2000.0, max(0.1, abs(by_k)))}


def _raise(form: Form, units: Units) -> Message:
    return {"command": "raise", "epoch": _whole(form, "epoch"), "by_k": number(form, "by_k", "K")}


def _start(form: Form, units: Units) -> Message:
    mass_kg = number(form, "mass_kg", "kg") if form.get("mass_kg") else None
    echo = {
        field: number(form, field, unit)
        for field, unit in (("top_c", "°C"), ("longest_s", "s"), ("allowance_wh", "Wh"))
    }
    profile = form.get("profile", "")
    read = form.get("cautions_read") == "yes"
    looked: Message = {"drained": True} if form.get("drained") == "yes" else {}
    return {
        "command": "start",
        "epoch": _whole(form, "epoch"),
        "profile": profile,
        "mass_kg": mass_kg,
        "cautions_read": read,
        **echo,
        **looked,
    }


def _note(form: Form, units: Units) -> Message:
    kind = form.get("kind", "")
    message: Message = {"command": "note", "kind": kind}
    if form.get("epoch"):
        message["epoch"] = _whole(form, "epoch")
    if form.get("text", "").strip():
        message["text"] = form["text"].strip()
    if kind in {"addition", "mass"} or form.get("mass_kg"):
        message["mass_kg"] = number(form, "mass_kg", "kg")
    if kind == "dip reading" or form.get("temperature"):
        read = number(form, "temperature", f"°{units}")
        message["temperature_c"] = read if units == "C" else round((read - 32) * 5 / 9, 2)
    return message


def _acknowledge(form: Form, units: Units) -> Message:
    return {"command": "acknowledge"}


def _shelve(form: Form, units: Units) -> Message:
    reason = form.get("reason", "").strip()
    if not reason:
        raise ValueError("why is empty; allowed: 1 to 300 characters")
    return {
        "command": "shelve",
        "alarm": form.get("alarm", "")[:100] or "?",
        "minutes": number(form, "minutes", "min"),
        "reason": reason[:300],
    }


def _reset(form: Form, units: Units) -> Message:
    found = form.get("found", "").strip()
    if not found:
        raise ValueError("What was found is empty; allowed: 1 to 500 characters. Look first, then say it.")
    return {"command": "reset", "found": found, "looked": form.get("looked", ""), "seen": form.get("seen", "")}


MESSAGES: Mapping[str, Callable[[Form, Units], Message]] = {
    "start": _start,
    "hold": lambda form, units: {"command": "hold"},
    "resume": lambda form, units: {"command": "resume", "epoch": _whole(form, "epoch")},
    "acknowledge": _acknowledge,
    "silence": lambda form, units: {"command": "silence"},
    "shelve": _shelve,
    "unshelve": lambda form, units: {"command": "unshelve", "alarm": form.get("alarm", "")[:100] or "?"},
    "reset": _reset,
    "note": _note,
    "attend": lambda form, units: {"command": "attend", "task": _whole(form, "task"), "choice": _whole(form, "choice")},
    "raise": _raise,
    "heard": lambda form, units: {"command": "told", "what": "heard"},
}
"""How the form of each command that a paired phone may send becomes a message; ValueErrors say what is allowed."""


def prepare(form: Form, profiles: Sequence[ProfileFile], heat_number: str) -> Message:
    """Choose a profile file; a firing with metal gets the next heat number.

    Raises:
        ValueError: there is no such file, or it cannot be read.
    """
    key = form.get("profile", "")
    chosen = next((profile for profile in profiles if profile.key == key), None)
    if chosen is None:
        raise ValueError(f"profile is {key!r}; allowed: one of the list")
    if chosen.trouble:
        raise ValueError(chosen.trouble)
    number = heat_number if chosen.mass_kg else None
    return {"command": "prepare", "profile_toml": chosen.text, "heat_number": number}
