"""Who may use a route. Each route says it itself, by one of these decorators; one that says nothing is refused.

    @melts.get("/melts")
    @looks
    def show() -> Response: ...

A phone is paired to look or to run. Whoever reaches the pages without being paired sees the furnace now and the
cautions. Stop and lower ask nobody who they are.
"""

from collections.abc import Callable, Mapping
from enum import Enum
from typing import Any, Literal, TypeVar, get_args

Role = Literal["look", "run"]
ROLES: tuple[Role, ...] = get_args(Role)

View = TypeVar("View", bound=Callable[..., Any])


class Needs(Enum):
    """What a route asks of who uses it, from nothing at all to a phone that may run the furnace."""

    NOTHING = "nothing: no host name, origin, rate or address keeps it out"
    HOST = "one of our own names or addresses, from the local network"
    ENTRY = "the same, and for a write our own origin"
    LOOK = "a paired phone"
    RUN = "a phone that is paired to run"


def always(view: View) -> View:
    """For stop and lower alone: taken from whoever asks, however they ask."""
    return _declare(view, Needs.NOTHING)


def anybody(view: View) -> View:
    """To read, for whoever reaches the page: what a person needs to see who may stop."""
    return _declare(view, Needs.HOST)


def entry(view: View) -> View:
    """A write that comes before pairing."""
    return _declare(view, Needs.ENTRY)


def looks(view: View) -> View:
    """To read, or to change how things are shown on this phone: any paired phone."""
    return _declare(view, Needs.LOOK)


def runs(view: View) -> View:
    """Everything that changes something: a phone that is paired to run."""
    return _declare(view, Needs.RUN)


def needs_of(views: Mapping[str, Callable[..., Any]], endpoint: str) -> Needs | None:
    """What a route asks; None: it says nothing, and is refused."""
    declared = getattr(views.get(endpoint), "needs", None)
    return declared if isinstance(declared, Needs) else None


def may(needs: Needs | None, role: Role | None) -> bool:
    """Whether a phone of that role may use it; role None: it is not paired."""
    if needs is None:
        return False
    if needs is Needs.RUN:
        return role == "run"
    return needs is not Needs.LOOK or role is not None


def _declare(view: View, needs: Needs) -> View:
    view.needs = needs  # type: ignore[attr-defined]
    return view
