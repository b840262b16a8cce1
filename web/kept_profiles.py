"""The person's own profile files: written whole or not at all, and what one said before is kept beside it."""

import re
import unicodedata
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path

from supervisor.refusal import InputRefused
from supervisor.whole_file import write_whole
from web.profiles import ProfileFile

EARLIER = "earlier"
"""Folder of what was saved over. The list of profiles does not look into it."""

MOST_FILES = 100


def save(folder: Path, file: ProfileFile, name: str, toml: str, utc_ms: int, listed: Iterable[ProfileFile]) -> str:
    """Write a profile: over an own file, or a new one after its name; returns its key. listed: what is there by now.

    Raises:
        InputRefused: another of the list has that name, or it has neither letter nor digit, or it cannot be written.
    """
    if not file.own or _told(name) != _told(file.name):
        _refuse_taken(name, listed)
    stem = file.key.partition("/")[2] if file.own else _free(folder, _stem(name))
    path = folder / f"{stem}.toml"
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


def _refuse_taken(name: str, listed: Iterable[ProfileFile]) -> None:
    for each in listed:
        if _told(each.name) == _told(name):
            raise InputRefused(
                f"name is {name.strip()!r}; allowed: one that no profile has yet, {each.key} has this one"
            )


def _told(name: str) -> str:
    """A name as far as people tell it from another one in a list."""
    return " ".join(name.casefold().split())


def _stem(name: str) -> str:
    """Of a file: the letters a to z and digits of a name, with letters that are built on them; else just 'profile'."""
    if not any(letter.isalnum() for letter in name):
        raise InputRefused(f"name is {name.strip()!r}; allowed: letters or digits in it")
    plain = unicodedata.normalize("NFKD", name.casefold()).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40].strip("-") or "profile"


def _free(folder: Path, stem: str) -> str:
    """The same, with a number where a file of another name is called so already."""
    found, number = stem, 1
    while (folder / f"{found}.toml").exists():
        number += 1
        found = f"{stem}-{number}"
    return found


def _keep_earlier(folder: Path, path: Path, utc_ms: int) -> None:
    (folder / EARLIER).mkdir(exist_ok=True)
    at = datetime.fromtimestamp(utc_ms / 1000, UTC)
    write_whole(folder / EARLIER / f"{path.stem}.{at:%Y-%m-%d-%H%M%S}.toml", path.read_bytes())
