"""A Unix socket that speaks JSON, a line each way, and never waits for a client: the side of the furnace's process."""

import json
import socket
from collections.abc import Callable
from pathlib import Path
from typing import Any

from hardware.simulated.bench import Message

LONGEST_LINE = 65536


def listen(path: Path) -> socket.socket:
    """Open a Unix socket that only this user may connect to; a dead one of that name is replaced.

    Raises:
        OSError: it cannot be opened, or somebody listens there.
    """
    with socket.socket(socket.AF_UNIX) as probe:
        try:
            probe.connect(str(path))
        except FileNotFoundError:
            pass
        except ConnectionRefusedError:
            path.unlink()  # left behind by a process that was killed
        else:
            raise OSError(f"another simulated furnace listens at {path}")
    listener = socket.socket(socket.AF_UNIX)
    unready = path.with_name(f"{path.name}.unready")  # who sees the path is never refused
    try:
        unready.unlink(missing_ok=True)
        listener.bind(str(unready))
        unready.chmod(0o600)
        listener.listen()
        unready.rename(path)
    except OSError:
        listener.close()
        raise
    return listener


class Connection:
    """One connection; what it is, is not known before its first line."""

    def __init__(self, connection: socket.socket) -> None:
        self.connection = connection
        self.answer: Callable[[Message], dict[str, Any] | None] | None = None
        self._unread = b""

    def lines(self) -> list[bytes] | None:
        """Give the whole lines that came; None when the other end is gone."""
        try:
            came = self.connection.recv(LONGEST_LINE)
        except BlockingIOError:
            return []
        except OSError:
            return None
        *lines, self._unread = (self._unread + came).split(b"\n")
        return lines if came and len(self._unread) < LONGEST_LINE else None

    def send(self, message: Message) -> bool:
        """Send one line, without waiting; false when it does not fit: this client does not read."""
        line = json.dumps(message).encode() + b"\n"
        try:
            return self.connection.send(line) == len(line)
        except OSError:
            return False
