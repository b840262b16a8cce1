"""The supervisor's end of the link: one thread, one socket, many clients, none of which the loop ever waits for.

The thread reads a little from each client in turn, so that one that says much delays nobody; what it understands waits
in the inbox for the loop. Snapshots and answers come back through queues of bounded length. A client that does not read
is dropped.
"""

import contextlib
import json
import selectors
import socket
import threading
from collections import deque
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from hardware.clock import monotonic_s
from supervisor.firing.commands import Answer, Command
from supervisor.link.connecting import Client, listen
from supervisor.link.fields import BadMessage
from supervisor.link.inbox import Inbox, Reply, Ticket
from supervisor.link.judging import judged
from supervisor.link.protocol import LONGEST_LINE, VERSION, Look, ReadProfile, WhatIf, understand
from supervisor.link.reckoner import Reckon, Reckoner

MOST_CLIENTS = 200
READ_AT_ONCE = 4096
"""Bytes taken from one client before the next has its turn."""
MOST_UNREAD = 131_072
"""Bytes that may wait for a client that does not read; as many are still heard when it is dropped."""


class LinkServer:
    """The link's socket and its thread. `take`, `answer` and `publish` are the loop's; they never wait."""

    def __init__(
        self,
        path: Path,
        read_profile: ReadProfile,
        now_s: Callable[[], float] = monotonic_s,
        equipment: Mapping[str, Any] | None = None,
    ) -> None:
        """Bind the socket, mode 0660. Nobody is answered before `start`. equipment: told to whoever asks for it.

        Raises:
            InputRefused: another supervisor answers there, or it cannot be bound.
        """
        self.path = path
        self._read_profile = read_profile
        self._now_s = now_s
        self._inbox: Inbox[Client] = Inbox(now_s)
        self._answers: deque[tuple[Reply[Client], Answer, int]] = deque()
        self._equipment = json.dumps({"v": VERSION, **(equipment or {})}, ensure_ascii=False).encode() + b"\n"
        self._reckoner: Reckoner[Client] = Reckoner(self._ring)
        self._published: deque[tuple[Mapping[str, Any], float]] = deque(maxlen=8)
        self._newest: tuple[bytes, float, int] = (b"", now_s(), 0)
        self._clients: set[Client] = set()
        self._readers = 0
        self._closing = False
        self._listener = listen(path)
        self._selector = selectors.DefaultSelector()
        self._bell, self._ear = socket.socketpair()
        for each in (self._bell, self._ear, self._listener):
            each.setblocking(False)
        self._selector.register(self._listener, selectors.EVENT_READ)
        self._selector.register(self._ear, selectors.EVENT_READ)
        self._thread = threading.Thread(target=self._serve, name="link", daemon=True)

    # -- the loop's side ---------------------------------------------------------------------------------------------

    @property
    def alive(self) -> bool:
        """Whether the thread runs. Without it no stop comes through: the loop must not go on heating."""
        return self._thread.is_alive()

    @property
    def readers(self) -> int:
        """How many people follow the furnace now: pages that are open, command lines that watch."""
        return self._readers

    def forecast_with(self, reckon: Reckon) -> None:
        """Answer forecasts from now on. reckon runs in a thread of its own, so that no stop waits for it."""
        self._reckoner.reckon = reckon

    def start(self) -> None:
        """Begin to answer. One snapshot must have been published."""
        self._pass_on()
        self._thread.start()

    def take(self) -> list[Ticket[Client]]:
        """The commands of this turn, stops first."""
        return self._inbox.take()

    def answer(self, ticket: Ticket[Client], answer: Answer, epoch: int) -> None:
        """Tell everybody who waits for it what became of a command."""
        self._answers.append((ticket.reply, answer, epoch))
        self._ring()

    def publish(self, snapshot: Mapping[str, Any]) -> None:
        """Show a snapshot from now on. It must not be changed afterwards."""
        self._published.append((snapshot, self._now_s()))
        self._ring()

    def close(self) -> None:
        """End the thread, close every connection, take the socket away. A second call does nothing."""
        if self._closing:
            return
        self._closing = True
        self._ring()
        if self._thread.is_alive():
            self._thread.join()
        self._reckoner.close()
        self._pass_on()  # the last words
        for each in (*(client.socket for client in self._clients), self._listener, self._bell, self._ear):
            each.close()
        self._selector.close()
        self.path.unlink(missing_ok=True)

    def _ring(self) -> None:
        with contextlib.suppress(BlockingIOError):  # it rings already
            self._bell.send(b"!")

    # -- the thread --------------------------------------------------------------------------------------------------

    def _serve(self) -> None:
        while not self._closing:
            for key, events in self._selector.select():
                if key.fileobj is self._listener:
                    self._accept()
                elif key.fileobj is self._ear:
                    self._ear.recv(READ_AT_ONCE)
                elif key.data in self._clients:  # it may have been dropped for another's sake
                    self._attend(key.data, events)
            self._pass_on()

    def _accept(self) -> None:
        try:
            connection, _ = self._listener.accept()
            connection.setblocking(False)
            client = Client(connection, self._now_s())
        except OSError:  # gone again
            return
        if len(self._clients) >= MOST_CLIENTS:
            self._drop(min(self._clients, key=lambda each: each.heard_s))
        self._clients.add(client)
        self._selector.register(connection, selectors.EVENT_READ, client)

    def _attend(self, client: Client, events: int) -> None:
        if events & selectors.EVENT_WRITE:
            self._flush(client)
        if events & selectors.EVENT_READ and client in self._clients:
            try:
                self._read(client)
            except OSError:
                self._forget(client)

    def _read(self, client: Client) -> bool:
        """Take one helping from a client; true when there was one."""
        try:
            helping = client.socket.recv(READ_AT_ONCE)
        except BlockingIOError:
            return False
        client.heard_s = self._now_s()
        client.inward += helping
        if not helping:  # no more will come; a last line without its line feed counts
            self._hear(client, bytes(client.inward))
            self._forget(client)
            return False
        *lines, rest = client.inward.split(b"\n")
        client.inward = rest
        for line in lines:
            self._hear(client, bytes(line))
        if len(rest) >= LONGEST_LINE:
            client.inward = bytearray()
            self._hear(client, bytes(rest))
            self._drop(client)
        return True

    def _hear(self, client: Client, line: bytes) -> None:
        if not line.strip():
            return
        try:
            request = understand(line, client.user, self._read_profile)
        except BadMessage as error:
            self._say(client, Answer(error.id, False, str(error)), self._newest[2])
            return
        if not isinstance(request, Look):
            self._command(client, request, line)
            return
        if request.equipment:
            self._send(client, self._equipment)
            return
        if request.judge is not None:
            self._tell(client, {"judged": judged(request.judge)})
            return
        if request.what_if is not None:
            self._forecast(client, request.what_if)
            return
        if request.watch:
            client.watching, client.readers = True, request.readers
            self._count()
        self._show(client)

    def _forecast(self, client: Client, wanted: WhatIf) -> None:
        if why := self._reckoner.ask(client, wanted):
            self._tell(client, {"forecast": None, "sentence": why})

    def _tell(self, client: Client, told: Mapping[str, Any]) -> None:
        self._send(client, json.dumps({"v": VERSION, **told}, ensure_ascii=False).encode() + b"\n")

    def _count(self) -> None:
        self._readers = sum(client.readers for client in self._clients)

    def _command(self, client: Client, command: Command, line: bytes) -> None:
        reply = self._inbox.post(command, client, line)
        if reply.answer is not None:
            self._say(client, reply.answer, self._newest[2] if reply.epoch is None else reply.epoch)

    # -- outward -----------------------------------------------------------------------------------------------------

    def _pass_on(self) -> None:
        """Send what the loop has left here."""
        while self._answers:
            reply, answer, epoch = self._answers.popleft()
            reply.answer, reply.epoch = answer, epoch
            for client, own_id in reply.waiting:
                self._say(client, answer._replace(id=own_id), epoch)
        for client, told in self._reckoner.found():
            self._tell(client, told)
        while self._published:
            snapshot, made_s = self._published.popleft()
            self._newest = (json.dumps(snapshot, ensure_ascii=False).encode(), made_s, int(snapshot["epoch"]))
            for client in [each for each in self._clients if each.watching]:
                self._show(client)

    def _show(self, client: Client) -> None:
        text, made_s, _ = self._newest
        now_s = self._now_s()
        age = f', "age_s": {max(0.0, now_s - made_s):.3f}, "sent_s": {now_s:.3f}}}\n'
        self._send(client, text[:-1] + age.encode())

    def _say(self, client: Client, answer: Answer, epoch: int) -> None:
        line = {
            "v": VERSION,
            "id": answer.id,
            "answer": "accepted" if answer.accepted else "refused",
            "sentence": answer.sentence,
            "epoch": epoch,
        }
        self._send(client, json.dumps(line, ensure_ascii=False).encode() + b"\n")

    def _send(self, client: Client, line: bytes) -> None:
        if client not in self._clients:
            return
        client.outward += line
        self._flush(client)
        if len(client.outward) > MOST_UNREAD:
            self._drop(client)

    def _flush(self, client: Client) -> None:
        try:
            del client.outward[: client.socket.send(client.outward)]
        except BlockingIOError:
            pass
        except OSError:  # gone, perhaps after a stop that is still to be read
            self._drop(client)
            return
        if client.writing != bool(client.outward):
            client.writing = not client.writing
            events = selectors.EVENT_READ | (selectors.EVENT_WRITE if client.writing else 0)
            self._selector.modify(client.socket, events, client)

    def _drop(self, client: Client) -> None:
        """Let a client go, but hear first what it has already said: there may be a stop in it."""
        if client not in self._clients:
            return
        self._forget(client, close=False)
        with contextlib.suppress(OSError):
            for _ in range(MOST_UNREAD // READ_AT_ONCE):
                if not self._read(client):
                    break
        client.socket.close()

    def _forget(self, client: Client, *, close: bool = True) -> None:
        if client in self._clients:
            self._clients.discard(client)
            self._selector.unregister(client.socket)
            self._count()
        if close:
            client.socket.close()
