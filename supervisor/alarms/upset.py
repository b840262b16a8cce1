"""First cause and followers: one fault makes many watches speak, and a person should read one thing.

The earliest alarm leads. What follows it from the same part of the whole, while it still stands and holds or ends the
firing, or within ten minutes, is of the same upset: recorded, shown folded under it, without a sound of its own. What
asks for more than the leader leads anew; what is more urgent stays in sight and sounds.
"""

from dataclasses import dataclass
from typing import NamedTuple

from supervisor.alarms.text import Text
from supervisor.alarms.texts import TEXTS
from supervisor.watches.finding import Reaction, Then

LASTS_S = 600.0
"""What comes so soon after the leader is taken for its consequence (our choice)."""


class Place(NamedTuple):
    """Where a new alarm stands in its upset."""

    first_out: bool
    follows: str  # id of the alarm that leads; empty: it leads itself
    folded: bool  # shown under the leader, without sound


@dataclass(slots=True)
class Upset:
    """One upset: who leads it, and how urgent it has become."""

    watch: str
    alarm: str
    since_s: float
    then: Then
    urgency: tuple[int, float]
    urgent_watch: str


def urgency(text: Text) -> tuple[int, float]:
    """Priority, then the time there is: the smaller, the more urgent."""
    return text.priority, text.act_within_s


@dataclass(slots=True)
class Upsets:
    """The last upset of each part of the whole: furnace, machine, people."""

    last: dict[str, Upset]

    def place(self, watch: str, alarm: str, reaction: Reaction, now_s: float, *, leader_stands: bool) -> Place:
        """Find a new alarm's place. leader_stands: the condition of the one that leads its part is still there."""
        text = TEXTS[watch]
        upset = self.last.get(text.about)
        lasting = upset is not None and (
            now_s - upset.since_s <= LASTS_S or (leader_stands and upset.then >= Then.HOLD)
        )
        if upset is None or not lasting or upset.watch == watch or reaction.then > upset.then:
            self.last[text.about] = Upset(watch, alarm, now_s, reaction.then, urgency(text), watch)
            return Place(first_out=True, follows="", folded=False)
        more = urgency(text) < upset.urgency
        if more:
            upset.urgency, upset.urgent_watch = urgency(text), watch
        # The urgent one coming back is no news of another kind, but it must be heard again.
        return Place(first_out=False, follows=upset.alarm, folded=not more and watch != upset.urgent_watch)

    def leader(self, watch: str) -> str | None:
        """The watch that leads the part this one belongs to."""
        upset = self.last.get(TEXTS[watch].about)
        return None if upset is None else upset.watch
