"""The post: every message on its way to every contact, with its retries, until it is delivered or given up.

A message goes to all addresses of a contact, each by a process of its own. What an address did not take is tried again
after 5, 15 and 60 s; then the contact counts as not told, and that is said.
"""

import contextlib
import json
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple, Protocol

from supervisor.messenger.child import BEGIN_S, SEND_S, request
from supervisor.messenger.contacts import Contact, masked
from supervisor.messenger.decide import Message

RETRY_AFTER_S = (5.0, 15.0, 60.0)
LIMIT_S = 1.0 + BEGIN_S + SEND_S
"""For one process: it times the service itself, from when it is ready to send."""
MOST_AT_ONCE = 3
"""Processes of 40 MB each, at most."""

COMMAND = (sys.executable, "-m", "supervisor.messenger.child")


class Outcome(NamedTuple):
    """What became of a message to one contact. failed: which addresses did not take it and why; empty: all did."""

    contact: str
    message: Message
    failed: str
    some: bool  # at least one address took it


class Carrier(Protocol):
    """One attempt at one address."""

    def result(self) -> tuple[bool, str] | None:
        """Whether it was taken, and if not, why; None while it is on its way."""
        ...

    def give_up(self) -> None:
        """End it."""
        ...


class Child:
    """An attempt by a process that ends with it."""

    def __init__(self, address: str, message: Message) -> None:
        self._process = subprocess.Popen(
            COMMAND,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,  # a traceback there could show the address
            start_new_session=True,
        )
        assert self._process.stdin is not None
        with contextlib.suppress(BrokenPipeError), self._process.stdin as pipe:
            pipe.write(request(address, message.title, message.body))

    def result(self) -> tuple[bool, str] | None:
        """As Carrier has it."""
        if self._process.poll() is None:
            return None
        assert self._process.stdout is not None
        with self._process.stdout as pipe:
            said = pipe.read()
        try:
            answer = json.loads(said)
            return bool(answer["ok"]), str(answer["why"])
        except (ValueError, KeyError, TypeError):
            return False, "the sender failed"

    def give_up(self) -> None:
        """As Carrier has it."""
        self._process.kill()
        self._process.wait()
        assert self._process.stdout is not None
        self._process.stdout.close()


@dataclass(slots=True)
class Job:
    """One message to one contact."""

    contact: str
    message: Message
    tries: int = 0
    due_s: float = 0.0
    once: bool = False  # a test: what failed is said at once
    left: list[str] | None = None  # addresses that have not taken it; None: not tried yet
    took: bool = False  # one address has
    why: dict[str, str] = field(default_factory=dict)
    on_their_way: dict[str, tuple[Carrier, float]] = field(default_factory=dict)


class Post:
    """All messages on their way. One thread uses it."""

    def __init__(
        self,
        now_s: Callable[[], float],
        salt: str,
        carry: Callable[[str, Message], Carrier] = Child,
    ) -> None:
        """salt: of the masked addresses. carry: how one attempt is made."""
        self._now_s, self._salt, self._carry = now_s, salt, carry
        self.jobs: list[Job] = []

    def add(self, contact: str, message: Message, *, tries: int = 0, once: bool = False) -> None:
        """Let a message go out, the next time that the post is looked after."""
        self.jobs.append(Job(contact, message, tries, self._now_s(), once))

    def kept(self) -> list[dict[str, Any]]:
        """What has not arrived yet, for another run of the messenger. A test does not outlive its run."""
        return [
            {"contact": job.contact, "message": job.message._asdict(), "tries": job.tries}
            for job in self.jobs
            if not job.once
        ]

    def look(self, contacts: Sequence[Contact]) -> list[Outcome]:
        """Go on with everything; what ended in this moment."""
        by_name = {contact.name: contact for contact in contacts}
        outcomes = []
        for job in list(self.jobs):
            contact = by_name.get(job.contact)
            if contact is None:  # taken from the list meanwhile
                self._end(job)
                continue
            outcome = self._go_on(job, contact)
            if outcome is not None:
                self._end(job)
                outcomes.append(outcome)
        return outcomes

    def close(self) -> None:
        """End what is on its way."""
        for job in list(self.jobs):
            self._end(job)

    def _end(self, job: Job) -> None:
        for carrier, _ in job.on_their_way.values():
            carrier.give_up()
        self.jobs.remove(job)

    def _go_on(self, job: Job, contact: Contact) -> Outcome | None:
        now_s = self._now_s()
        left = job.left = list(contact.addresses) if job.left is None else job.left
        for address, (carrier, until_s) in list(job.on_their_way.items()):
            self._hear(job, left, address, carrier, until_s)
        waiting = [address for address in left if address not in job.on_their_way and address not in job.why]
        if now_s < job.due_s:
            return None
        for address in waiting:
            if sum(len(each.on_their_way) for each in self.jobs) >= MOST_AT_ONCE:
                return None
            try:
                job.on_their_way[address] = (self._carry(address, job.message), now_s + LIMIT_S)
            except OSError as error:  # out of memory or processes, perhaps not for long
                job.why[address] = f"it could not be sent from here: {error.strerror}"
            waiting = waiting[1:]
        if waiting or job.on_their_way:
            return None
        return self._after_a_try(job, contact, left)

    def _hear(self, job: Job, left: list[str], address: str, carrier: Carrier, until_s: float) -> None:
        result = carrier.result()
        if result is None:
            if self._now_s() < until_s:
                return
            carrier.give_up()
            result = False, f"no answer within {LIMIT_S:.0f} s"
        del job.on_their_way[address]
        ok, why = result
        if ok:
            left.remove(address)
            job.took = True
        else:
            job.why[address] = why

    def _after_a_try(self, job: Job, contact: Contact, left: list[str]) -> Outcome | None:
        if left and not job.once and job.tries < len(RETRY_AFTER_S):
            job.due_s = self._now_s() + RETRY_AFTER_S[job.tries]
            job.tries += 1
            job.why.clear()
            return None
        failed = "; ".join(f"{masked(address, self._salt)}: {job.why[address]}" for address in left)
        return Outcome(contact.name, job.message, failed, job.took)
