"""Watch over the messages to people outside. It only advises: no message is counted as protection."""

from dataclasses import dataclass

from supervisor.firing.states import LIVE, State
from supervisor.watches.finding import ADVISE, Finding, Reaction
from supervisor.watches.view import View


@dataclass(frozen=True, slots=True)
class MessagesFail:
    """In a firing, the last message to a contact did not go through, or the messenger has not reported for 90 s."""

    id: str = "messages-fail"
    reaction: Reaction = ADVISE
    needs: tuple[int, int] = (1, 1)
    states: frozenset[State] = LIVE
    each_second: bool = True

    def judge(self, view: View) -> Finding | None:
        """What failed."""
        reach = view.firing.reach
        return Finding(self.id, self.reaction, reach.failing) if reach.failing else None
