"""The person's own profile files: written whole or not at all, and what one said before is kept beside it."""

import re
from datetime import UTC, datetime
from pathlib import Path

from supervisor.refusal import InputRefused
from supervisor.whole_file import write_whole
from web.profiles import ProfileFile

EARLIER = "earlier"
"""Folder of what was saved over. The list of profiles does not look into it."""

MOST_FILES = 100


def save(folder: Path, file: ProfileFile, name: str, toml: str, utc_ms: int) -> str:
    """Write a profile: over an own file, or a new one after its name; returns its key.

    Raises:
        InputRefused: its name makes no file's name, or one of that name is there already, or it cannot be written.
    """
    stem = file.key.partition("/")[2] if file.own else _stem(name)
    path = folder / f"{stem}.toml"
    if not file.own and path.exists():
        raise InputRefused(f"name is {name.strip()!r}; allowed: one of its own, {stem}.toml is there already")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if not file.own and len(list(folder.glob("*.toml"))) >= MOST_FILES:
            raise InputRefused(f"There are {MOST_FILES} profiles of your own; allowed: no more")
        if path.exists():
            _keep_earlier(folder, path, utc_ms)
        write_whole(path, toml.encode())
    except OSError as error:
        raise InputRefused(f"{path} cannot be written ({error.strerror})") from error
    return f"own/{stem}"


def kept(folder: Path, file: ProfileFile) -> list[str]:
    """Names of the files that hold what an own profile said before, the newest first."""
    if not file.own or not (folder / EARLIER).is_dir():
        return []
    stem = file.key.partition("/")[2]
    return sorted((path.name for path in (folder / EARLIER).glob(f"{stem}.*.toml")), reverse=True)


def _stem(name: str) -> str:
    stem = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40].strip("-")
    if not stem:
        raise InputRefused(f"name is {name.strip()!r}; allowed: letters or digits in it, which name its file")
    return stem


def _keep_earlier(folder: Path, path: Path, utc_ms: int) -> None:
    (folder / EARLIER).mkdir(exist_ok=True)
    at = datetime.fromtimestamp(utc_ms / 1000, UTC)
    write_whole(folder / EARLIER / f"{path.stem}.{at:%Y-%m-%d-%H%M%S}.toml", path.read_bytes())
