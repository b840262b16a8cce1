"""What systemd is told: ready, how it stands, still alive. Without systemd, nobody."""

import contextlib
import os
import socket


class Notifier:
    """Sends datagrams to the service manager. It never raises: a furnace is not stopped for want of a listener."""

    def __init__(self, address: str | None = None) -> None:
        """address: of the manager's socket; from NOTIFY_SOCKET when not given. A leading @ is an abstract name."""
        self._address = os.environ.get("NOTIFY_SOCKET", "") if address is None else address
        self._socket = (
            socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM | socket.SOCK_NONBLOCK) if self._address else None
        )
        self._status = ""

    def ready(self) -> None:
        """The outputs are proved off and the loop turns."""
        self._tell("READY=1")

    def alive(self) -> None:
        """A whole turn of the loop is done. Nothing else may say this, and no timer."""
        self._tell("WATCHDOG=1")

    def status(self, sentence: str) -> None:
        """How the furnace stands, in one sentence; told when it changes."""
        if sentence != self._status:
            self._status = sentence
            self._tell(f"STATUS={sentence}")

    def stopping(self) -> None:
        """The end has been asked for."""
        self._tell("STOPPING=1")

    def close(self) -> None:
        """Release the socket."""
        if self._socket is not None:
            self._socket.close()
            self._socket = None

    def _tell(self, words: str) -> None:
        if self._socket is None:
            return
        address = f"\0{self._address[1:]}" if self._address.startswith("@") else self._address
        with contextlib.suppress(OSError):
            self._socket.sendto(words.encode(), address)
