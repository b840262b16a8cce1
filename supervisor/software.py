"""Which software this is: a digest of what decides at the furnace, by which the log tells one from another."""

import hashlib
from importlib.metadata import version
from pathlib import Path

EVENT = "software"
"""Kind of the event by which a run says that it is another software than the run before it."""

_ROOT = Path(__file__).resolve().parents[1]
_DECIDES = ("hardware", "supervisor")
_KINDS = frozenset({".py", ".toml", ".csv"})


def software() -> str:
    """Version and digest, such as `0.1.0 5d41402abc4b`: the same for the same files, wherever they lie."""
    digest = hashlib.sha256()
    files = (file for part in _DECIDES for file in (_ROOT / part).rglob("*") if file.suffix in _KINDS)
    for file in sorted(files):
        digest.update(f"{file.relative_to(_ROOT)}\0".encode())
        digest.update(file.read_bytes())
    return f"{version('meltkeeper')} {digest.hexdigest()[:12]}"
