"""The other end of the link: what the web process, the command line and anybody's own program use."""

import json
import socket
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NamedTuple
from uuid import uuid4

from hardware.clock import monotonic_s
from supervisor.link.protocol import VERSION
from supervisor.logbook.reading import KeptModel

SOCKET_NAME = "link.sock"
"""Of the link's socket in a data directory."""

PATIENCE_S = 5.0
"""A sender that hears nothing for so long shows 'unknown', never done."""


class LinkSilent(OSError):
    """No supervisor answers. The furnace may be doing anything: look at it."""


class Answer(NamedTuple):
    """What became of a command. accepted None: no answer came, and nobody knows."""

    id: str
    accepted: bool | None
    sentence: str
    epoch: int | None


class Link:
    """The link to one furnace's supervisor. Each call opens its own connection; several threads may use it."""

    def __init__(self, path: Path, now_s: Callable[[], float] = monotonic_s) -> None:
        """path: the socket, usually `link.sock` in the data directory."""
        self.path = path
        self._now_s = now_s

    def snapshot(self) -> dict[str, Any]:
        """The supervisor's newest snapshot; `age_s` in it says how old it is.

        Raises:
            LinkSilent: nobody answers.
        """
        return next(self._look("snapshot"))

    def watch(self, readers: Callable[[], int] | None = None) -> Iterator[dict[str, Any]]:
        """A snapshot at once, then one about every second and one at each change, until the iterator is closed.

        readers: how many people look through it now, where it is not the caller alone; a change is told within 1 s.

        Raises:
            LinkSilent: nobody answers, or nothing came for PATIENCE_S.
        """
        return self._look("watch", readers)

    def equipment(self) -> dict[str, Any]:
        """What is fitted, every watch, and what nothing can notice; the same while this supervisor runs.

        Raises:
            LinkSilent: nobody answers.
        """
        with self._connect() as connection, connection.makefile("rb") as lines:
            try:
                connection.sendall(json.dumps({"v": VERSION, "ask": "equipment"}).encode() + b"\n")
                return _snapshot(lines.readline())
            except OSError as error:
                raise LinkSilent(f"The supervisor at {self.path} fell silent ({error}).") from error

    def forecast(self, wanted: Mapping[str, Any]) -> tuple[dict[str, Any] | None, str]:
        """What a firing would take that nobody has prepared, or why nobody can say. wanted: profile_toml, charge.

        Raises:
            LinkSilent: nobody answers.
        """
        told = self._asked({"ask": "forecast", **wanted})
        return told.get("forecast"), str(told.get("sentence", ""))

    def judge(self, profile_toml: str) -> tuple[dict[str, Any] | None, str]:
        """How a profile is understood, or the one sentence that says why this furnace cannot do it.

        Raises:
            LinkSilent: nobody answers.
        """
        told = self._asked({"ask": "judge", "profile_toml": profile_toml})
        return told.get("judged"), str(told.get("sentence", ""))

    def _asked(self, what: Mapping[str, Any]) -> dict[str, Any]:
        with self._connect() as connection, connection.makefile("rb") as lines:
            try:
                connection.sendall(json.dumps({"v": VERSION, **what}).encode() + b"\n")
                return _snapshot(lines.readline())
            except OSError as error:
                raise LinkSilent(f"The supervisor at {self.path} fell silent ({error}).") from error

    def send(self, message: Mapping[str, Any]) -> Answer:
        """Send a command and wait for its answer. `v` and `id` are filled in where the message has none.

        Raises:
            LinkSilent: nobody is there to take it, so it was not taken.
        """
        whole: dict[str, Any] = {"v": VERSION, "id": uuid4().hex, **message}
        with self._connect() as connection:
            try:
                connection.sendall(json.dumps(whole).encode() + b"\n")
                with connection.makefile("rb") as lines:
                    return _answer(lines.readline())
            except (OSError, ValueError):
                sentence = f"No answer within {PATIENCE_S:.0f} s: it is unknown what became of this."
                return Answer(str(whole["id"]), None, sentence, None)

    def _look(self, ask: str, readers: Callable[[], int] | None = None) -> Iterator[dict[str, Any]]:
        with self._connect() as connection, connection.makefile("rb") as lines:
            said: dict[str, Any] = {}
            while True:
                message = {"v": VERSION, "ask": ask, **({} if readers is None else {"readers": readers()})}
                try:
                    if message != said:
                        connection.sendall(json.dumps(message).encode() + b"\n")
                        said = message
                    line = lines.readline()
                except OSError as error:
                    raise LinkSilent(f"The supervisor at {self.path} fell silent ({error}).") from error
                if not line:
                    raise LinkSilent(f"The supervisor at {self.path} closed the link.")
                yield self._of_now(_snapshot(line))

    def _of_now(self, snapshot: dict[str, Any]) -> dict[str, Any]:
        """A line that lay unread has grown old meanwhile: both ends have the same clock, that of this machine."""
        now_s = self._now_s()
        snapshot["age_s"] += max(0.0, now_s - snapshot.pop("sent_s", now_s))
        return snapshot

    def _connect(self) -> socket.socket:
        connection = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        connection.settimeout(PATIENCE_S)
        try:
            connection.connect(str(self.path))
        except OSError as error:
            connection.close()
            raise LinkSilent(f"No supervisor answers at {self.path} ({error.strerror or error}).") from error
        return connection


