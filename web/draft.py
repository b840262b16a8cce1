"""A profile while somebody edits it: fields as they are typed, changed by buttons, and the file that they make.

A draft may be wrong; only the supervisor judges it. Nothing of it is kept until it is saved.
"""

import json
import tomllib
from collections.abc import Mapping
from typing import Any, NamedTuple

from supervisor.link.judging import sentence
from supervisor.refusal import InputRefused

MOST_SEGMENTS = 40

HEAD = {"name": "text", "top_c": "°C", "pour_c": "°C", "longest_h": "h", "drying_limit_c_per_h": "°C/h"}
CHARGE = {"mass_kg": "kg", "alloy": "text", "form": "text"}
KINDS = {
    "rate": ("ramp at a rate", ("ramp_to_c", "rate_c_per_h")),
    "over": ("ramp in a time", ("ramp_to_c", "over_min")),
    "fastest": ("ramp as fast as the furnace can", ("ramp_to_c",)),
    "hold": ("hold", ("hold_min", "wait_within_c")),
}
"""What a segment may be: the words, and its numbers."""

STEPS = {"ramp_to_c": 10.0, "rate_c_per_h": 50.0, "over_min": 5.0, "hold_min": 5.0, "wait_within_c": 1.0}
"""By how much a tap moves a number."""

UNITS = {
    "ramp_to_c": "to, °C",
    "rate_c_per_h": "°C/h",
    "over_min": "minutes",
    "hold_min": "minutes",
    "wait_within_c": "from within, K",
}
FIRST = {"ramp_to_c": "100", "rate_c_per_h": "100", "over_min": "60", "hold_min": "10", "wait_within_c": ""}
UNTIL = {"": "its time is over", "word": "you say go on", "dry": "the lining is dry"}


class Segment(NamedTuple):
    """One ramp or hold, its numbers as they are typed."""

    kind: str
    typed: Mapping[str, str]
    until: str = ""

    @property
    def fields(self) -> tuple[str, ...]:
        """The numbers that this kind has."""
        return KINDS[self.kind][1]

    def table(self, number: int) -> dict[str, Any]:
        """Its table of the file. number: which one, from one.

        Raises:
            InputRefused: a number is none.
        """
        found: dict[str, Any] = {}
        for field in self.fields:
            typed = self.typed.get(field, "").strip()
            if typed or field != "wait_within_c":
                found[field] = _number(f"segment[{number}].{field}", typed)
        if self.kind == "fastest":
            found["fastest"] = True
        return found | ({"until": self.until} if self.kind == "hold" and self.until else {})

    def sentence(self, number: int) -> str:
        """In plain words; one whose numbers are none says so."""
        try:
            return sentence(self.table(number))
        except InputRefused:
            return f"{KINDS[self.kind][0].capitalize()}: a number is missing."


class Draft(NamedTuple):
    """A whole profile as it is typed. remarks: what stands above the first field of the file."""

    head: Mapping[str, str]
    charge: Mapping[str, str]  # all empty: no metal
    segments: tuple[Segment, ...]
    remarks: str = ""

    def toml(self) -> str:
        """The file.

        Raises:
            InputRefused: a number is none, or nothing is left.
        """
        if not self.segments:
            raise InputRefused("segment is empty; allowed: one ramp at least")
        lines = [self.remarks.rstrip(), ""] if self.remarks.strip() else []
        lines += _lines({name: self.head.get(name, "") for name in HEAD}, HEAD, "")
        if any(value.strip() for value in self.charge.values()):
            lines += ["", "[charge]", *_lines({name: self.charge.get(name, "") for name in CHARGE}, CHARGE, "charge.")]
        for number, segment in enumerate(self.segments, start=1):
            table = segment.table(number)
            lines += ["", f"[[segment]]  # {segment.sentence(number)}"]
            lines += [f"{name} = {_written(value)}" for name, value in table.items()]
        return "\n".join(lines) + "\n"


