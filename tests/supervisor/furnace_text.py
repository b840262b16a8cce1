"""Furnace files as text: the bench file with a field or a table changed, and how what is wrong with it is refused."""

import re
from pathlib import Path

import pytest

import supervisor.furnace.files
from supervisor.furnace.file import read_furnace
from supervisor.refusal import InputRefused

FILES = Path(supervisor.furnace.files.__file__).parent
BENCH = (FILES / "bench.toml").read_text(encoding="utf-8")


def with_field(field: str, value: str | None, text: str = BENCH) -> str:
    """The bench file with one field set to TOML text, added if it was not there, or left out (None)."""
    table, _, name = field.rpartition(".")
    lines, at, done = [], "", False
    for line in text.splitlines():
        entering = re.match(r"\[(\w+)\]$", line)
        if entering and at == table and not done and value is not None:
            lines.append(f"{name} = {value}")
            done = True
        at = entering[1] if entering else at
        if at == table and line.startswith(f"{name} = "):
            if value is not None:
                lines.append(f"{name} = {value}")
            done = True
            continue
        lines.append(line)
    if not done:
        assert value is not None, f"{field} is not in the file"
        assert at == table
        lines.append(f"{name} = {value}")
    return "\n".join(lines) + "\n"


def without_table(table: str) -> str:
    return re.sub(rf"\[{table}\]\n(?:(?!\[).*\n)*", "", BENCH)


def refused(tmp_path: Path, text: str) -> str:
    file = tmp_path / "mine.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputRefused) as refusal:
        read_furnace(str(file))
    sentence = str(refusal.value)
    assert sentence.startswith(str(file))
    assert "\n" not in sentence
    assert "allowed: " in sentence or "not TOML" in sentence
    return sentence.removeprefix(str(file))
