"""The messenger's own turn: hear, decide, let messages go out, tell the supervisor what became of them."""

import secrets
from collections import deque
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Protocol

from supervisor.firing.reach import code_digest
from supervisor.link.client import Answer, LinkSilent
from supervisor.messenger import words
from supervisor.messenger.contacts import FILE_NAME, Contact, key, masked, read_contacts
from supervisor.messenger.decide import Heard, Message, decide
from supervisor.messenger.kept import Store
from supervisor.messenger.post import Carrier, Child, Outcome, Post
from supervisor.refusal import InputRefused

REPORTS_EVERY_S = 30.0
LOOKS_EVERY_S = 2.0
"""At alerts.toml."""
KEEPS_EVERY_S = 60.0
"""What is said of a hot furnace is written down so often, and at once when its state changed or something was told."""
MOST_REPORTS = 50
CODE_LETTERS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
CODE_LENGTH = 6
TEST = "test"


class Hearing(Protocol):
    """What the messenger listens with: see `ear`."""

    @property
    def heard(self) -> tuple[Mapping[str, Any] | None, float]:
        """The newest snapshot, and real seconds since the supervisor said something new."""
        ...

    def close(self) -> None:
        """Stop listening."""
        ...


class Taker(Protocol):
    """Who takes what the messenger reports: the link."""

    def send(self, message: Mapping[str, Any]) -> Answer:
        """Send a command. Raises LinkSilent."""
        ...


