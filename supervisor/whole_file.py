"""Files that are written whole or not at all, also when the plug is pulled."""

import os
import tempfile
from pathlib import Path

from supervisor.logbook.database import sync_directory


def write_whole(path: Path, data: bytes) -> None:
    """Write a file of a directory that is there; on the disk when this returns. Its group reads it.

    Raises:
        OSError: it cannot be written; what was there before is there still.
    """
    handle, draft = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            os.fchmod(file.fileno(), 0o640)  # pages and commands run as two users of one group on a Pi
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(draft).replace(path)
    except BaseException:
        Path(draft).unlink(missing_ok=True)
        raise
    sync_directory(path.parent)
