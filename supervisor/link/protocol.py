"""What a line of the link says: bytes in, a request in the core's own words out. Everything from outside ends here.

A stop is looked for before the line is understood at all, and again after: nothing else that the line holds can take
it away.
"""

import json
import re
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple, NoReturn

from supervisor.firing.commands import (
    DIP_C,
    LONGEST_SHELF_MIN,
    Acknowledge,
    Adopt,
    Attend,
    By,
    Command,
    Hold,
    Lower,
    Note,
    NoteKind,
    Prepare,
    Raise,
    Reset,
    Resume,
    Shelve,
    Silence,
    Start,
    Stop,
    Unshelve,
)
from supervisor.firing.profile import Profile
from supervisor.link.commissioning import OF_THE_EQUIPMENT
from supervisor.link.fields import BadMessage, Fields
from supervisor.link.telling import told
from supervisor.metal.charge import Charge, Planned

VERSION = 1
"""Of this protocol: in every message as `v`."""

MOST_READERS = 1000

LONGEST_LINE = 65_536
"""Bytes of one message, its line feed included."""

LONGEST_PROFILE_LINE = 500
"""Letters. Over a name of 29 000 parts the reader of TOML broods for 17 s here, and every stop waits behind it."""

ReadProfile = Callable[[str], Profile]
"""Makes a profile of its text, or raises a ValueError that says in one sentence why not."""

_STOP = re.compile(rb'"command"\s*:\s*"stop"')
_HALF_LETTER = re.compile(rb"\\u[dD]")
_HEAT_NUMBER = re.compile(r"[A-Z]-[0-9]{1,6}")
_ENVELOPE = ("v", "id", "who", "where", "command")
_NOBODY = "somebody"


class Look(NamedTuple):
    """Somebody wants to see the snapshot: once, or from now on. readers: how many people look through it."""

    watch: bool
    readers: int = 1
    equipment: bool = False  # not the snapshot, but what does not change while this supervisor runs
    what_if: "WhatIf | None" = None  # not the snapshot, but what such a firing would take
    judge: Profile | None = None  # not the snapshot, but how this profile is understood


class WhatIf(NamedTuple):
    """A firing that nobody has prepared, to be forecast."""

    profile: Profile
    planned: Planned | None


def understand(line: bytes, user: str, read_profile: ReadProfile) -> Look | Command:
    """Turn one line into a request.

    user: who the operating system says is at the other end; goes into the record with the sender's own words.

    Raises:
        BadMessage: it cannot be used.
    """
    message, trouble = _object(line)
    fields = Fields(message)
    if _STOP.search(line) or fields.get("command") == "stop":
        return Stop(_sender_of_a_stop(fields, user))
    if trouble:
        raise BadMessage(f"{trouble}.")
    try:
        return _request(fields, user, read_profile)
    except RecursionError as error:  # read it could be, and not be said again in a refusal
        raise BadMessage("The message is nested too deep; allowed: as docs/link.md has it.", fields.id) from error


def _request(fields: Fields, user: str, read_profile: ReadProfile) -> Look | Command:
    if "ask" in fields:
        what = fields.choice("ask", ("snapshot", "watch", "equipment", "forecast", "judge"))
        if what == "judge":
            return Look(False, 0, judge=_read_profile(fields, read_profile))
        if what == "forecast":
            return Look(False, 0, what_if=_what_if(fields, read_profile))
        if what == "equipment":
            return Look(False, 0, True)
        watch = what == "watch"
        return Look(watch, int(fields.number("readers", 0, MOST_READERS, "readers")) if "readers" in fields else 1)
    version = fields.get("v")
    if version != VERSION or isinstance(version, bool):
        raise fields.wrong("v", f"{VERSION}; another version may only look and stop")
    command = fields.choice("command", tuple(_COMMANDS))
    names, make = _COMMANDS[command]
    if command != "lower":  # lowering is never refused for what it also says
        fields.only((*_ENVELOPE, *names))
    return make(_sender(fields, user), fields, read_profile)


def _no_such_number(word: str) -> NoReturn:
    raise ValueError(f"{word} is no number")


def _object(line: bytes) -> tuple[dict[str, Any], str]:
    """The object of a line, and what is wrong with the line."""
    if len(line) >= LONGEST_LINE:
        return {}, f"the message has {len(line)} bytes or more; allowed: fewer than {LONGEST_LINE}"
    try:
        message = json.loads(line, parse_constant=_no_such_number)
        if _HALF_LETTER.search(line):  # half of a surrogate pair has no UTF-8: neither log nor answer could hold it
            json.dumps(message, ensure_ascii=False).encode()
    except (ValueError, RecursionError) as error:
        return {}, f"the message is not JSON ({error}); allowed: one object a line"
    return (message, "") if isinstance(message, dict) else ({}, "the message is no object; allowed: one object a line")


