"""What the service manager hears, over a real datagram socket."""

import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from supervisor.notify import Notifier


@pytest.fixture(params=["path", "abstract"])
def manager(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[socket.socket, str]]:
    """A listener, and its address as NOTIFY_SOCKET has it."""
    name = str(tmp_path / "notify")
    address = name if request.param == "path" else f"@{name}"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as listener:
        listener.bind(name if request.param == "path" else f"\0{name}")
        listener.settimeout(5.0)
        yield listener, address


def test_manager_hears_each_word_and_a_status_only_when_it_changes(
    manager: tuple[socket.socket, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    listener, address = manager
    monkeypatch.setenv("NOTIFY_SOCKET", address)
    notifier = Notifier()
    notifier.ready()
    notifier.status("The furnace is stopped, 20 °C.")
    notifier.status("The furnace is stopped, 20 °C.")
    notifier.alive()
    notifier.stopping()
    notifier.close()
    heard = [listener.recv(4096).decode() for _ in range(4)]
    assert heard == ["READY=1", "STATUS=The furnace is stopped, 20 °C.", "WATCHDOG=1", "STOPPING=1"]


def test_nobody_to_hear_it_is_no_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NOTIFY_SOCKET", raising=False)
    for notifier in (Notifier(), Notifier(str(tmp_path / "nobody"))):
        notifier.ready()
        notifier.alive()
        notifier.close()
        notifier.alive()


def test_deaf_manager_does_not_hold_the_loop_up(tmp_path: Path) -> None:
    address = str(tmp_path / "notify")
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as listener:
        listener.bind(address)
        notifier = Notifier(address)
        for _ in range(10_000):  # far more than a datagram queue holds
            notifier.alive()
        notifier.close()
