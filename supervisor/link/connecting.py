"""The link's socket, and who is connected to it."""

import os
import socket
import stat
import struct
from pathlib import Path

from supervisor.refusal import InputRefused


class Client:
    """One connection."""

    def __init__(self, connection: socket.socket, now_s: float) -> None:
        self.socket = connection
        self.inward = bytearray()
        self.outward = bytearray()
        self.watching = False
        self.readers = 0  # people who look through it
        self.writing = False  # the selector tells when it takes more
        self.heard_s = now_s
        self.user = user_of(connection)


def listen(path: Path) -> socket.socket:
    """Bind the socket, mode 0660, in place of one that nobody answers any more.

    Raises:
        InputRefused: another supervisor answers there, or it cannot be bound.
    """
    _clear(path)
    listener = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    try:
        listener.bind(str(path))
        path.chmod(0o660)  # nobody can connect before listen
        listener.listen(64)
    except OSError as error:
        listener.close()
        raise InputRefused(f"The link cannot be opened at {path} ({error}); a shorter --data may do.") from error
    return listener


def _clear(path: Path) -> None:
    """Take a socket away that nobody answers any more."""
    try:
        if not stat.S_ISSOCK(path.stat().st_mode):
            raise InputRefused(f"{path} is in the way of the link and is no socket: move it.")
    except FileNotFoundError:
        return
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as probe:
        probe.setblocking(False)
        try:
            probe.connect(str(path))
        except (ConnectionRefusedError, FileNotFoundError):
            path.unlink(missing_ok=True)
            return
        except BlockingIOError:  # somebody listens there, and is busy
            pass
    raise InputRefused(f"Another supervisor answers at {path}; one at a time.")


def user_of(connection: socket.socket) -> str:
    """Who the system says is at the other end."""
    size = struct.calcsize("3i")
    _, uid, _ = struct.unpack("3i", connection.getsockopt(socket.SOL_SOCKET, socket.SO_PEERCRED, size))
    return "same user" if uid == os.getuid() else f"user {uid}"
