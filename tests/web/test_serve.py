"""`meltkeeper web` and `meltkeeper pair`, as processes: what they refuse, what they print, how many they serve."""

import json
import socket
import subprocess
import sys
from collections.abc import Iterator
from http.client import HTTPConnection
from pathlib import Path

import pytest

from hardware.clock import utc_ms
from tests.browser.conftest import WEB, Served, serving
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import made
from tests.web.snapshots import HEATING, STOPPED
from web.book import Book
from web.feed import MOST_STREAMS
from web.pairing import new_code, pair
from web.serve import listen

pytestmark = pytest.mark.processes

PAIR = (sys.executable, "-u", "-m", "supervisor.cli", "pair")
REAL = made(STOPPED, furnace={**STOPPED["furnace"], "backend": "pi"})


def run(*command: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run([str(part) for part in command], capture_output=True, text=True, timeout=60, check=False)


@pytest.fixture
def real(data: Path) -> Iterator[Scripted]:
    scripted = Scripted(data, REAL)
    yield scripted
    scripted.close()


@pytest.fixture
def served(data: Path, furnace: Scripted) -> Iterator[Served]:
    with serving([*WEB, "--data", str(data), "--host", "127.0.0.1", "--port", "0"], data) as it:
        yield it


def test_a_real_furnace_without_a_paired_phone_is_not_shown_to_the_network(data: Path, real: Scripted) -> None:
    ended = run(*WEB, "--data", data, "--host", "0.0.0.0", "--port", "0")
    assert ended.returncode == 2
    assert ended.stderr.startswith("host is 0.0.0.0; allowed while no phone is paired: 127.0.0.1.")


@pytest.mark.parametrize("host", ["127.0.0.1", "0.0.0.0"])
def test_a_real_furnace_is_shown_where_it_may_be(data: Path, real: Scripted, host: str) -> None:
    if host == "0.0.0.0":
        book = Book(data / "book.db")
        assert pair(book, new_code(book, utc_ms()), "Ada’s phone", utc_ms())
    with serving([*WEB, "--data", str(data), "--host", host, "--port", "0"], data, code=host == "127.0.0.1"):
        pass


def test_a_real_furnace_has_no_bench(data: Path, real: Scripted) -> None:
    ended = run(*WEB, "--data", data, "--host", "127.0.0.1", "--port", "0", "--bench", data / "bench.sock")
    assert ended.returncode == 2
    assert "allowed: for a simulated furnace alone" in ended.stderr


def test_only_a_proxy_on_this_machine_is_believed_who_asks_and_how(data: Path, furnace: Scripted) -> None:
    command = [*WEB, "--data", str(data), "--host", "127.0.0.1", "--port", "0", "--https-name", "Furnace.local"]
    said = {"Host": "furnace.local", "X-Forwarded-Proto": "https", "X-Forwarded-For": "192.168.1.9"}

    def asked(host: str, headers: dict[str, str], own: str = "127.0.0.1") -> tuple[int, bool]:
        asking = HTTPConnection(host, timeout=30, source_address=(own, 0))
        asking.request("GET", "/first", headers=headers)
        answer = asking.getresponse()
        answer.read()
        asking.close()
        return answer.status, bool(answer.getheader("Strict-Transport-Security"))

    with serving(command, data) as served:
        host = served.address.removeprefix("http://")
        assert asked(host, said) == (200, True)
        assert asked(host, {**said, "X-Forwarded-For": "8.8.8.8"}) == (403, True)
        assert asked(host, said, own="127.0.0.2") == (400, False)
        assert asked(host, {}) == (200, False)


def test_a_network_that_is_none_is_refused(data: Path) -> None:
    ended = run(*WEB, "--data", data, "--allow", "the-workshop")
    assert ended.returncode == 2
    assert "allowed: like 100.64.0.0/10" in ended.stderr


def test_pair_shows_a_picture_and_pairs_to_look(data: Path, served: Served) -> None:
    said = run(*PAIR, "--data", data, "--look", "--picture").stdout
    assert "to look, five minutes" in said
    assert said.count("█") > 100


def test_a_taken_port_is_refused_in_one_sentence(data: Path, served: Served) -> None:
    port = served.address.rpartition(":")[2]
    ended = run(*WEB, "--data", data, "--host", "127.0.0.1", "--port", port)
    assert ended.returncode == 2
    assert "Address already in use" in ended.stderr
    assert "Traceback" not in ended.stderr


def test_pair_names_the_address_where_the_pages_are(data: Path, served: Served) -> None:
    said = run(*PAIR, "--data", data).stdout
    code = said.split()[2].replace("-", "")
    assert f"Pair at: {served.address}/pair#{code}" in said
    connection = HTTPConnection(served.address.removeprefix("http://"))
    headers = {"Origin": served.address, "Content-Type": "application/x-www-form-urlencoded"}
    connection.request("POST", "/pair", f"code={code}&name=Ada", headers)
    assert connection.getresponse().status == 303
    connection.close()


def test_pair_without_a_data_directory_is_refused(data: Path) -> None:
    ended = run(*PAIR, "--data", data / "nothing")
    assert ended.returncode == 2
    assert "There is no data directory" in ended.stderr


def test_five_more_streams_than_there_are_places_leave_page_and_stop_free(served: Served, furnace: Scripted) -> None:
    furnace.show(HEATING)
    host = served.address.removeprefix("http://")
    streams = [HTTPConnection(host, timeout=30) for _ in range(MOST_STREAMS + 5)]
    answers = []
    name, port = host.split(":")
    idle = [socket.create_connection((name, int(port))) for _ in range(150)]  # phones keep some open that say nothing
    try:
        for stream in streams:
            stream.request("GET", "/live")
            answer = stream.getresponse()
            answer.readline()
            answer.readline()
            answers.append(answer.readline().split()[-1])
        assert answers.count(b"full") == 5
        asking = HTTPConnection(host, timeout=30)
        asking.request("GET", "/melts")
        assert asking.getresponse().read()
        asking.request("POST", "/stop", headers={"Accept": "application/json"})
        assert json.loads(asking.getresponse().read())["answer"] == "accepted"
        asking.close()
    finally:
        for stream in streams:
            stream.close()
        for connection in idle:
            connection.close()


def test_a_body_that_is_too_large_is_refused(served: Served) -> None:
    asking = HTTPConnection(served.address.removeprefix("http://"), timeout=30)
    asking.request("POST", "/pair", headers={"Content-Length": str(257 * 1024), "Origin": served.address})
    assert asking.getresponse().status == 413
    asking.close()


def test_a_connection_whose_phone_does_not_answer_ends_after_fifteen_seconds() -> None:
    with listen("127.0.0.1", 0) as listener, socket.create_connection(listener.getsockname()):
        connection, _ = listener.accept()
        with connection:
            assert connection.getsockopt(socket.IPPROTO_TCP, socket.TCP_USER_TIMEOUT) == 15_000


def test_a_phone_that_goes_away_leaves_no_traceback(served: Served, furnace: Scripted) -> None:
    host = served.address.removeprefix("http://")
    for _ in range(5):
        stream = HTTPConnection(host, timeout=30)
        stream.request("GET", "/live")
        stream.getresponse().readline()
        stream.close()
    furnace.wait(2.5)
    served.process.terminate()
    served.process.wait(10)
    assert served.process.stderr
    assert served.process.stderr.read() == ""
