"""The pour window of one firing: since when its metal is likely fit to pour, and for how long it stays so."""

from dataclasses import dataclass, field

from supervisor.model.cooldown import Cooldown
from supervisor.model.countdown import Minutes


@dataclass(slots=True)
class PourWindow:
    """One firing's. Times are process time; changed by `windowing` alone."""

    firing_id: int = 0
    fit: bool = False  # the estimate has liquid metal at its pouring temperature
    was_fit_s: float | None = None  # when it last was, with heat off
    liquid_since_s: float | None = None
    left: Minutes | None = None  # until it is too cold, while heat is off
    left_from_s: float = 0.0
    freezes: Minutes | None = None  # until it begins to freeze, while heat is off
    freezes_from_s: float = 0.0
    dip_off_k: float | None = None  # the last dip less what the estimate had said
    moulds: list[str] = field(default_factory=list)  # that were noted as full
    poured_from_s: float | None = None  # when the first one was
    cooling: Cooldown | None = None  # the look ahead under way
    to_pour: bool = False  # it looks to where the metal pours; else to where it freezes
    looked_s: float = 0.0  # when it began

    def freezes_in_s(self, now_s: float) -> float | None:
        """Seconds until the likely metal is at its liquidus, while heat is off; None: not reckoned."""
        left = self.freezes
        return None if left is None else max(0.0, self.freezes_from_s + 60.0 * left.likely - now_s)

    def minutes_left(self, now_s: float) -> Minutes | None:
        """What is left of the window."""
        return None if self.left is None else self.left.after((now_s - self.left_from_s) / 60.0)