def _sender(fields: Fields, user: str) -> By:
    own_id = fields.text("id", 64)
    who = fields.text("who", 64)
    where = fields.text("where", 32) if "where" in fields else "link"
    if where == "furnace":
        raise fields.wrong("where", "anything but furnace, which only the button there is")
    return By(own_id, who, f"{where} ({user})")


def _sender_of_a_stop(fields: Fields, user: str) -> By:
    """As much of the sender as can be read: nothing is wrong enough to refuse a stop."""

    def readable(name: str, otherwise: str, longest: int) -> str:
        value = fields.get(name)
        kept = "".join(letter for letter in value if letter.isprintable()) if isinstance(value, str) else ""
        return kept[:longest] or otherwise

    where = readable("where", "link", 32)
    return By(fields.id, readable("who", _NOBODY, 64), f"{'link' if where == 'furnace' else where} ({user})")


def _what_if(fields: Fields, read_profile: ReadProfile) -> WhatIf:
    planned = _planned(fields) if fields.get("charge") is not None else None
    return WhatIf(_read_profile(fields, read_profile), planned)


def _read_profile(fields: Fields, read_profile: ReadProfile) -> Profile:
    text = fields.text("profile_toml", LONGEST_LINE, one_line=False)
    for number, line in enumerate(text.splitlines(), start=1):
        if len(line) > LONGEST_PROFILE_LINE:
            allowed = f"allowed: up to {LONGEST_PROFILE_LINE}"
            raise BadMessage(f"profile_toml has {len(line)} letters in line {number}; {allowed}.", fields.id)
    try:
        return read_profile(text)
    except BadMessage:
        raise
    except ValueError as error:
        raise BadMessage(str(error), fields.id) from error


def _prepare(by: By, fields: Fields, read_profile: ReadProfile) -> Command:
    number = fields.get("heat_number")
    if number is not None and not (isinstance(number, str) and _HEAT_NUMBER.fullmatch(number)):
        raise fields.wrong("heat_number", "the furnace's letter, a hyphen and a number, like A-097")
    profile = _read_profile(fields, read_profile)
    planned = _planned(fields) if fields.get("charge") is not None else None
    return Prepare(by, profile, number if isinstance(number, str) else None, planned)


_OF_A_CHARGE = ("mass_kg", "alloy", "form", "solidus_c", "liquidus_c", "pour_c", "dry_for_s")


def _planned(fields: Fields) -> Planned:
    """The charge that was planned; the supervisor judges it against pot and profile."""
    of = Fields({**fields.object("charge"), "id": fields.id})
    of.only((*_OF_A_CHARGE, "id"))
    charge = Charge(
        of.number("mass_kg", 0.0, 1000.0, "kg"),
        of.text("alloy", 40),
        of.text("form", 40),
        of.number_or_none("solidus_c", 0.0, 2000.0, "°C"),
        of.number_or_none("liquidus_c", 0.0, 2000.0, "°C"),
    )
    dry_for_s = of.number("dry_for_s", 0.0, 1e6, "s") if "dry_for_s" in of else None
    return Planned(charge, of.number("pour_c", 0.0, 2000.0, "°C"), dry_for_s)


def _start(by: By, fields: Fields, _: ReadProfile) -> Command:
    if "mass_kg" not in fields:
        raise fields.wrong("mass_kg", "the mass that was prepared in kg, or null without metal")
    return Start(
        by,
        epoch=fields.epoch(),
        profile=fields.text("profile", 200),
        mass_kg=fields.number_or_none("mass_kg", 0.0, 1000.0, "kg"),
        top_c=fields.number("top_c", 0.0, 2000.0, "°C"),
        longest_s=fields.number("longest_s", 0.0, 1e6, "s"),
        allowance_wh=fields.number("allowance_wh", 0.0, 1e6, "Wh"),
        cautions_read=fields.yes_or_no("cautions_read"),
        drained=fields.yes_or_no("drained") if "drained" in fields else False,
    )


def _acknowledge(by: By, fields: Fields, _: ReadProfile) -> Command:
    return Acknowledge(by, None if fields.get("alarm") is None else fields.text("alarm", 100))