def headline(snapshot: Mapping[str, Any]) -> str:
    """The headline of a snapshot as one line of text. An hour in it is told by this machine's local time."""
    parts = snapshot["headline"]
    words = " ".join(part for part in (parts["before"], parts["key"], parts["after"]) if part)
    return _with_hour(snapshot, words, parts.get("in_s"))


def next_sign(snapshot: Mapping[str, Any]) -> str:
    """When the next sign is due, in one sentence; empty where the headline says it itself, or none is."""
    parts = snapshot["headline"]
    return _with_hour(snapshot, parts.get("next_sign", ""), parts.get("next_sign_in_s"))


def _with_hour(snapshot: Mapping[str, Any], words: str, in_s: float | None) -> str:
    if in_s is None:
        return words
    now_s = _utc_ms(snapshot) / 1000.0
    at = datetime.fromtimestamp(now_s + in_s, UTC).astimezone()
    return words.replace("{hour}", at.strftime("%H:%M")).replace("{day}", day_word(now_s, now_s + in_s))


def day_word(now_s: float, at_s: float) -> str:
    """What stands for {day} beside an hour: empty for today's, 'tomorrow. ', or '12 Sep. '; both UTC, s."""
    now, at = (datetime.fromtimestamp(each, UTC).astimezone() for each in (now_s, at_s))
    days = (at.date() - now.date()).days
    return "" if days == 0 else "tomorrow. " if days == 1 else f"{at.day} {at:%b}. "


def adopt_message(kept: KeptModel, *, ask: bool = True) -> dict[str, Any]:
    """The command by which a model of the log is taken again, or one that waited. ask: at the furnace, if need be.

    The sender reads the log: neither the supervisor's loop nor its link waits for the disk.
    """
    return {
        "command": "adopt",
        "model": kept.model,
        "firing_id": kept.firing_id,
        "takes": kept.id,
        "objections": [] if kept.adopted or not kept.note else [kept.note[:300]],
        "at_furnace": ask,
        "against": kept.against,
        "note": f"Model {kept.id} {'put back' if kept.adopted else 'taken'}.",
    }


def _utc_ms(snapshot: Mapping[str, Any]) -> float:
    """UTC of a snapshot; in a firing reckoned from its start, as a simulated furnace has a pace of its own."""
    firing = snapshot["firing"]
    if firing is None or firing["started_utc_ms"] is None:
        return float(snapshot["utc_ms"])
    return float(firing["started_utc_ms"] + firing["elapsed_s"] * 1000.0)


def _snapshot(line: bytes) -> dict[str, Any]:
    try:
        snapshot = json.loads(line)
    except ValueError as error:
        raise LinkSilent(f"The supervisor's line cannot be read ({error}).") from error
    if not isinstance(snapshot, dict) or snapshot.get("v") != VERSION:
        raise LinkSilent(f"The supervisor speaks another version of the link than {VERSION}: update both together.")
    return snapshot


def _answer(line: bytes) -> Answer:
    """Raises ValueError where it is none."""
    answer = json.loads(line)
    if not isinstance(answer, dict) or answer.get("answer") not in ("accepted", "refused"):
        raise ValueError("not an answer")
    return Answer(
        str(answer.get("id", "")), answer["answer"] == "accepted", str(answer.get("sentence", "")), answer.get("epoch")
    )
