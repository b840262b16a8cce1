"""A link, a loop and a furnace whose log is kept, each taken by more than one module here."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from supervisor.link.server import LinkServer
from supervisor.logbook.directory import open_directory
from supervisor.logbook.scribe import Scribe
from tests.supervisor.link_at_hand import SNAPSHOT, Now, no_profile
from tests.supervisor.loop_at_hand import Stand
from tests.supervisor.restarted import Kept
from tests.supervisor.wire import Wire


@pytest.fixture
def now() -> Now:
    return Now()


@pytest.fixture
def server(tmp_path: Path, now: Now) -> Iterator[LinkServer]:
    server = LinkServer(tmp_path / "link.sock", no_profile, now)
    server.publish(SNAPSHOT)
    server.start()
    yield server
    server.close()


@pytest.fixture
def wire(server: LinkServer) -> Iterator[Wire]:
    wire = Wire(server.path)
    yield wire
    wire.close()


@pytest.fixture
def kept(tmp_path: Path) -> Iterator[Kept]:
    kept = Kept(tmp_path / "data")
    yield kept
    kept.close()


@pytest.fixture
def stand(tmp_path: Path) -> Iterator[Stand]:
    with (
        open_directory(tmp_path, backend="simulated", furnace="workshop") as kept,
        Scribe(kept, boot_id="b", utc_ms=lambda: 1_789_000_000_000, threaded=False) as scribe,
    ):
        stand = Stand(tmp_path, scribe)
        yield stand
        stand.hardware.close()
        if stand.wire is not None:
            stand.wire.close()
        stand.server.close()
        stand.notifier.close()
