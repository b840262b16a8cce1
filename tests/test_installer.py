"""The installer's judgement, on facts and texts; the whole of it runs by `python -m tests.installer`."""

import contextlib
import json
import sqlite3
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

import pytest

from supervisor.logbook.records import FiringClosed
from systemd.installer import boot, machine, release, steps, update
from systemd.installer.machine import Change, Facts, Machine, NotPossible, unsupported
from tests.supervisor.logbook import opened, sample, scribe_of

PI = Facts("Raspberry Pi 4 Model B Rev 1.4", "arm64", "Debian GNU/Linux 12 (bookworm)", 12, (3, 11), True, 9000.0)

SHIPPED = """\
#dtparam=spi=on
dtparam=audio=on
[cm5]
dtoverlay=dwc2,dr_mode=host
[all]
"""


def test_a_pi_with_the_system_that_is_supported_is_taken() -> None:
    assert unsupported(PI, any_machine=False) == []
    assert unsupported(PI._replace(debian=13, python=(3, 13)), any_machine=False) == []


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (PI._replace(model=""), "no Raspberry Pi"),
        (PI._replace(architecture="armhf"), "built for armhf; allowed: arm64"),
        (PI._replace(architecture="amd64"), "built for amd64; allowed: arm64"),
        (PI._replace(debian=11, system="Debian 11"), "This is Debian 11; allowed"),
        (PI._replace(debian=None, system="another system"), "This is another system; allowed"),
        (PI._replace(python=(3, 10)), "python3 here is 3.10; allowed: 3.11 to 3.13"),
        (PI._replace(python=(3, 14)), "python3 here is 3.14; allowed: 3.11 to 3.13"),
        (PI._replace(free_mb=float("nan")), "allowed: 1000 or more"),
        (PI._replace(is_root=False), "run it with sudo"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_is_not_supported_is_said_at_once(found: Facts, said: str) -> None:
    sentences = unsupported(found, any_machine=False)
    assert len(sentences) == 1
    assert said in sentences[0]


@pytest.mark.parametrize(
    "text",
    [
        "",
        SHIPPED,
        SHIPPED.rstrip("\n"),
        "[pi4]\ndtparam=spi=on\ndtparam=strict_gpiod\n",
        "dtparam=spi=on\ndtparam=spi=off\n",
        "dtparam=spi=on\n",
        "dtparam=i2c_arm=on,spi=off\n",
    ],
)
def test_lines_of_the_boot_configuration_count_come_once_and_go_again(text: str) -> None:
    ours = boot.with_ours(text)
    assert ours.startswith(text)
    assert boot.with_ours(ours) == ours
    for wanted in boot.WANTED:
        assert wanted in ours.splitlines()
    added = ours[len(text) :].lstrip("\n").splitlines()
    assert added[1] == "[all]", "a filter before it does not hide it"
    assert boot.without_ours(ours).rstrip("\n") == text.rstrip("\n")


def test_a_boot_configuration_that_has_the_lines_already_is_left_as_it_is() -> None:
    text = "dtparam=spi=on\n[all]\ndtparam=strict_gpiod\n"
    assert boot.with_ours(text) == text


def test_the_serial_console_is_taken_off_its_pins_and_the_other_stays() -> None:
    line = "console=serial0,115200 console=tty1 root=PARTUUID=0-02 rootwait\n"
    assert boot.without_serial_console(line) == "console=tty1 root=PARTUUID=0-02 rootwait\n"


SERIAL = "console=serial0,115200 console=tty1 root=PARTUUID=0-02 rootwait\n"


@pytest.fixture
def command_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cmdline.txt with a serial console, whose pins the furnace file wants; nothing else of a Pi's start is there."""
    furnace = tmp_path / "furnace.toml"
    furnace.write_text("[pins]\nmains = 15\n", encoding="utf-8")
    for name in ("WATCHDOG", "SERVICE", "CONFIG"):
        monkeypatch.setattr(steps, name, tmp_path / name)
    monkeypatch.setattr(steps, "FURNACE_FILE", furnace)
    monkeypatch.setattr(steps, "COMMAND_LINE", tmp_path / "cmdline.txt")
    (tmp_path / "cmdline.txt").write_text(SERIAL, encoding="utf-8")
    return tmp_path / "cmdline.txt"


def make(changes: Iterable[Change]) -> int:
    """Make them, and how many there were."""
    return len([change.do() for change in list(changes)])


@pytest.mark.parametrize(
    ("changed", "afterwards"),
    [
        ("console=tty1 root=PARTUUID=0-02 rootwait\n", SERIAL),
        (
            "console=tty1 root=PARTUUID=9-02 rootwait quiet\n",
            "console=serial0,115200 console=tty1 root=PARTUUID=9-02 rootwait quiet\n",
        ),
        (
            "console=tty1 root=PARTUUID=0-02 console=serial0,9600\n",
            "console=tty1 root=PARTUUID=0-02 console=serial0,9600\n",
        ),
    ],
    ids=["nothing else", "by others", "put back by hand"],
)
def test_only_the_serial_console_is_put_back(command_line: Path, changed: str, afterwards: str) -> None:
    this = Machine(PI)
    assert make(steps.start_of_the_pi(this)) == 1
    assert command_line.read_text(encoding="utf-8") == "console=tty1 root=PARTUUID=0-02 rootwait\n"
    command_line.write_text(changed, encoding="utf-8")
    assert make(steps.settings_gone(this)) == 1
    assert command_line.read_text(encoding="utf-8") == afterwards
    assert make(steps.settings_gone(this)) == 0
    assert [path.name for path in command_line.parent.iterdir() if "before" in path.name] == []


def test_it_needs_nothing_but_the_systems_own_python(repository: Path) -> None:
    program = "import json, sys, systemd.installer.__main__; print(json.dumps([m.split('.')[0] for m in sys.modules]))"
    said = subprocess.run(
        [sys.executable, "-S", "-c", program], cwd=repository, capture_output=True, text=True, check=True
    ).stdout
    foreign = {name for name in json.loads(said) if name not in sys.stdlib_module_names and not name.startswith("_")}
    assert foreign == {"systemd", "hardware"}


@pytest.fixture
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A data directory whose supervisor is stopped."""
    monkeypatch.setattr(update, "DATA", tmp_path)
    monkeypatch.setattr(update, "_snapshot", lambda: None)
    monkeypatch.setattr(update, "_is_active", lambda: False)
    return tmp_path


def test_another_release_is_taken_where_nothing_was_ever_fired(data: Path) -> None:
    assert "nothing was ever fired" in update.refuse_while_hot(looked=False)


@pytest.mark.parametrize(
    ("closed", "hot_c", "said"),
    [
        (False, 30.0, "has no closing record"),
        (True, 412.0, "last record is 412 °C"),
        (True, None, "last record is no reading"),
    ],
)
def test_another_release_is_refused_while_the_log_says_hot_open_or_nothing(
    data: Path, monkeypatch: pytest.MonkeyPatch, closed: bool, hot_c: float | None, said: str
) -> None:
    with scribe_of(data) as scribe:
        scribe.put([opened(), sample(1000, hot_junction_c=hot_c)])
        if closed:
            scribe.put([FiringClosed(1, 2000, "complete", None, {})])
    with contextlib.closing(sqlite3.connect(data / "furnace.db")) as connection:
        (started_ms,) = connection.execute("SELECT started_utc_ms FROM firing").fetchone()
    monkeypatch.setattr(update, "utc_ms", lambda: started_ms + 3_600_000)
    with pytest.raises(NotPossible, match=said):
        update.refuse_while_hot(looked=False)
    assert "Somebody has looked" in update.refuse_while_hot(looked=True)


@pytest.mark.parametrize(
    ("state", "hot_c", "left", "said"),
    [
        ("running", 30.0, None, "The furnace is running"),
        ("stopped", 60.0, None, "reads 60 °C; allowed: below 60 °C"),
        ("complete", float("nan"), None, "allowed: below 60 °C"),
        ("stopped", None, None, "sensor does not read"),
        ("stopped", 21.0, None, "sensor does not read"),  # an hour ago
        ("stopped", 30.0, "A trip stands.", "A trip stands. Reset it"),
    ],
)
def test_another_release_is_refused_while_the_supervisor_says_so_whoever_has_looked(
    data: Path, monkeypatch: pytest.MonkeyPatch, state: str, hot_c: float | None, left: str | None, said: str
) -> None:
    fault = "open circuit" if said == "sensor does not read" else None
    snapshot = {"hot_junction": {"c": hot_c, "fault": fault}, "state": state, "left_open": left}
    monkeypatch.setattr(update, "_snapshot", lambda: snapshot)
    with pytest.raises(NotPossible, match=said):
        update.refuse_while_hot(looked=True)
    snapshot |= {"hot_junction": {"c": 21.0, "fault": None}, "state": "stopped", "left_open": None}
    assert "reads 21 °C" in update.refuse_while_hot(looked=False)


def test_a_supervisor_that_runs_and_says_nothing_means_that_nobody_knows(
    data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(update, "_is_active", lambda: True)
    with pytest.raises(NotPossible, match="nobody knows how hot"):
        update.refuse_while_hot(looked=False)


def test_a_release_is_known_by_its_files(repository: Path, tmp_path: Path) -> None:
    for part in release.PARTS:
        assert (repository / part).exists(), part
    one = tmp_path / "supervisor"
    one.mkdir()
    (one / "a.py").write_text("x = 1\n", encoding="utf-8")
    name = release.name_of(tmp_path)
    (one / "__pycache__").mkdir()
    (one / "__pycache__/a.pyc").write_bytes(b"\0")
    assert release.name_of(tmp_path) == name
    (one / "a.py").write_text("x = 2\n", encoding="utf-8")
    assert release.name_of(tmp_path) != name


def test_a_file_is_written_whole_and_what_was_made_is_remembered(tmp_path: Path) -> None:
    note = tmp_path / "installed.json"
    made = machine.Machine(PI, note)
    made.remember("users", "meltkeeper")
    made.remember("users", "meltkeeper")
    assert json.loads(note.read_text(encoding="utf-8")) == {"users": ["meltkeeper"]}
    assert machine.Machine(PI, note).made == {"users": ["meltkeeper"]}
    file = tmp_path / "unit"
    (change,) = machine.file_as(file, "text\n", "A file")
    change.do()
    assert list(machine.file_as(file, "text\n", "A file")) == []
    assert [path.name for path in tmp_path.iterdir() if path.suffix == ".new"] == []
