"""Whether this machine watches a real furnace: then a simulated one must not be taken for it."""

import tomllib
from pathlib import Path

UNIT = "etc/systemd/system/multi-user.target.wants/meltkeeper.service"
FURNACE_FILE = "etc/meltkeeper/furnace.toml"
PAGE_PORT = 8080
"""Where the real furnace's page is."""


def enabled_furnace(root: Path = Path("/")) -> str | None:
    """What people call the furnace that this machine's own supervisor is set to watch; None: it watches none."""
    if not (root / UNIT).is_symlink():
        return None
    try:
        title = tomllib.loads((root / FURNACE_FILE).read_text(encoding="utf-8")).get("title")
    except (OSError, ValueError):
        title = None
    return title if isinstance(title, str) and title else "the real furnace"
