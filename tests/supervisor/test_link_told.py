"""The command `told` on the link: what it must carry, and what it is refused for."""

import json
from typing import Any

import pytest

from supervisor.firing.commands import Telling, Told
from supervisor.firing.profile import Profile
from supervisor.firing.reach import Contact
from supervisor.link.fields import BadMessage
from supervisor.link.protocol import understand

ADA: dict[str, Any] = {
    "name": "Ada",
    "order": "first",
    "addresses": ["mailtos://… (4be1)"],
    "quiet": [3],
    "key": "0123456789abcdef",
}


def no_profile(text: str) -> Profile:
    raise ValueError("there is none in these messages")


def told(**fields: Any) -> Told:
    line = json.dumps({"v": 1, "id": "a1", "who": "messenger", "command": "told", **fields}).encode()
    request = understand(line, "user", no_profile)
    assert isinstance(request, Told)
    return request


def test_contacts_come_as_the_messenger_lists_them() -> None:
    command = told(what="contacts", contacts=[ADA], note="")
    assert command.what is Telling.CONTACTS
    assert command.contacts == (Contact("Ada", "first", ("mailtos://… (4be1)",), (3,), "0123456789abcdef"),)


@pytest.mark.parametrize(
    ("fields", "what", "contact", "code"),
    [
        ({"what": "test wanted", "contact": "Ada"}, Telling.TEST, "Ada", ""),
        ({"what": "tested", "contact": "Ada", "code": "ab" * 32}, Telling.TESTED, "Ada", "ab" * 32),
        ({"what": "tested", "contact": "Ada", "code": "", "note": "no answer"}, Telling.TESTED, "Ada", ""),
        ({"what": "confirmed", "code": "2A3-B4C"}, Telling.CONFIRMED, "", "2A3-B4C"),
        ({"what": "delivered", "contact": "Ada", "note": "an alarm"}, Telling.DELIVERED, "Ada", ""),
        ({"what": "not delivered", "contact": "Ada", "note": "an alarm"}, Telling.FAILED, "Ada", ""),
        ({"what": "heard"}, Telling.HEARD, "", ""),
    ],
)
def test_each_thing_that_can_be_told_is_understood(fields: Any, what: Telling, contact: str, code: str) -> None:
    command = told(**fields)
    assert (command.what, command.contact, command.code) == (what, contact, code)


@pytest.mark.parametrize(
    ("fields", "why"),
    [
        ({}, "what is missing; allowed: contacts, test wanted, tested, confirmed, delivered, not delivered, heard"),
        ({"what": "shouted"}, 'what is "shouted"'),
        ({"what": "test wanted"}, "contact is missing"),
        ({"what": "confirmed", "code": ""}, 'code is ""'),
        ({"what": "tested", "contact": "Ada", "code": "x" * 65}, "code is"),
        ({"what": "delivered", "contact": "Ada", "note": "x" * 301}, "note is"),
        ({"what": "contacts"}, "contacts cannot be used"),
        ({"what": "contacts", "contacts": [ADA] * 21}, "contacts cannot be used"),
        ({"what": "contacts", "contacts": [{**ADA, "order": "third"}]}, "contacts cannot be used"),
        ({"what": "contacts", "contacts": [{**ADA, "quiet": [1]}]}, "contacts cannot be used"),
        ({"what": "contacts", "contacts": [{**ADA, "quiet": [2.0]}]}, "contacts cannot be used"),
        ({"what": "contacts", "contacts": [{**ADA, "quiet": [True]}]}, "contacts cannot be used"),
        ({"what": "contacts", "contacts": [{**ADA, "addresses": "mailtos://x"}]}, "contacts cannot be used"),
        ({"what": "contacts", "contacts": [{**ADA, "password": "x"}]}, "contacts cannot be used"),
        ({"what": "heard", "epoch": 3}, '"epoch" is not a field of this command'),
    ],
)
def test_what_cannot_be_used_is_refused_in_a_sentence(fields: Any, why: str) -> None:
    with pytest.raises(BadMessage, match=why.replace("(", r"\(")):
        told(**fields)
