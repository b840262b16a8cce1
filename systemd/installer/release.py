"""The program: each release in a directory of its own, and one link to the one in use.

A new release is made beside the running one and put in its place in one step, so that a crash half-way never starts a
mixture of old and new. The one before stays, for going back.
"""

import hashlib
import os
import shutil
import sys
from collections.abc import Iterator
from functools import partial
from pathlib import Path

from systemd.installer.machine import CURRENT, PROGRAM, Change, Facts, Machine, replace, run

PARTS = (".ci/constraints.txt", "README.md", "pyproject.toml", "docs", "hardware", "supervisor", "systemd", "web")
COMPLETE = "complete"
COMMAND = Path("/usr/local/bin/meltkeeper")
COMMAND_TEXT = """\
#!/bin/sh
# Written by systemd/install: meltkeeper on this Pi's furnace. As root it becomes the furnace's own user first, so that
# files belong to whom they have to.
export MELTKEEPER_DATA="${MELTKEEPER_DATA:-/var/lib/meltkeeper}"
program=/opt/meltkeeper/current/.venv/bin/meltkeeper
umask 0007
if [ "$(id -u)" = 0 ]; then
    export HOME=/var/lib/meltkeeper
    exec setpriv --reuid=meltkeeper --regid=meltkeeper --init-groups -- "$program" "$@"
fi
exec "$program" "$@"
"""


def files_of(repository: Path) -> list[Path]:
    """The files that make the program, in a fixed order."""
    found: list[Path] = []
    for part in PARTS:
        path = repository / part
        found += [path] if path.is_file() else [file for file in path.rglob("*") if file.is_file()]
    return sorted(file for file in found if "__pycache__" not in file.parts)


def name_of(repository: Path) -> str:
    """Tells this release from every other: a digest of its files and of the Python that runs it."""
    digest = hashlib.sha256(sys.version.encode())
    for file in files_of(repository):
        digest.update(f"{file.relative_to(repository)}\0{file.stat().st_mode & 0o111:o}\0".encode())
        digest.update(file.read_bytes())
    return digest.hexdigest()[:16]


def in_use() -> Path | None:
    """The release that the services start; None: none is installed."""
    return CURRENT.resolve() if CURRENT.exists() else None


def is_new(repository: Path) -> bool:
    """Whether the clone holds another release than the one in use, or that one is not whole."""
    used = in_use()
    return used is None or used.name != name_of(repository) or not (used / COMPLETE).exists()


def prepared(repository: Path, found: Facts) -> Iterator[Change]:
    """The release beside the one in use, with its environment. It is not used yet, so this may be done at any time."""
    release = PROGRAM / name_of(repository)
    if not (release / COMPLETE).exists():
        yield Change(f"Make the program with its environment in {release}; a few minutes",
                     lambda: _make(repository, release, found))  # fmt: skip


def _make(repository: Path, release: Path, found: Facts) -> None:
    shutil.rmtree(release, ignore_errors=True)
    for file in files_of(repository):
        copy = release / file.relative_to(repository)
        copy.parent.mkdir(mode=0o755, parents=True, exist_ok=True)
        shutil.copyfile(file, copy)
        copy.chmod(0o755 if file.stat().st_mode & 0o100 else 0o644)
    python = release / ".venv/bin/python"
    # From Python 3.13 on there is no binary of the GPIO library but the system's.
    system_s = [] if found.python < (3, 13) or not found.model else ["--system-site-packages"]
    extra = "[pi]" if found.python < (3, 13) and found.model else ""
    run(sys.executable, "-m", "venv", *system_s, str(release / ".venv"))
    run(str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--no-input",
        "--constraint", str(release / ".ci/constraints.txt"), "--editable", f"{release}{extra}")  # fmt: skip
    if found.model:
        run(str(python), "-c", "from lgpio import gpiochip_open; import gpiod, adafruit_max31855")
    run(str(python), "-m", "compileall", "-q", *[str(release / part) for part in ("hardware", "supervisor", "web")])
    for entry in release.rglob("*"):
        if not entry.is_symlink():
            entry.chmod(entry.stat().st_mode & ~0o022 | 0o044 | (0o111 if entry.is_dir() else 0))
    (release / COMPLETE).touch()


def used(repository: Path, machine: Machine) -> Iterator[Change]:
    """The prepared release put in the place of the one in use."""
    release = PROGRAM / name_of(repository)
    before = in_use()
    if before != release:

        def switch() -> None:
            new = CURRENT.with_name("current.new")
            new.unlink(missing_ok=True)
            new.symlink_to(release.name)
            new.replace(CURRENT)
            machine.made["before"] = [before.name] if before is not None else []
            machine.remember("release", release.name)

        yield Change(f"Use it: {CURRENT} -> {release.name}", switch)
    for old in _others(keep={release.name, *machine.made.get("before", []), *([before.name] if before else [])}):
        yield Change(f"Remove the older {old}", partial(shutil.rmtree, old))


def command() -> Iterator[Change]:
    """`meltkeeper` for whoever is logged in."""
    if not COMMAND.exists() or COMMAND.read_text(encoding="utf-8") != COMMAND_TEXT:
        yield Change(f"The command: {COMMAND}", lambda: replace(COMMAND, COMMAND_TEXT, 0o755))


def gone() -> Iterator[Change]:
    """No program and no command any more."""
    if COMMAND.exists():
        yield Change(f"Remove {COMMAND}", COMMAND.unlink)
    if PROGRAM.exists():
        yield Change(f"Remove {PROGRAM}", lambda: shutil.rmtree(PROGRAM))


def _others(keep: set[str]) -> list[Path]:
    if not PROGRAM.is_dir():
        return []
    return sorted(
        path for path in PROGRAM.iterdir() if path.is_dir() and not path.is_symlink() and path.name not in keep
    )


def as_owner(path: Path, user: int, group: int, mode: int) -> None:
    """Owner and rights of one file or directory."""
    os.chown(path, user, group)
    path.chmod(mode)
