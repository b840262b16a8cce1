"""The machine that is to be set up: what it is, what is not supported on it, and what is done to it."""

import grp
import json
import os
import pwd
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

PROGRAM = Path("/opt/meltkeeper")
CURRENT = PROGRAM / "current"
CONFIGURATION = Path("/etc/meltkeeper")
DATA = Path("/var/lib/meltkeeper")
UNITS = ("meltkeeper.service", "meltkeeper-web.service", "meltkeeper-messenger.service")
GROUP = "meltkeeper"
LEAST_FREE_MB = 1000
OLDEST_DEBIAN, OLDEST_PYTHON, NEWEST_PYTHON = 12, (3, 11), (3, 13)


class Facts(NamedTuple):
    """What decides whether this machine can be set up."""

    model: str  # as the device tree has it; empty: no Pi
    architecture: str  # of the installed packages: a 64-bit kernel may run a 32-bit system
    system: str  # its own name
    debian: int | None
    python: tuple[int, int]
    is_root: bool
    free_mb: float


class NotPossible(RuntimeError):
    """The sentence says what stands against it. Nothing more is changed."""


class Change(NamedTuple):
    """One thing that is not as wanted: what is done about it, in words and in fact."""

    sentence: str
    do: Callable[[], object]
    ask: str = ""  # a question that has to be answered with yes before


def facts() -> Facts:
    """Look at this machine."""
    release = dict(line.split("=", 1) for line in _text(Path("/etc/os-release")).splitlines() if "=" in line)
    number = release.get("VERSION_ID", "").strip('"').partition(".")[0]
    derived = "debian" in release.get("ID", "") + release.get("ID_LIKE", "")
    return Facts(
        model=_text(Path("/proc/device-tree/model")).strip("\0\n"),
        architecture=_said("dpkg", "--print-architecture"),
        system=release.get("PRETTY_NAME", "an unknown system").strip('"'),
        debian=int(number) if number.isdecimal() and derived else None,
        python=sys.version_info[:2],
        is_root=os.geteuid() == 0,
        free_mb=shutil.disk_usage("/opt" if Path("/opt").is_dir() else "/").free / 1e6,
    )


def unsupported(found: Facts, *, any_machine: bool) -> list[str]:
    """Everything that stands against this machine, all at once, each with the way out."""
    said = []
    if "Raspberry Pi" not in found.model and not any_machine:
        said.append(
            "This is no Raspberry Pi: it has no pins to drive. systemd/try runs a simulated furnace on any computer;"
            " --any-machine sets the services up all the same, to look at them."
        )
    wanted = ("arm64", "amd64") if any_machine else ("arm64",)
    if found.architecture not in wanted:
        said.append(
            f"This system is built for {found.architecture or 'an unknown processor'}; allowed: arm64. Write the 64-bit"
            " Raspberry Pi OS to the card; a Pi 3 or newer and a Zero 2 W run it."
        )
    if found.debian is None or found.debian < OLDEST_DEBIAN:
        said.append(f"This is {found.system}; allowed: Raspberry Pi OS of Debian {OLDEST_DEBIAN} (Bookworm) or newer.")
    if not OLDEST_PYTHON <= found.python <= NEWEST_PYTHON:
        here, oldest, newest = (".".join(map(str, v)) for v in (found.python, OLDEST_PYTHON, NEWEST_PYTHON))
        said.append(f"python3 here is {here}; allowed: {oldest} to {newest}, for which the libraries were looked up.")
    if not found.free_mb >= LEAST_FREE_MB:
        said.append(f"{found.free_mb:.0f} MB are free for the program; allowed: {LEAST_FREE_MB} or more. Make room.")
    if not found.is_root:
        said.append("It changes the system: run it with sudo.")
    return said


@dataclass
class Machine:
    """Where things are changed. Everything that was made here is noted, so that it can be taken back."""

    found: Facts
    note: Path = DATA / "installed.json"
    made: dict[str, list[str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.note.exists():
            self.made = json.loads(self.note.read_text(encoding="utf-8"))

    def remember(self, kind: str, name: str) -> None:
        """Note something that this installer made."""
        if name not in self.made.setdefault(kind, []):
            self.made[kind].append(name)
        self.note.parent.mkdir(mode=0o755, exist_ok=True)
        replace(self.note, json.dumps(self.made, indent=1) + "\n")


def run(*command: str, **options: Any) -> None:
    """Run a command of the system.

    Raises:
        NotPossible: it failed; the sentence has its last words.
    """
    done = subprocess.run(command, capture_output=True, text=True, check=False, **options)
    if done.returncode:
        words = (done.stderr or done.stdout).strip().splitlines()
        raise NotPossible(f"{' '.join(command)} failed: {' '.join(words[-4:]) or f'exit status {done.returncode}'}")


def systemd_runs() -> bool:
    """Whether there is a systemd to talk to: not while a card is being prepared in another computer."""
    return Path("/run/systemd/system").is_dir()


def systemctl(*arguments: str) -> None:
    """Tell systemd; where it does not run, only what works on files is done.

    Raises:
        NotPossible: it refused.
    """
    if systemd_runs():
        run("systemctl", *arguments)
    elif arguments[0] in ("enable", "disable"):
        run("systemctl", *[word for word in arguments if word != "--now"])


def replace(path: Path, text: str, mode: int = 0o644) -> None:
    """Write a file whole or not at all."""
    new = path.with_name(f"{path.name}.new")
    with new.open("w", encoding="utf-8") as file:
        os.fchmod(file.fileno(), mode)
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    new.replace(path)


def file_as(path: Path, text: str, what: str, *, mode: int = 0o644, then: Callable[[], object] | None = None,
            ) -> Iterator[Change]:  # fmt: skip
    """A file of ours with this text."""
    if _text(path) != text or path.stat().st_mode & 0o777 != mode:

        def write() -> None:
            path.parent.mkdir(mode=0o755, parents=True, exist_ok=True)
            replace(path, text, mode)
            if then is not None:
                then()

        yield Change(f"{what}: {path}", write)


def no_file(path: Path, *, then: Callable[[], object] | None = None) -> Iterator[Change]:
    """A file of ours taken away, and its directory if that is empty then and not the system's."""
    if path.exists() or path.is_symlink():

        def remove() -> None:
            path.unlink()
            if path.parent.name.endswith((".d", "meltkeeper")) and not any(path.parent.iterdir()):
                path.parent.rmdir()
            if then is not None:
                then()

        yield Change(f"Remove {path}", remove)


def is_group(name: str) -> bool:
    """Whether the group is there."""
    try:
        grp.getgrnam(name)
    except KeyError:
        return False
    return True


def is_user(name: str) -> bool:
    """Whether the user is there."""
    try:
        pwd.getpwnam(name)
    except KeyError:
        return False
    return True


def members(group: str) -> Sequence[str]:
    """Who was put into a group."""
    return grp.getgrnam(group).gr_mem if is_group(group) else ()


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""


def _said(*command: str) -> str:
    try:
        return subprocess.run(command, capture_output=True, text=True, check=False).stdout.strip()
    except OSError:
        return ""
