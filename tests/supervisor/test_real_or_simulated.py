"""What a furnace's file stands for on this machine, and what is refused before anything is claimed."""

import signal
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

import supervisor.cli.run
from supervisor.cli import main
from supervisor.furnace.enabled import FURNACE_FILE, UNIT, enabled_furnace

WORKSHOP = Path("supervisor/furnace/files/workshop.toml")


@pytest.fixture
def own(tmp_path: Path, repository: Path) -> Path:
    """A file that says it describes a real furnace."""
    text = (repository / WORKSHOP).read_text(encoding="utf-8")
    file = tmp_path / "mine.toml"
    file.write_text(text.replace("invented = true", "invented = false"), encoding="utf-8")
    return file


@pytest.fixture
def repository() -> Path:
    return Path(__file__).parents[2]


def call(*words: str) -> Result:
    before = {number: signal.getsignal(number) for number in (signal.SIGTERM, signal.SIGINT)}
    try:
        return CliRunner().invoke(main, words)
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def test_an_invented_furnace_is_never_driven_for_real(tmp_path: Path) -> None:
    data = tmp_path / "data"
    ended = call("daemon", "--data", str(data))
    assert ended.exit_code == 2
    assert "workshop is an invented furnace" in ended.output
    assert not data.exists()


def test_a_computer_without_pins_is_told_so_before_a_directory_is_born(own: Path, tmp_path: Path) -> None:
    data = tmp_path / "data"
    ended = call("daemon", "--furnace", str(own), "--data", str(data))
    assert ended.exit_code == 2
    assert "This computer is no Raspberry Pi" in ended.output
    assert not data.exists()


NEEDED = ("limiter", "mirror", "emergency_stop", "permit", "chain", "key", "permit_relay_1", "reset_button", "enable")


@pytest.mark.parametrize("line", NEEDED)
def test_without_what_real_heat_needs_the_file_is_refused_first(own: Path, tmp_path: Path, line: str) -> None:
    text = own.read_text(encoding="utf-8").splitlines()
    pins = text.index("[pins]")
    own.write_text("\n".join(row for n, row in enumerate(text) if n < pins or not row.startswith(f"{line} =")), "utf-8")
    data = tmp_path / "data"
    ended = call("daemon", "--furnace", str(own), "--data", str(data))
    assert ended.exit_code == 2
    assert f"pins.{line} is missing" in ended.output
    assert not data.exists()


def enabled(root: Path, furnace_file: str | None) -> Path:
    (root / UNIT).parent.mkdir(parents=True)
    (root / UNIT).symlink_to("/etc/systemd/system/meltkeeper.service")
    if furnace_file is not None:
        (root / FURNACE_FILE).parent.mkdir(parents=True)
        (root / FURNACE_FILE).write_text(furnace_file, encoding="utf-8")
    return root


def test_a_machine_says_which_furnace_it_watches(tmp_path: Path) -> None:
    assert enabled_furnace(tmp_path) is None
    assert enabled_furnace(enabled(tmp_path / "a", 'title = "The one by the door"\n')) == "The one by the door"
    assert enabled_furnace(enabled(tmp_path / "b", "no toml [\n")) == "the real furnace"
    assert enabled_furnace(enabled(tmp_path / "c", None)) == "the real furnace"


def test_beside_a_real_one_a_simulated_furnace_needs_another_port(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(supervisor.cli.run, "enabled_furnace", lambda: "The one by the door")
    ended = call("run", "--simulated")
    assert ended.exit_code == 2
    assert "--port is 8080; allowed: another one. This machine watches The one by the door" in ended.output


def test_a_real_furnace_is_not_run_from_a_terminal(own: Path) -> None:
    ended = call("run", "--furnace", str(own))
    assert ended.exit_code == 2
    assert "systemd/install sets them up" in ended.output
