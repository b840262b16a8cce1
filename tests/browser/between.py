"""A stretch of network between phone and pages, which a test may make slow or cut: bytes arrive late, or never."""

import socket
import threading
from collections import deque
from contextlib import suppress
from typing import NamedTuple

from hardware.clock import monotonic_s

CHUNK = 65_536
LOOK_EVERY_S = 0.02
BESIDE = "127.0.0.2"
"""Another address of this machine: the pages answer to any plain address, at their own port."""


class _Late(NamedTuple):
    due_s: float
    data: bytes


class Between:
    """Passes every connection on to the pages. Use it in a with statement."""

    def __init__(self, address: str) -> None:
        """address: `http://HOST:PORT` of the pages."""
        host, _, port = address.removeprefix("http://").partition(":")
        self._to = (host, int(port))
        self.delay_s = 0.0  # of what the pages say, from now on
        self._over = threading.Event()
        self.address = f"http://{BESIDE}:{port}"
        self._listener = socket.create_server((BESIDE, int(port)))
        self._listener.settimeout(LOOK_EVERY_S)

    def __enter__(self) -> "Between":
        threading.Thread(target=self._accept, daemon=True).start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._listener.close()

    def _accept(self) -> None:
        while not self._over.is_set():
            with suppress(OSError):
                phone, _ = self._listener.accept()
                pages = socket.create_connection(self._to)
                threading.Thread(target=self._pass, args=(phone, pages, False), daemon=True).start()
                threading.Thread(target=self._pass, args=(pages, phone, True), daemon=True).start()

    def _pass(self, source: socket.socket, target: socket.socket, late: bool) -> None:
        source.settimeout(LOOK_EVERY_S)
        waiting: deque[_Late] = deque()
        open_ = True
        with suppress(OSError):
            while not self._over.is_set() and (open_ or waiting):
                try:
                    data = source.recv(CHUNK) if open_ else b""
                    open_ = open_ and bool(data)
                    if data:
                        waiting.append(_Late(monotonic_s() + (self.delay_s if late else 0.0), data))
                except TimeoutError:
                    pass
                while waiting and waiting[0].due_s <= monotonic_s():
                    target.sendall(waiting.popleft().data)
                if not open_:
                    self._over.wait(LOOK_EVERY_S)
        for each in (source, target):
            with suppress(OSError):
                each.shutdown(socket.SHUT_RDWR)
            each.close()
