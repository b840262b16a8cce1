"""A client of the link that says exactly what it is told to, well-formed or not."""

import json
import socket
from pathlib import Path
from typing import Any


class Wire:
    """One connection."""

    def __init__(self, path: Path) -> None:
        self.socket = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self.socket.settimeout(5.0)
        self.socket.connect(str(path))
        self.lines = self.socket.makefile("rb")

    def say(self, **message: Any) -> None:
        """Send a message with a sender."""
        self.raw(json.dumps({"v": 1, "who": "Ada", "where": "page", **message}).encode() + b"\n")

    def raw(self, line: bytes) -> None:
        """Send bytes."""
        self.socket.sendall(line)

    def hear(self) -> dict[str, Any]:
        """The next line from the other end."""
        heard: dict[str, Any] = json.loads(self.lines.readline())
        return heard

    def settle(self) -> dict[str, Any]:
        """Wait until all that was said has been heard; the snapshot that answers. Other answers are passed over."""
        self.say(ask="snapshot")
        while "state" not in (heard := self.hear()):
            pass
        return heard

    def close(self) -> None:
        """Hang up."""
        self.lines.close()
        self.socket.close()
