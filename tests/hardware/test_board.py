"""The computer's health from its files, which are written here as kernel sources and memory have them: invented."""

from pathlib import Path
from threading import Event

import pytest

import hardware.board
from hardware.board import DIP_SHOWS_FOR_S, OLD_AFTER_S, Board, read_board
from hardware.ports import UNKNOWN_BOARD, BoardHealth

THROTTLED = "sys/devices/platform/soc/soc:firmware/get_throttled"
FILES = {
    THROTTLED: "0\n",
    "sys/class/hwmon/hwmon0/name": "cpu_thermal\n",
    "sys/class/hwmon/hwmon1/name": "rpi_volt\n",
    "sys/class/hwmon/hwmon1/in0_lcrit_alarm": "0\n",
    "sys/class/thermal/thermal_zone0/temp": "48312\n",
    "sys/module/pinctrl_bcm2835/parameters/persist_gpio_outputs": "N\n",
    "sys/fs/ext4/mmcblk0p2/errors_count": "0\n",
    "sys/class/net/wlan0/operstate": "up\n",
    "etc/NetworkManager/conf.d/meltkeeper.conf": "[connection]\nwifi.powersave = 2\n",
    "run/systemd/timesync/synchronized": "",
}
HEALTHY = BoardHealth(False, False, 48.312, True, False, False, False, False)


def write(root: Path, name: str, text: str) -> None:
    (root / name).parent.mkdir(parents=True, exist_ok=True)
    (root / name).write_text(text, encoding="utf-8")


@pytest.fixture
def root(tmp_path: Path) -> Path:
    for name, text in FILES.items():
        write(tmp_path, name, text)
    return tmp_path


def test_a_healthy_board(root: Path) -> None:
    assert read_board(root) == HEALTHY


def test_what_says_nothing_is_unknown_and_never_healthy(tmp_path: Path) -> None:
    assert read_board(tmp_path) == UNKNOWN_BOARD._replace(wifi_saves_power=False)  # there is no Wi-Fi


@pytest.mark.parametrize("name", FILES)
def test_a_file_of_rubbish_is_no_exception(root: Path, name: str) -> None:
    (root / name).write_bytes(b"\xff\x00no number\n")
    read_board(root)


@pytest.mark.parametrize(
    ("name", "text", "field", "value"),
    [
        (THROTTLED, "1\n", "under_voltage", True),
        (THROTTLED, "50005\n", "under_voltage", True),
        (THROTTLED, "50000\n", "under_voltage_before", True),
        (THROTTLED, "50000\n", "under_voltage", False),
        (THROTTLED, "4\n", "throttled", True),
        (THROTTLED, "8\n", "throttled", True),
        ("sys/class/hwmon/hwmon1/in0_lcrit_alarm", "1\n", "under_voltage", True),
        ("sys/module/pinctrl_bcm2835/parameters/persist_gpio_outputs", "Y\n", "keeps_outputs", True),
        ("sys/module/pinctrl_rp1/parameters/persist_gpio_outputs", "Y\n", "keeps_outputs", True),
        ("sys/fs/ext4/mmcblk0p2/errors_count", "3\n", "card_failing", True),
        ("sys/block/mmcblk0/device/pre_eol_info", "0x02\n", "card_failing", True),
        ("sys/block/mmcblk0/device/pre_eol_info", "0x01\n", "card_failing", False),
        ("etc/NetworkManager/conf.d/zz.conf", "[connection]\nwifi.powersave=3\n", "wifi_saves_power", True),
        ("etc/NetworkManager/conf.d/meltkeeper.conf", "", "wifi_saves_power", None),
        ("sys/class/net/wlan0/operstate", "down\n", "wifi_saves_power", False),
    ],
)
def test_each_sign_comes_from_its_file(root: Path, name: str, text: str, field: str, value: bool | None) -> None:
    write(root, name, text)
    assert getattr(read_board(root), field) is value


def test_a_clock_that_was_not_set_is_not_trusted(root: Path) -> None:
    (root / "run/systemd/timesync/synchronized").unlink()
    assert read_board(root).clock_trusted is False
    (root / "run/systemd/timesync").rmdir()
    assert read_board(root).clock_trusted is None


def test_a_dip_of_the_supply_stays_in_sight_for_a_minute_and_on_record_for_good(root: Path) -> None:
    now_s = 100.0
    board = Board(root, now_s=lambda: now_s)
    seen = []
    for at_s, word in [(101.0, "1"), (102.0, "0"), (160.0, "0"), (101.0 + DIP_SHOWS_FOR_S + 1.0, "0")]:
        now_s = at_s
        write(root, THROTTLED, word)
        board.look()
        seen.append((board.health().under_voltage, board.health().under_voltage_before))
    assert seen == [(True, True), (True, True), (True, True), (False, True)]


def test_a_look_that_hangs_holds_nobody_and_its_answer_grows_old(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    now_s = 100.0
    board = Board(root, now_s=lambda: now_s)
    hangs, entered = Event(), Event()

    def slow(root: Path) -> BoardHealth:
        entered.set()
        hangs.wait()
        return HEALTHY

    monkeypatch.setattr(hardware.board, "LOOK_EVERY_S", 0.0)
    monkeypatch.setattr(hardware.board, "read_board", slow)
    board.start()
    assert entered.wait(10.0)
    assert board.health() == HEALTHY
    now_s += OLD_AFTER_S + 0.1
    assert board.health() == UNKNOWN_BOARD
    board.close()
    hangs.set()


def test_on_this_machine_it_says_what_it_can() -> None:
    board = Board()
    assert board.health().keeps_outputs in (None, True, False)
    board.close()
