"""The snapshot's part about telling people: whom, when each was last proved, and what failed. Addresses are masked."""

from typing import Any

from supervisor.firing.reach import Contact, Reach


def reach(of: Reach) -> dict[str, Any]:
    """As docs/link.md has it."""
    return {
        "absence_allowed": of.absence_allowed,
        "why_not": of.why_not,
        "nobody_told": of.nobody_told,
        "messenger_alive": of.messenger_alive,
        "trouble": of.trouble,
        "heard": of.heard,
        "contacts": [_contact(of, contact) for contact in of.contacts],
    }


def _contact(of: Reach, contact: Contact) -> dict[str, Any]:
    known = of.of(contact.name)
    return {
        "name": contact.name,
        "order": contact.order,
        "addresses": list(contact.addresses),
        "quiet": list(contact.quiet),
        "confirmed": of.confirmed(contact),
        "confirmed_utc_ms": known.confirmed_utc_ms,
        "failed_utc_ms": known.failed_utc_ms,
        "failed": known.failed,
        "test": known.wanted,
        "tested": known.tested,
        "code_waits": bool(known.code_sha256),
    }
