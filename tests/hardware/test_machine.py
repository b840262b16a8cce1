"""Which machine is taken for a Pi that may drive a furnace, and what is said of any other."""

from pathlib import Path

import pytest

from hardware.machine import NotThisMachine, refuse_machine


@pytest.fixture
def machine(tmp_path: Path) -> Path:
    """The files of a Pi as it should be. Their contents are from memory: nobody here has one."""
    files = {
        "proc/device-tree/model": "Raspberry Pi 4 Model B Rev 1.4\0",
        "etc/os-release": 'PRETTY_NAME="Debian GNU/Linux 12 (bookworm)"\nVERSION_ID="12"\n',
        "dev/gpiochip0": "",
        "dev/spidev0.0": "",
        "dev/spidev0.1": "",
    }
    for name, text in files.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def test_a_pi_as_it_should_be_is_taken(machine: Path) -> None:
    refuse_machine((0, 1), root=machine, bits=64, python=(3, 11))


@pytest.mark.parametrize(
    ("change", "more", "says"),
    [
        (("proc/device-tree/model", "Some other board\0"), {}, "no Raspberry Pi \\(Some other board\\)"),
        (("proc/device-tree/model", None), {}, "no Raspberry Pi \\(it does not say what it is\\)"),
        (("etc/os-release", 'VERSION_ID="11"\n'), {}, "Debian 11; allowed: Raspberry Pi OS Bookworm"),
        (("dev/gpiochip0", None), {}, "no /dev/gpiochip"),
        (("dev/spidev0.1", None), {}, "/dev/spidev0.1 is missing: .*dtparam=spi=on"),
        (None, {"bits": 32}, "32 bits; allowed: Raspberry Pi OS with 64 bits"),
        (None, {"python": (3, 10)}, "Python 3.10; allowed: 3.11"),
    ],
)
def test_what_is_not_supported_is_said_at_once(
    machine: Path, change: tuple[str, str | None] | None, more: dict[str, object], says: str
) -> None:
    if change is not None:
        name, text = change
        (machine / name).unlink()
        if text is not None:
            (machine / name).write_text(text, encoding="utf-8")
    with pytest.raises(NotThisMachine, match=says):
        refuse_machine((0, 1), root=machine, **{"bits": 64, "python": (3, 11), **more})  # type: ignore[arg-type]


def test_this_machine_is_told_what_it_is() -> None:
    with pytest.raises(NotThisMachine, match="no Raspberry Pi"):
        refuse_machine((0,))
