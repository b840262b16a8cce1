"""Chatter: an alarm that comes and goes. After the fourth return in a minute it is told only when it lasts.

Its reaction is never delayed: what a person hears less often still takes the heat away at once.
"""

from collections import deque
from dataclasses import dataclass, field

WINDOW_S = 60.0
RETURNS = 3
"""More re-alarms than this in a minute are chatter (a customary measure of alarm systems, from memory)."""

LONGER = 4
"""So many times the on-delay it must then last before it is told."""

CALM_AFTER_S = 600.0

WATCH = "alarm-chatters"
"""The one advice that comes of it: mend what makes the alarm come and go."""


@dataclass(slots=True)
class Chatter:
    """The last onsets of each alarm, and those that chatter now."""

    onsets: dict[str, deque[float]] = field(default_factory=dict)
    until_s: dict[str, float] = field(default_factory=dict)

    def came(self, watch: str, now_s: float) -> bool:
        """An alarm's condition has come; True: it chatters."""
        onsets = self.onsets.setdefault(watch, deque(maxlen=RETURNS + 2))
        onsets.append(now_s)
        if watch in self.until_s or (len(onsets) == onsets.maxlen and now_s - onsets[0] <= WINDOW_S):
            self.until_s[watch] = now_s + CALM_AFTER_S
        return watch in self.until_s

    def calm(self, now_s: float) -> None:
        """Forget those that have been quiet for ten minutes."""
        for watch in [watch for watch, until_s in self.until_s.items() if now_s > until_s]:
            del self.until_s[watch]
            self.onsets[watch].clear()

    def __contains__(self, watch: str) -> bool:
        return watch in self.until_s
