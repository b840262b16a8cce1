"""How far relay, contactor and crucible are through their lives, by what makers promise, and what wears them."""

from typing import NamedTuple

RELAY_OPERATIONS = 1e8
"""A solid-state relay has no contacts: what ends it is heat and surges. Makers print no number; ours only sorts (our
choice)."""
CONTACTOR_LOADED, CONTACTOR_MECHANICAL = 1e5, 1e6
"""Operations of a small contactor on a resistive load (AC-1), and without one: typical of data sheets (from memory)."""
CRUCIBLE_HEATS = {"clay-graphite": (20, 60), "silicon carbide": (60, 150), "": (20, 60)}
"""Heats of a small pot melting aluminium (common practice, no source): care decides more than the number."""


class Life(NamedTuple):
    """One part and how far through it is. share: of the life that is commonly given; None: nobody knows."""

    part: str
    operations: int | None  # or heats
    share: float | None
    look: bool
    words: str


def relay(operations: int | None, hours: float) -> Life:
    """A solid-state relay by its operations; its start proofs tell more than any count."""
    if operations is None:
        return Life("relay", None, None, False, f"{hours:.0f} h of firings; operations are counted from now on.")
    share = operations / RELAY_OPERATIONS
    words = f"{operations:,} operations in {hours:.0f} h; no contacts wear: heat and surges end it, mostly shorted."
    return Life("relay", operations, share, False, f"{words} Each start proves that it lets go.".replace(",", " ", 1))


def contactor(operations: int | None, firings: int) -> Life:
    """The contactor goes in at each start and after each lid that stayed open: without load, unless a relay stuck."""
    count = firings if operations is None else operations
    share = count / CONTACTOR_LOADED
    look = share >= 0.5
    words = (
        f"{count} operations; a small one is good for some {CONTACTOR_LOADED:,.0f} under load (typical, from memory)."
    )
    if look:
        words += " Have its poles looked at, supply locked off."
    return Life("contactor", count, share, look, words)


def crucible(melts: int, kind: str = "", cracked: bool | None = None) -> Life:
    """A pot by its heats, and by what was seen when it was last looked at. cracked None: nobody wrote it down."""
    least, most = CRUCIBLE_HEATS.get(kind, CRUCIBLE_HEATS[""])
    share = melts / most
    if cracked:
        return Life("crucible", melts, 1.0, True, f"{melts} heats. It was seen cracked: it is not charged again.")
    look = melts >= least
    words = f"{melts} heats; {least} to {most} are common. Look for cracks and tap it before each, cold and empty."
    if look:
        words += " It is in the years in which pots fail: have the next one ready."
    return Life("crucible", melts, share, look, words)
