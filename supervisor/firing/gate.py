"""The gate: heat does not pass the charge's solidus less 30 K until a press shows that somebody is there.

An answer opens it for 15 minutes while all is solid, each new press for 15 more; if that lapses before anything can be
liquid, the limit is back. From then on it stands open, and `attendance` says when the next sign is due.
"""

from dataclasses import dataclass

from supervisor.firing.presses import Asked
from supervisor.metal.charge import Charge

BELOW_SOLIDUS_K = 30.0
UNKNOWN_METAL_C = 450.0
ASKS_WITHIN_K = 50.0
BELIEVED_AFTER_S = 3  # above the solidus: a damaged frame spoils one second's mean, not three
OPEN_FOR_S = 900.0
ASKS_AGAIN_S = 300.0  # before it lapses


def limit_of(charge: Charge | None) -> float | None:
    """The gate's limit for this charge, °C; None for a firing without metal."""
    if charge is None:
        return None
    if charge.solidus_c is None:
        return UNKNOWN_METAL_C
    return charge.solidus_c - BELOW_SOLIDUS_K


@dataclass(slots=True)
class Gate:
    """How far heat may go. Changed by the functions below alone."""

    limit_c: float | None
    open_until_s: float | None = None
    may_be_liquid: bool = False
    hot_s: int = 0  # seconds in a row above the solidus
    asks: bool = False  # its question is due, and stays due while the reading wobbles

    @property
    def shut(self) -> bool:
        """The limit binds."""
        return self.limit_c is not None and self.open_until_s is None

    @property
    def ceiling_c(self) -> float:
        """The highest chamber setpoint allowed now."""
        return self.limit_c if self.limit_c is not None and self.shut else float("inf")

    def add(self, charge: Charge | None) -> None:
        """More metal goes in, known or not: the limit follows the lowest solidus."""
        limit_c = UNKNOWN_METAL_C if charge is None else limit_of(charge)
        if limit_c is not None:
            self.limit_c = limit_c if self.limit_c is None else min(limit_c, self.limit_c)

    def see(self, reading_c: float, now_s: float) -> None:
        """Take the second's reading: hotter than the solidus may be liquid inside; an opening that ran out shuts."""
        if self.limit_c is None:
            return
        self.hot_s = self.hot_s + 1 if reading_c >= self.limit_c + BELOW_SOLIDUS_K else 0
        if self.hot_s >= BELIEVED_AFTER_S:
            self.may_be_liquid = True
        if self.open_until_s is not None and now_s >= self.open_until_s and not self.may_be_liquid:
            self.open_until_s = None
        if self.shut and reading_c >= self.limit_c - ASKS_WITHIN_K:
            self.asks = True

    def wants(self, now_s: float) -> Asked | None:
        """The question the furnace should be putting for the gate's sake."""
        if self.limit_c is None:
            return None
        if self.shut:
            return Asked.GATE if self.asks else None
        return Asked.SIGN if self.lapses(now_s) else None

    def lapses(self, now_s: float) -> bool:
        """It is about to shut again, with nothing liquid behind it."""
        if self.open_until_s is None or self.may_be_liquid:
            return False
        return now_s >= self.open_until_s - ASKS_AGAIN_S

    def sign(self, now_s: float) -> None:
        """Somebody pressed: open, or open for longer."""
        if self.limit_c is not None:
            self.open_until_s, self.asks = now_s + OPEN_FOR_S, False
