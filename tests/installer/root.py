"""A clean Debian as a container of its own: made from Debian's packages, started with its own systemd, looked at."""

import contextlib
import hashlib
import os
import signal
import sqlite3
import stat
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from hardware.clock import monotonic_s, sleep_s, utc_ms

REPOSITORY = Path(__file__).resolve().parents[2]
CLONE = "home/pi/meltkeeper"
WHEELS = "wheels"
CONFIG = "boot/firmware/config.txt"
PACKAGES = (
    "systemd", "systemd-sysv", "dbus", "udev", "python3", "python3-venv", "passwd", "sudo", "avahi-daemon",
)  # fmt: skip

# As the system ships it, in short: the lines that matter here, and filters before and after them.
CONFIG_TEXT = """\
# For more options and information see the documentation of the computer.
# Uncomment some or all of these to enable the optional hardware interfaces
#dtparam=i2c_arm=on
#dtparam=spi=on

dtparam=audio=on
camera_auto_detect=1
arm_64bit=1

[cm5]
dtoverlay=dwc2,dr_mode=host

[all]
"""

VOLATILE = (
    "boot/efi", "dev", "proc", "run", "sys", "tmp", "var/tmp", "var/cache", "var/log", "var/lib/apt", "var/lib/dpkg",
    "var/lib/systemd", "var/lib/dbus", "var/lib/private", "root", "wheels", "home", "etc/machine-id", "etc/.updated",
    "var/.updated", "etc/.pwd.lock", "etc/resolv.conf", "etc/hostname", "etc/mtab", "etc/ld.so.cache", "var/spool",
    *(f"etc/{name}-" for name in ("passwd", "group", "shadow", "gshadow", "subuid", "subgid")),
)  # fmt: skip


class Said(NamedTuple):
    """What a command in the root said."""

    status: int
    text: str


def make(suite: str, directory: Path) -> Path:
    """A fresh root with what is committed here in a person's home, and the wheels that its Python needs."""
    root = directory / suite
    subprocess.run(["mmdebstrap", "--variant=minbase", f"--include={','.join(PACKAGES)}", suite, str(root)], check=True,
                   stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)  # fmt: skip
    subprocess.run(["chroot", str(root), "useradd", "--create-home", "pi"], check=True)
    for name, text in ((CONFIG, CONFIG_TEXT), ("boot/firmware/cmdline.txt", "console=serial0,115200 console=tty1\n")):
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text, encoding="utf-8")
    (root / CLONE).mkdir(parents=True)
    committed = subprocess.run(["git", "archive", "HEAD"], cwd=REPOSITORY, capture_output=True, check=True).stdout
    subprocess.run(["tar", "-x", "-C", str(root / CLONE)], input=committed, check=True)
    asked = ["chroot", str(root), "python3", "-c", "import sys; print('%d.%d' % sys.version_info[:2])"]
    version = subprocess.run(asked, check=True, capture_output=True, text=True).stdout.strip()
    _wheels(root / WHEELS, version)
    return root


def _wheels(directory: Path, python: str) -> None:
    """What pip would fetch there, fetched here: the root needs no network and no package index."""
    pip = [sys.executable, "-m", "pip", "download", "--quiet", "--no-input", "--dest", str(directory)]
    here = ".".join(map(str, sys.version_info[:2]))
    other = () if python == here else (
        "--python-version", python, "--implementation", "cp", "--abi", f"cp{python.replace('.', '')}", "--abi", "abi3",
        "--abi", "none", *[w for minor in range(41, 16, -1) for w in ("--platform", f"manylinux_2_{minor}_x86_64")],
        "--platform", "manylinux2014_x86_64",
    )  # fmt: skip
    from tests.resolver import requirements_here

    constraints = str(REPOSITORY / ".ci/constraints.txt")
    subprocess.run([*pip, "--only-binary=:all:", *other, "--constraint", constraints, *requirements_here(python),
                    "setuptools>=77", "pip"], check=True)  # fmt: skip