def _lines(typed: Mapping[str, str], kinds: Mapping[str, str], path: str) -> list[str]:
    found = []
    for name, value in typed.items():
        if kinds[name] == "text":
            found += [f"{name} = {json.dumps(value.strip(), ensure_ascii=False)}"]
        elif value.strip():
            found += [f"{name} = {_written(_number(path + name, value))}"]
    return found


def _number(field: str, typed: str) -> float:
    try:
        value = float(typed.strip().replace(",", "."))
    except ValueError:
        value = float("nan")
    if not -1e9 < value < 1e9:
        raise InputRefused(f"{field} is {typed.strip()[:20]!r}; allowed: a number")
    return value


def _written(value: object) -> str:
    if value is True:
        return "true"
    return f"{value:g}" if isinstance(value, float) and float(f"{value:g}") == value else json.dumps(value)


def from_text(text: str) -> Draft:
    """The draft of a file as it lies there.

    Raises:
        ValueError: it is no TOML.
    """
    document = tomllib.loads(text)
    charge, segments = document.get("charge"), document.get("segment")
    above = [line for line in text.split("\n\n", 1)[0].splitlines() if line.startswith("#")]
    return Draft(
        {name: _typed(document.get(name)) for name in HEAD},
        {name: _typed(charge.get(name)) if isinstance(charge, dict) else "" for name in CHARGE},
        tuple(_segment(each) for each in (segments if isinstance(segments, list) else []) if isinstance(each, dict)),
        "\n".join(above),
    )


def _segment(table: Mapping[str, Any]) -> Segment:
    kind = next((kind for kind, field in _TELLS if table.get(field) is not None), "rate")
    return Segment(kind, {name: _typed(table.get(name)) for name in STEPS}, str(table.get("until") or ""))


_TELLS = (("hold", "hold_min"), ("fastest", "fastest"), ("over", "over_min"))


def _typed(value: object) -> str:
    if value is None or isinstance(value, bool):
        return ""
    return f"{value:g}" if isinstance(value, int | float) else str(value)


def from_form(form: Mapping[str, str], remarks: str) -> Draft:
    """The draft as a form has it: head and charge by their names, `kind-1`, `ramp_to_c-1` and so on by segment."""
    segments = []
    for number in range(1, MOST_SEGMENTS + 1):
        kind = form.get(f"kind-{number}", "")
        if kind not in KINDS:
            break
        typed = {name: form.get(f"{name}-{number}", FIRST[name] if name in KINDS[kind][1] else "") for name in STEPS}
        until = form.get(f"until-{number}", "")
        segments.append(Segment(kind, typed, until if until in UNTIL else ""))
    head = {name: form.get(name, "")[:60] for name in HEAD}
    return Draft(head, {name: form.get(name, "")[:60] for name in CHARGE}, tuple(segments), remarks)


def changed(draft: Draft, what: str) -> Draft:
    """The draft after one tap: 'add 2', 'remove 2', 'up 2', 'down 2', 'less 2 ramp_to_c', 'more 2 hold_min'.

    What cannot be done leaves it as it is: the first one has no place further up.
    """
    word, number, field = [*what.split(" "), "", ""][:3]
    found, at = list(draft.segments), int(number) - 1 if number.isdecimal() else -1
    if word == "add" and number.isdecimal() and at < len(found) < MOST_SEGMENTS:
        found.insert(at + 1, Segment("hold" if at >= 0 and found[at].kind != "hold" else "rate", FIRST))
    elif word == "remove" and 0 <= at < len(found):
        del found[at]
    elif word in ("up", "down") and 0 <= at < len(found):
        to = at + (1 if word == "down" else -1)
        if 0 <= to < len(found):
            found[at], found[to] = found[to], found[at]
    elif word in ("less", "more") and 0 <= at < len(found) and field in found[at].fields:
        found[at] = _stepped(found[at], field, STEPS[field] if word == "more" else -STEPS[field])
    return draft._replace(segments=tuple(found))


def _stepped(segment: Segment, field: str, by: float) -> Segment:
    try:
        value = _number(field, segment.typed.get(field, "") or "0")
    except InputRefused:
        return segment
    return segment._replace(typed={**segment.typed, field: f"{max(0.0, value + by):g}"})
