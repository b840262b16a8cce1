"""What the Pi says of its own health, read from the kernel's files by a thread of its own.

A slow card or a slow firmware call may hold this thread as long as it likes: the cycle takes the last answer, and an
answer that is too old is no answer. Paths are from kernel sources and from memory; nobody here has a Pi. A file that is
missing means unknown, never healthy.
"""

from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Event, Thread

from hardware import clock
from hardware.ports import UNKNOWN_BOARD, BoardHealth

LOOK_EVERY_S = 1.0
"""The kernel asks the firmware every 2 s and clears what it then read: a slower look would miss a dip."""
DIP_SHOWS_FOR_S = 60.0
"""An under-voltage counts as there for so long after it was last seen, so that no reader misses it."""
OLD_AFTER_S = 10.0

_UNDER_VOLTAGE, _SLOWED = 0x1, 0xE
_UNDER_VOLTAGE_SINCE_BOOT = 0x1_0000
"""Bits of the firmware's throttle word: 0 under-voltage, 1 to 3 frequency capped, throttled, soft temperature limit;
16 under-voltage since boot. Source: commit of the Linux kernel that added GET_THROTTLED (raspberrypi firmware)."""

_THROTTLED = ("sys/devices/platform/*/*firmware*/get_throttled", "sys/devices/platform/*firmware*/get_throttled")
_KEEPS_OUTPUTS = "sys/module/pinctrl_*/parameters/persist_gpio_outputs"
_ERRORS = "sys/fs/ext4/*/errors_count"
_WORN = "sys/block/mmcblk*/device/pre_eol_info"
_WORN_FROM = 2  # eMMC standard JEDEC JESD84-B51, PRE_EOL_INFO: 1 normal, 2 warning, 3 urgent (from memory)
_WIFI = "sys/class/net/wl*/operstate"
_NETWORK_FILES = ("usr/lib/NetworkManager/conf.d", "etc/NetworkManager/conf.d")


class Board:
    """The computer's health as of the last look; a thread looks once a second."""

    def __init__(self, root: Path = Path("/"), *, now_s: Callable[[], float] = clock.monotonic_s) -> None:
        """Look once, so that the first sample has an answer. `start` begins the looking."""
        self._root, self._now_s = root, now_s
        self._dip_s = float("-inf")
        self._dipped = False
        self._health, self._looked_s = UNKNOWN_BOARD, float("-inf")
        self._ended = Event()
        self._thread = Thread(target=self._run, name="board", daemon=True)
        self.look()

    def start(self) -> None:
        """Look once a second from now on, in a thread."""
        self._thread.start()

    def close(self) -> None:
        """End the looking; a look that hangs is left behind."""
        self._ended.set()
        if self._thread.is_alive():
            self._thread.join(LOOK_EVERY_S)

    def health(self) -> BoardHealth:
        """The last answer; unknown when it is older than OLD_AFTER_S. Never waits."""
        return self._health if self._now_s() - self._looked_s <= OLD_AFTER_S else UNKNOWN_BOARD

    def look(self) -> None:
        """Read everything once, and keep a dip of the supply in sight."""
        seen = read_board(self._root)
        now_s = self._now_s()
        if seen.under_voltage:
            self._dip_s, self._dipped = now_s, True
        dipped_now = None if seen.under_voltage is None else now_s - self._dip_s <= DIP_SHOWS_FOR_S
        before = seen.under_voltage_before
        dipped = True if self._dipped else before if before is not None else None if dipped_now is None else False
        self._health = seen._replace(under_voltage=dipped_now, under_voltage_before=dipped)
        self._looked_s = now_s

    def _run(self) -> None:
        while not self._ended.wait(LOOK_EVERY_S):
            self.look()


def read_board(root: Path = Path("/")) -> BoardHealth:
    """Read the kernel's files below `root` once. None where one is missing or says nothing that can be understood."""
    word = next((number for number in _numbers(root, *_THROTTLED, base=16)), None)
    volts = _supply_low(root)
    now = [low for low in (volts, None if word is None else bool(word & _UNDER_VOLTAGE)) if low is not None]
    processor = next(_numbers(root, "sys/class/thermal/thermal_zone0/temp"), None)
    kept = [text for text in _texts(root, _KEEPS_OUTPUTS) if text in ("Y", "N")]
    failing = [count > 0 for count in _numbers(root, _ERRORS)]
    failing += [state >= _WORN_FROM for state in _numbers(root, _WORN, base=16)]
    return BoardHealth(
        under_voltage=any(now) if now else None,
        throttled=None if word is None else bool(word & _SLOWED),
        processor_c=None if processor is None else processor / 1000.0,
        clock_trusted=_clock_trusted(root),
        under_voltage_before=None if word is None else bool(word & _UNDER_VOLTAGE_SINCE_BOOT),
        wifi_saves_power=_wifi_saves_power(root),
        keeps_outputs="Y" in kept if kept else None,
        card_failing=any(failing) if failing else None,
    )


def _supply_low(root: Path) -> bool | None:
    for name in sorted(root.glob("sys/class/hwmon/hwmon*/name")):
        if _text(name) == "rpi_volt":
            alarm = _text(name.with_name("in0_lcrit_alarm"))
            return {"0": False, "1": True}.get(alarm)
    return None


def _clock_trusted(root: Path) -> bool | None:
    """Whether the date was taken from the network since the machine started, as systemd's time service says."""
    if not (root / "run/systemd/timesync").is_dir():
        return None
    return (root / "run/systemd/timesync/synchronized").exists()


def _wifi_saves_power(root: Path) -> bool | None:
    """What the network manager's files order; None where Wi-Fi is in use and they order nothing."""
    if "up" not in _texts(root, _WIFI):
        return False
    ordered: bool | None = None
    for folder in _NETWORK_FILES:
        for file in sorted((root / folder).glob("*.conf")):
            for line in _text(file).splitlines():
                name, _, value = line.partition("=")
                if name.strip() == "wifi.powersave":
                    ordered = {"2": False, "3": True}.get(value.strip())
    return ordered


def _numbers(root: Path, *patterns: str, base: int = 10) -> Iterator[int]:
    for text in _texts(root, *patterns):
        try:
            yield int(text, base)
        except ValueError:
            continue


def _texts(root: Path, *patterns: str) -> list[str]:
    return [_text(file) for pattern in patterns for file in sorted(root.glob(pattern))]


def _text(file: Path) -> str:
    """What a file says; empty when it is not there."""
    try:
        return file.read_text(encoding="utf-8", errors="replace").strip()
    except OSError:
        return ""
