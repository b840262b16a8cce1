"""What the pages are given when they start: where things lie, and the clock."""

from collections.abc import Callable
from dataclasses import dataclass
from ipaddress import IPv4Network, IPv6Network
from pathlib import Path

Network = IPv4Network | IPv6Network


@dataclass(frozen=True, slots=True)
class WebConfig:
    """Everything that `create_app` needs. Nothing else is read from the machine.

    examples: profile files that ship with the program; the person's own lie in `profiles/` of the data directory.
    bench: socket of the simulated furnace; None where a real one is watched.
    names: host names, without port, that the pages answer to beside plain addresses.
    allowed: networks beside the local ones from which people may look.
    https_name: host (with port, unless it is 443) under which a proxy on this machine serves the pages by HTTPS.
    """

    data: Path
    port: int
    monotonic_s: Callable[[], float]
    utc_ms: Callable[[], int]
    examples: tuple[Path, ...] = ()
    bench: Path | None = None
    names: frozenset[str] = frozenset({"localhost"})
    allowed: tuple[Network, ...] = ()
    https_name: str = ""

    @property
    def link(self) -> Path:
        """The supervisor's socket."""
        return self.data / "link.sock"

    @property
    def log(self) -> Path:
        """The furnace's log, read only."""
        return self.data / "furnace.db"

    @property
    def book(self) -> Path:
        """The book: paired phones and how things look."""
        return self.data / "book.db"

    @property
    def own_profiles(self) -> Path:
        """Where the person's own profile files lie."""
        return self.data / "profiles"
