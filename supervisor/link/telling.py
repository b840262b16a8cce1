"""What a line of the link says about messages to people outside. None of it can add heat."""

from typing import Any

from supervisor.firing.commands import By, Command, Telling, Told
from supervisor.firing.reach import Contact
from supervisor.link.fields import BadMessage, Fields, is_text

_MOST_CONTACTS = 20
_WITH_CODE = (Telling.TESTED, Telling.CONFIRMED)


def told(by: By, fields: Fields, _: Any) -> Command:
    """A line of the messenger, or of somebody who wants a test, read a code back, or heard lamp and sounder."""
    what = Telling(fields.choice("what", tuple(each.value for each in Telling)))
    about = what not in (Telling.CONTACTS, Telling.CONFIRMED, Telling.HEARD)
    return Told(
        by,
        what,
        contact=fields.text("contact", 40) if about else "",
        note=fields.text("note", 300, least=0) if "note" in fields else "",
        code=fields.text("code", 64, least=what is Telling.CONFIRMED) if what in _WITH_CODE else "",
        contacts=_contacts(fields) if what is Telling.CONTACTS else (),
    )


def _contacts(fields: Fields) -> tuple[Contact, ...]:
    value = fields.get("contacts")
    if not (isinstance(value, list) and len(value) <= _MOST_CONTACTS and all(_is_contact(each) for each in value)):
        names = "name, order (first, second), addresses (masked), quiet, key"
        raise BadMessage(f"contacts cannot be used; allowed: at most {_MOST_CONTACTS} objects with {names}.", fields.id)
    return tuple(
        Contact(each["name"], each["order"], tuple(each["addresses"]), tuple(each["quiet"]), each["key"])
        for each in value
    )


def _is_contact(value: object) -> bool:
    return (
        isinstance(value, dict)
        and set(value) == set(Contact._fields)
        and is_text(value["name"], 40)
        and value["order"] in ("first", "second")
        and isinstance(value["addresses"], list)
        and all(is_text(each, 80) for each in value["addresses"][:20])
        and len(value["addresses"]) <= 20
        and isinstance(value["quiet"], list)
        and all(type(each) is int and each in (2, 3) for each in value["quiet"])
        and len(value["quiet"]) <= 2
        and is_text(value["key"], 64)
    )