def _shelve(by: By, fields: Fields, _: ReadProfile) -> Command:
    minutes = fields.number("minutes", 0.1, LONGEST_SHELF_MIN, "min")
    return Shelve(by, fields.text("alarm", 100), minutes, fields.text("reason", 300))


def _note(by: By, fields: Fields, _: ReadProfile) -> Command:
    kind = NoteKind(fields.choice("kind", tuple(each.value for each in NoteKind)))
    adds_mass, has_reading = kind in (NoteKind.ADDITION, NoteKind.MASS), kind is NoteKind.DIP
    mass_kg = fields.number_or_none("mass_kg", 0.0, 1000.0, "kg")
    temperature_c = fields.number_or_none("temperature_c", *DIP_C, "°C")
    if adds_mass and not mass_kg:
        allowed = "what went in" if kind is NoteKind.ADDITION else "the whole charge as weighed again"
        raise fields.wrong("mass_kg", f"{allowed}, more than 0 kg")
    if has_reading and temperature_c is None:
        raise fields.wrong("temperature_c", "what the probe read, in °C")
    remark = kind is NoteKind.REMARK
    said = remark or fields.get("text") is not None
    text = fields.text("text", 500, least=int(remark), one_line=False) if said else ""
    epoch = fields.epoch() if kind is NoteKind.WORD else fields.epoch_or_none()
    return Note(by, kind, epoch, mass_kg, temperature_c, text)


def _adopt(by: By, fields: Fields, _: ReadProfile) -> Command:
    from supervisor.model.learned import Model  # late: whoever only speaks the link has no use for numpy

    try:
        model = Model.from_json(json.dumps(fields.object("model")))
    except ValueError as error:
        raise BadMessage(f"model cannot be used: {error}.", fields.id) from error
    return Adopt(
        by,
        model,
        firing_id=fields.whole_or_none("firing_id", "the number of a firing"),
        takes=fields.whole_or_none("takes", "the number of an earlier model"),
        objections=fields.texts("objections", 50, 300),
        ask=fields.yes_or_no("at_furnace"),
        against=fields.object("against") if "against" in fields else {},
        note=fields.text("note", 2000, least=0) if "note" in fields else "",
    )


def _reset(by: By, fields: Fields, read: ReadProfile) -> Reset:
    looked = fields.text("looked", 100, least=0) if "looked" in fields else ""
    seen = fields.text("seen", 500, least=0, one_line=False) if "seen" in fields else ""
    return Reset(by, fields.text("found", 500, one_line=False), looked, seen)


_LEAST_K, _MOST_K = 0.1, 2000.0

_COMMANDS: Mapping[str, tuple[tuple[str, ...], Callable[[By, Fields, ReadProfile], Command]]] = {
    "stop": ((), lambda by, fields, read: Stop(by)),  # for the list of what is allowed: it never comes this far
    "hold": ((), lambda by, fields, read: Hold(by)),
    "lower": (("by_k",), lambda by, fields, read: Lower(by, fields.number("by_k", _LEAST_K, _MOST_K, "K"))),
    "prepare": (("profile_toml", "heat_number", "charge"), _prepare),
    "start": (
        ("epoch", "profile", "mass_kg", "top_c", "longest_s", "allowance_wh", "cautions_read", "drained"),
        _start,
    ),
    "resume": (("epoch",), lambda by, fields, read: Resume(by, fields.epoch())),
    "acknowledge": (("alarm",), _acknowledge),
    "silence": ((), lambda by, fields, read: Silence(by)),
    "shelve": (("alarm", "minutes", "reason"), _shelve),
    "unshelve": (("alarm",), lambda by, fields, read: Unshelve(by, fields.text("alarm", 100))),
    "reset": (("found", "looked", "seen"), _reset),
    "note": (("kind", "epoch", "mass_kg", "temperature_c", "text"), _note),
    "adopt": (("model", "firing_id", "takes", "objections", "at_furnace", "against", "note"), _adopt),
    **OF_THE_EQUIPMENT,
    "told": (("what", "contact", "note", "code", "contacts"), told),
    "attend": (
        ("task", "choice"),
        lambda by, fields, read: Attend(by, fields.whole("task", 2**31), fields.whole("choice", 99)),
    ),
    "raise": (
        ("by_k", "epoch"),
        lambda by, fields, read: Raise(by, fields.epoch(), fields.number("by_k", _LEAST_K, _MOST_K, "K")),
    ),
}
