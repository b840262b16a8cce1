"""What the messenger must know after its own restart: a small file in a directory of its own, always whole."""

import json
import os
import secrets
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from supervisor.messenger.decide import Memory, Message, remembered

DIRECTORY = "messenger"
FILE_NAME = "told.json"


@dataclass(frozen=True, slots=True)
class Kept:
    """What an earlier run left."""

    memory: Memory
    jobs: tuple[tuple[str, Message, int], ...]  # contact, message, tries so far
    salt: str  # of masked addresses: nobody can try them out against the log


class Store:
    """The file. Written whole or not at all, and only when something changed."""

    def __init__(self, data: Path) -> None:
        """data: the data directory, where the messenger's own lies.

        Raises:
            OSError: it cannot be made.
        """
        self.directory = data / DIRECTORY
        self.directory.mkdir(mode=0o700, exist_ok=True)
        self._file = self.directory / FILE_NAME
        self._text = ""

    def read(self, now_s: float) -> Kept:
        """What was kept; a fresh start where there is nothing, or nothing that can be read: better told twice."""
        try:
            kept = json.loads(self._file.read_text(encoding="utf-8"))
            jobs = tuple((job["contact"], Message(**job["message"]), int(job["tries"])) for job in kept["jobs"])
            return Kept(remembered(kept["memory"], now_s), jobs, str(kept["salt"]))
        except (OSError, ValueError, KeyError, TypeError, AttributeError):
            return Kept(Memory(), (), secrets.token_hex(16))

    def write(self, memory: Memory, jobs: list[dict[str, Any]], salt: str) -> None:
        """Keep it.

        Raises:
            OSError: it cannot be written.
        """
        text = json.dumps({"memory": memory.kept(), "jobs": jobs, "salt": salt}, ensure_ascii=False, indent=1)
        if text == self._text:
            return
        new = self._file.with_suffix(".new")
        descriptor = os.open(new, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(descriptor, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        new.replace(self._file)
        self._text = text