class Messenger:
    """Everything of one furnace's messenger. One thread uses it."""

    def __init__(
        self,
        data: Path,
        ear: Hearing,
        link: Taker,
        say: Callable[[str], None],
        *,
        now_s: Callable[[], float],
        utc_ms: Callable[[], int],
        carry: Callable[[str, Message], Carrier] = Child,
    ) -> None:
        """say: where a line for the journal goes.

        Raises:
            OSError: its own directory cannot be written.
        """
        self._file, self._ear, self._link, self._say = data / FILE_NAME, ear, link, say
        self._now_s, self._utc_ms = now_s, utc_ms
        self._store = Store(data)
        kept = self._store.read(now_s())
        self._memory, self._salt = kept.memory, kept.salt
        self._post = Post(now_s, kept.salt, carry)
        for contact, message, tries in kept.jobs:
            self._post.add(contact, message, tries=tries)
        self._contacts: tuple[Contact, ...] = ()
        self._trouble = ""
        self._looked_s = self._reported_s = self._kept_s = float("-inf")
        self._reported_to = ""  # run of the supervisor that knows the contacts
        self._stamp: tuple[int, int, int] | None = None
        self._codes: dict[str, str] = {}  # of tests on their way, by the key of their message
        self._tests: set[str] = set()
        self._reports: deque[dict[str, Any]] = deque(maxlen=MOST_REPORTS)

    def turn(self) -> None:
        """Look at everything once; waits for nothing but the supervisor's answers to reports."""
        self._read_contacts()
        snapshot, silent_s = self._ear.heard
        before = self._worth_keeping()
        messages = decide(self._memory, Heard(snapshot, silent_s, self._now_s(), self._utc_ms()))
        for message in messages:
            self._hand_over(message)
        if snapshot is not None:
            self._begin_tests(snapshot)
        jobs = len(self._post.jobs)
        if messages or self._worth_keeping() != before:
            self._keep()  # before the first attempt: better told twice than never
        if self._contacts or not self._trouble:  # else what waits, waits: nobody was taken from the list
            for outcome in self._post.look(self._contacts):
                self._report(outcome)
        now_s = self._now_s()
        last = self._memory.last
        if len(self._post.jobs) != jobs or (last and last.hot and now_s - self._kept_s >= KEEPS_EVERY_S):
            self._keep()
        if snapshot is not None and silent_s < REPORTS_EVERY_S:
            self._tell_supervisor(str(snapshot["run"]))

    def close(self) -> None:
        """End what is on its way; what was not delivered goes on with the next run."""
        self._keep()
        self._post.close()
        self._ear.close()

    def _worth_keeping(self) -> tuple[object, ...]:
        """What is written down as soon as it is another."""
        memory, last = self._memory, self._memory.last
        return len(memory.told), memory.firing_id, last and (last.run, last.state, last.hot), memory.outage is None

    def _keep(self) -> None:
        """A full disk keeps nobody from being told; after a restart they may be told twice."""
        try:
            self._store.write(self._memory, self._post.kept(), self._salt)
        except OSError as error:
            self._say(f"What was told cannot be written down: {error.strerror}.")
        self._kept_s = self._now_s()

    def _read_contacts(self) -> None:
        now_s = self._now_s()
        if now_s - self._looked_s < LOOKS_EVERY_S:
            return
        self._looked_s = now_s
        try:
            stat = self._file.stat()
            stamp = (stat.st_mtime_ns, stat.st_size, stat.st_mode)
        except OSError:
            stamp = (0, 0, 0)
        if stamp == self._stamp:
            return
        self._stamp, self._trouble = stamp, ""
        try:
            self._contacts = read_contacts(self._file)
        except InputRefused as error:  # half written, perhaps: whom it knows it goes on telling
            self._trouble = str(error)
        self._reported_s = float("-inf")
        self._say(self._trouble or f"{len(self._contacts)} contacts in {FILE_NAME}.")

    # -- messages out ------------------------------------------------------------------------------------------------

    def _hand_over(self, message: Message) -> None:
        wanted = [each for each in self._contacts if each.order == message.order and message.priority not in each.quiet]
        for contact in wanted:
            self._post.add(contact.name, message)
        names = ", ".join(contact.name for contact in wanted) or f"nobody: no {message.order} contact takes it"
        self._say(f"{message.title} -> {names}")

    def _begin_tests(self, snapshot: Mapping[str, Any]) -> None:
        for contact in snapshot["reach"]["contacts"]:
            name = f"{TEST}/{snapshot['run']}/{contact['name']}/{contact['test']}"
            if not contact["test"] or name in self._tests:
                continue
            self._tests.add(name)
            code = "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))
            self._codes[name] = code
            title, body = words.test(snapshot, code)
            self._post.add(contact["name"], Message(name, contact["order"], 1, title, body), once=True)

    # -- what became of them -----------------------------------------------------------------------------------------

    def _report(self, outcome: Outcome) -> None:
        code = self._codes.pop(outcome.message.key, None)
        what = "a test message" if code is not None else f"'{outcome.message.title}'"
        report = {"contact": outcome.contact, "note": f"{what}: {outcome.failed}"[:300] if outcome.failed else ""}
        if code is not None:
            self._reports.append({"what": "tested", "code": code_digest(code) if outcome.some else "", **report})
        elif outcome.failed:
            self._reports.append({"what": "not delivered", **report})
        else:
            self._reports.append({"what": "delivered", **report, "note": what[:300]})
        became = f"not delivered: {outcome.failed}" if outcome.failed else "taken"
        self._say(f"{what} to {outcome.contact}: {became}")

    def _tell_supervisor(self, run: str) -> None:
        """Report, oldest first; what the supervisor does not take now waits."""
        now_s = self._now_s()
        try:
            if self._reported_to != run or now_s - self._reported_s >= REPORTS_EVERY_S:
                self._send({"what": "contacts", "contacts": self._listed(), "note": self._trouble[:300]})
                self._reported_to, self._reported_s = run, now_s
            while self._reports:
                self._send(self._reports[0])
                self._reports.popleft()
        except LinkSilent:
            self._reported_to = ""

    def _send(self, report: Mapping[str, Any]) -> None:
        answer = self._link.send({"command": "told", "who": "messenger", "where": "messenger", **report})
        if answer.accepted is None:
            raise LinkSilent(answer.sentence)
        if not answer.accepted:
            self._say(f"The supervisor refused a report: {answer.sentence}")

    def _listed(self) -> list[dict[str, Any]]:
        return [
            {
                "name": contact.name,
                "order": contact.order,
                "addresses": [masked(address, self._salt) for address in contact.addresses],
                "quiet": list(contact.quiet),
                "key": key(contact, self._salt),
            }
            for contact in self._contacts
        ]