def snapshot(root: Path) -> dict[str, str]:
    """Every file that counts, with kind, rights, owner and content."""
    found: dict[str, str] = {}
    for directory, names, files in os.walk(root):
        here = Path(directory)
        names[:] = [name for name in names if str((here / name).relative_to(root)) not in VOLATILE]
        for name in (*names, *files):
            path = here / name
            relative = str(path.relative_to(root))
            if relative in VOLATILE or "__pycache__" in path.parts:
                continue
            info = path.lstat()
            what = oct(info.st_mode) if not path.is_symlink() else f"-> {path.readlink()}"
            if stat.S_ISREG(info.st_mode):
                what += f" {hashlib.sha256(path.read_bytes()).hexdigest()}"
            found[relative] = f"{what} {info.st_uid}:{info.st_gid}"
    return found


def differences(before: dict[str, str], after: dict[str, str]) -> list[str]:
    """Names that came, went or changed."""
    return sorted(name for name in before.keys() | after.keys() if before.get(name) != after.get(name))


def write_firing(log: Path, *, hot_c: float, closed: bool) -> None:
    """A firing in the log of a stopped supervisor, as one that was cut leaves it; then closed."""
    with contextlib.closing(sqlite3.connect(log, isolation_level=None)) as connection:
        if closed:
            connection.execute(
                "UPDATE firing SET state = 'complete', closed_t_ms = 1000, closed_utc_ms = 0, results = '{}'"
            )
            return
        connection.execute(
            "INSERT INTO firing (id, name, profile, furnace, backend, frozen, boot_id, started_monotonic_ms,"
            " started_utc_ms, clock_quality, started_local_date, utc_offset_min)"
            " VALUES (1, 'A melt', 'p', 'f', 'simulated', '{}', 'b', 0, ?, 'unset', '2026-01-01', 0)",
            (utc_ms(),),
        )
        connection.execute(
            "INSERT INTO sample (id, firing_id, t_ms, hot_junction_c, duty, energy_wh, inputs, state, raw_word)"
            " VALUES ((1 << 32) | 500, 1, 500, ?, 0, 0, 0, 'running', 0)",
            (hot_c,),
        )


class Booted:
    """The root with its systemd at work, in namespaces of its own, without a network. Use it in a with statement."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self._log = root.with_suffix(".boot").open("wb")
        self._process: subprocess.Popen[bytes] | None = None
        self._init = 0

    def __enter__(self) -> "Booted":
        command = ["systemd-nspawn", "--quiet", "-D", str(self.root), "--register=no", "--keep-unit",
                   "--private-network", "--kill-signal=SIGRTMIN+3", "-b"]  # fmt: skip
        self._process = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=self._log, stderr=self._log)
        until_s = monotonic_s() + 90.0
        while not (self._find_init() and self.run("systemctl", "is-active", "--quiet", "basic.target").status == 0):
            if monotonic_s() > until_s:
                raise TimeoutError("the root did not start")
            sleep_s(0.5)
        return self

    def __exit__(self, *_: object) -> None:
        assert self._process is not None
        self._process.send_signal(signal.SIGTERM)
        try:
            self._process.wait(60)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        self._log.close()

    def _find_init(self) -> int:
        """The root's systemd, seen from here: nspawn's only child."""
        assert self._process is not None
        children = Path(f"/proc/{self._process.pid}/task/{self._process.pid}/children")
        try:
            self._init = int(children.read_text(encoding="ascii").split()[0])
        except (OSError, IndexError):
            self._init = 0
        return self._init

    def run(self, *command: str, cwd: str = "/", environment: Sequence[str] = ()) -> Said:
        """Run a command in it."""
        enter = ["nsenter", f"--target={self._init}", "--mount", "--uts", "--ipc", "--net", "--pid", "--cgroup",
                 f"--root=/proc/{self._init}/root", f"--wd=/proc/{self._init}/root{cwd}"]  # fmt: skip
        clean = ["env", "-i", "PATH=/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin", "LANG=C.UTF-8",
                 *environment]  # fmt: skip
        done = subprocess.run([*enter, *clean, *command], capture_output=True, text=True, check=False, timeout=900,
                              stdin=subprocess.DEVNULL)  # fmt: skip
        return Said(done.returncode, (done.stdout + done.stderr).strip())

    def install(self, *options: str) -> Said:
        """Run the installer as a person would, by sudo."""
        return self.run(f"/{CLONE}/systemd/install", *options, cwd=f"/{CLONE}", environment=(
            "SUDO_USER=pi", "PIP_NO_INDEX=1", f"PIP_FIND_LINKS=/{WHEELS}", "HOME=/root"))  # fmt: skip
