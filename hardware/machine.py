"""What this computer must be to drive a furnace: asked of its files before any pin is claimed."""

import os
import sys
from collections.abc import Sequence
from pathlib import Path

LEAST_DEBIAN = 12
LEAST_PYTHON = (3, 11)
GPIO_CHIPS = "dev/gpiochip*"


class NotThisMachine(RuntimeError):
    """This computer cannot drive a furnace as it is; the sentence says why, and what mends it."""


def model(root: Path = Path("/")) -> str:
    """What the board says it is; empty when it says nothing."""
    return _text(root / "proc/device-tree/model").rstrip("\0\n ")


def refuse_machine(
    chip_selects: Sequence[int],
    *,
    root: Path = Path("/"),
    bits: int = 64 if sys.maxsize > 2**32 else 32,
    python: tuple[int, int] = (sys.version_info[0], sys.version_info[1]),
) -> None:
    """Refuse a computer that is not supported, or not set up. Nothing is opened.

    chip_selects: of the sensors, on SPI 0.

    Raises:
        NotThisMachine: the first thing that is missing.
    """
    if "Raspberry Pi" not in model(root):
        raise NotThisMachine(
            f"This computer is no Raspberry Pi ({model(root) or 'it does not say what it is'}): it has no pins for a"
            " furnace. `meltkeeper run` runs a simulated one."
        )
    if bits != 64:
        raise NotThisMachine(f"This system has {bits} bits; allowed: Raspberry Pi OS with 64 bits.")
    debian = _debian(root)
    if debian is not None and debian < LEAST_DEBIAN:
        raise NotThisMachine(f"This system is Debian {debian}; allowed: Raspberry Pi OS Bookworm (Debian 12) or newer.")
    if python < LEAST_PYTHON:
        raise NotThisMachine(f"This is Python {python[0]}.{python[1]}; allowed: 3.11 or newer.")
    chips = sorted(root.glob(GPIO_CHIPS))
    if not chips:
        raise NotThisMachine("There is no /dev/gpiochip: this kernel gives no pins to programs.")
    if not any(os.access(chip, os.R_OK | os.W_OK) for chip in chips):
        raise NotThisMachine("The pins may not be used by this user: add it to the group gpio, and log in anew.")
    for select in chip_selects:
        _refuse_bus(root / f"dev/spidev0.{select}")


def _refuse_bus(device: Path) -> None:
    name = f"/dev/{device.name}"
    if not device.exists():
        raise NotThisMachine(
            f"{name} is missing: the sensor's bus is off. Put dtparam=spi=on into config.txt of the boot partition and"
            " start the Pi again."
        )
    if not os.access(device, os.R_OK | os.W_OK):
        raise NotThisMachine(f"{name} may not be used by this user: add it to the group spi, and log in anew.")


def _debian(root: Path) -> int | None:
    for line in _text(root / "etc/os-release").splitlines():
        name, _, value = line.partition("=")
        number = value.strip('"').partition(".")[0]
        if name == "VERSION_ID" and number.isdecimal():
            return int(number)
    return None


def _text(file: Path) -> str:
    """What a file says; empty when it is not there."""
    try:
        return file.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""
