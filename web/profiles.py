"""The profile files that can be chosen: those that ship with the program, and the person's own."""

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

LONGEST_BYTES = 60_000  # a line of the link takes 64 KiB


class ProfileFile(NamedTuple):
    """One file. The supervisor reads and judges it; here are only the words for a list."""

    key: str  # 'example/NAME' or 'own/NAME'
    name: str
    own: bool
    top_c: float | None
    mass_kg: float | None
    text: str
    trouble: str  # why it cannot be chosen; empty: it can


def profile_files(examples: tuple[Path, ...], own: Path) -> tuple[ProfileFile, ...]:
    """All profile files, the person's own first, each by name."""
    mine = sorted(own.glob("*.toml")) if own.is_dir() else []
    return (*_read("own", mine), *_read("example", sorted(examples)))


def usual(files: tuple[ProfileFile, ...]) -> ProfileFile | None:
    """The first profile with metal: the person's own ones come first."""
    return next((each for each in files if each.mass_kg and not each.trouble), None)


def _read(kind: str, paths: list[Path]) -> Iterator[ProfileFile]:
    for path in paths:
        key = f"{kind}/{path.stem}"
        try:
            if path.stat().st_size > LONGEST_BYTES:
                raise ValueError(f"longer than {LONGEST_BYTES} bytes")
            text = path.read_text(encoding="utf-8")
            document = tomllib.loads(text)
        except (OSError, ValueError, RecursionError) as problem:
            yield ProfileFile(key, path.stem, kind == "own", None, None, "", f"{path.name} cannot be read: {problem}")
            continue
        charge = document.get("charge")
        mass_kg = _number(charge.get("mass_kg")) if isinstance(charge, dict) else None
        name = document.get("name")
        shown = name if isinstance(name, str) and name else path.stem
        yield ProfileFile(key, shown, kind == "own", _number(document.get("top_c")), mass_kg, text, "")


def _number(value: Any) -> float | None:
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None
