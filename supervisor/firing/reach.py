"""Whether somebody outside can be told, as far as it was proved. It says whether one may go away; no heat hangs on it.

A contact counts once its receiver has read back the code of a test message, for thirty days and for the addresses that
the test went to. That a message left, or was taken by a service, proves nothing.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from hmac import compare_digest
from typing import Any, NamedTuple

GOOD_FOR_MS = 30 * 86_400_000
CODE_GOOD_FOR_S = 86_400.0
"""Real seconds in which the code of a test message can be read back (our choice)."""
WRONG_CODES = 5
"""Then the codes that wait are void: send another test."""
MESSENGER_SILENT_S = 90.0
"""Real seconds; it reports every 30 s."""


class Contact(NamedTuple):
    """Somebody to be told, as the messenger's list has them. Addresses are secrets: here they are masked."""

    name: str
    order: str  # first, second
    addresses: tuple[str, ...]
    quiet: tuple[int, ...]  # priorities that they do not want
    key: str  # another one as soon as an address is another


@dataclass(slots=True)
class Known:
    """What is known of one contact."""

    confirmed_key: str | None = None
    confirmed_utc_ms: int | None = None  # None: never, or the clock was not to be trusted
    confirmed_s: float | None = None  # in this run, by this machine's monotonic clock: counts where no date does
    failed_utc_ms: int | None = None  # of the last message that did not go through; None: the last one did
    failed: str = ""  # which one, and how
    wanted: int = 0  # number of the test that somebody asked for; 0: none waits
    tested: int = 0  # of the last one that is done with
    code_sha256: str = ""  # of the test message that waits for its code
    sent_s: float = 0.0


@dataclass(slots=True)
class Reach:
    """Everything that is known of telling people. Changed by the command `told`, and told the time by the loop."""

    contacts: tuple[Contact, ...] = ()
    trouble: str = ""  # what is wrong with the messenger's list, in a sentence
    known: dict[str, Known] = field(default_factory=dict)
    heard: bool = False  # lamp and sounder, at the start of the firing in progress
    real_s: float = 0.0  # this machine's monotonic clock: a simulated furnace has a pace of its own
    utc_ms: int | None = None  # None: the clock is not to be trusted
    reported_s: float | None = None  # when the messenger last reported, by real_s
    wrong_codes: int = 0
    tests: int = 0  # asked for, in this run

    def of(self, name: str) -> Known:
        """What is known of a contact, made when it is not there."""
        return self.known.setdefault(name, Known())

    @property
    def messenger_alive(self) -> bool:
        """The messenger has reported of late."""
        return self.reported_s is not None and self.real_s - self.reported_s <= MESSENGER_SILENT_S

    @property
    def failing(self) -> str:
        """Whose last message did not go through, or that there are contacts and no messenger; empty: neither."""
        if self.contacts and not self.messenger_alive:
            return "the messenger does not run"
        failed = [each.name for each in self.contacts if self.of(each.name).failed_utc_ms is not None]
        return f"not delivered to {', '.join(failed)}" if failed else ""

    def confirmed(self, contact: Contact) -> bool:
        """Its receiver has read back a code within thirty days, and the addresses are still the same."""
        known = self.known.get(contact.name)
        if known is None or known.confirmed_key != contact.key:
            return False
        if self.utc_ms is None:  # no date counts: what this very run has seen does
            return known.confirmed_s is not None and self.real_s - known.confirmed_s <= GOOD_FOR_MS / 1000.0
        if known.confirmed_utc_ms is None:
            return False
        return 0 <= self.utc_ms - known.confirmed_utc_ms <= GOOD_FOR_MS

    @property
    def absence_allowed(self) -> bool:
        """Somebody can be told, as far as it was proved, and lamp and sounder were heard at this start."""
        return not self.why_not

    @property
    def why_not(self) -> str:
        """Why nobody may go away, in a sentence, and what mends it; empty: they may."""
        return self.nobody_told or (
            "" if self.heard else "Nobody has said that lamp and sounder were seen and heard at this start."
        )

    @property
    def nobody_told(self) -> str:
        """Why a message may reach nobody, in a sentence; empty: every contact was proved."""
        if self.trouble:
            return f"Nobody outside is told: {self.trouble}"
        if not self.messenger_alive:
            return "The messenger does not run: nobody outside would be told."
        if not any(contact.order == "first" for contact in self.contacts):
            return "No first contact is named in alerts.toml: nobody outside would be told."
        for contact in self.contacts:
            known = self.known.get(contact.name)
            if known is not None and known.failed_utc_ms is not None:
                return f"The last message to {contact.name} did not go through. Send a test message."
            if not self.confirmed(contact) and self.utc_ms is None:
                return f"The clock is not to be trusted: how old the last test to {contact.name} is, nobody knows."
            if not self.confirmed(contact):
                return f"{contact.name} has not confirmed a test message within 30 days. Send one from Settings."
        return ""


def code_digest(code: str) -> str:
    """SHA-256 of a test message's code as people type it, hex: all that is kept of it."""
    return sha256(code.strip().upper().replace("-", "").replace(" ", "").encode()).hexdigest()


def read_back(reach: Reach, code: str) -> str | None:
    """Which contact's test message this code came in; used once. None: no such code, too old, or wrong too often."""
    digest = code_digest(code)
    for name, known in reach.known.items():
        waits = known.code_sha256 and 0.0 <= reach.real_s - known.sent_s <= CODE_GOOD_FOR_S
        if waits and compare_digest(digest, known.code_sha256):
            known.code_sha256, reach.wrong_codes = "", 0
            return name
    reach.wrong_codes += 1
    if reach.wrong_codes >= WRONG_CODES:
        reach.wrong_codes = 0
        for known in reach.known.values():
            known.code_sha256 = ""
    return None


def remember(reach: Reach, detail: Mapping[str, Any]) -> None:
    """Take what an event of an earlier time says, oldest first: as the command did then."""
    what, name = detail["what"], str(detail.get("contact", ""))
    if not name:
        return
    known = reach.of(name)
    if what == "confirmed":
        known.confirmed_key, known.confirmed_utc_ms = detail["key"], detail["utc_ms"]
    if what == "not delivered" or (what == "tested" and detail["note"]):
        known.failed_utc_ms, known.failed = detail["utc_ms"] or 0, str(detail["note"])
    elif what in ("delivered", "tested"):
        known.failed_utc_ms, known.failed = None, ""
