"""The last step of putting a backup back: files that lie ready take the place of those that are there.

It may be cut short at any point, and is then finished by whoever opens the directory next.
"""

import shutil
from pathlib import Path

from supervisor.logbook.database import sync_directory

STAGED = "restoring"
"""A directory in a data directory: `files`, ready to be put in place, and one for what was there."""

BESIDE = ("-wal", "-shm", "-journal")
"""Files of SQLite that belong to the one they are named after, and to no other."""


def finish(data: Path) -> Path | None:
    """Finish what was begun; where what was there lies now, or None: nothing was begun. The caller holds the lock.

    Raises:
        OSError: it cannot be done now.
    """
    staged = data / STAGED
    if not staged.is_dir():
        return None
    ready, aside = staged / "files", next((each for each in staged.iterdir() if each.name != "files"), None)
    if aside is None:  # all was done but this
        staged.rmdir()
        return None
    for file in sorted(each for each in ready.rglob("*") if each.is_file()):
        name = file.relative_to(ready)
        for end in ("", *BESIDE):
            there = (data / name).with_name(name.name + end)
            if there.exists():
                kept = (aside / name).with_name(there.name)
                kept.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
                there.rename(kept)
        (data / name).parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        file.rename(data / name)
        sync_directory((data / name).parent)
    done = data / aside.name
    shutil.rmtree(ready, ignore_errors=True)
    aside.rename(done)
    staged.rmdir()
    sync_directory(data)
    return done
