"""Cold practice: the whole melt gone through at the furnace with no heat, step by step, and how long each step took.

It goes on in the state stopped, in which relay, enable and permit are off whatever is asked. It begins only in a cold
furnace whose emergency stop is pressed or whose supply is away, and ends by itself when that is no longer so: hands,
tongs and tools go into the chamber.
"""

from dataclasses import dataclass, field
from typing import NamedTuple

from hardware.ports import Level
from supervisor.firing.states import State
from supervisor.firing.turn import Turn

COLD_C = 40.0
"""Of the chamber, for hands in it (our choice; skin is burnt by metal at 65 °C within a second)."""


class Move(NamedTuple):
    """One move of a melt, as it is practised cold."""

    name: str
    words: str


MOVES = (
    Move("dress", "Put on everything that a melt asks for: face shield, gloves, jacket, trousers over the boots."),
    Move("place", "Clear the way from furnace to moulds; moulds and dry sand in place; send everybody else away."),
    Move("charge", "Lid open: put cold pieces into the pot with the tongs, none of them wedged. Lid shut."),
    Move("addition", "Lid open: add one more piece, as into liquid. Lid shut."),
    Move("skim", "Lid open: skim with the cold tool, into the dry tin. Lid shut."),
    Move("lift", "Lid open: grip the pot with the lifting tongs, lift it out, set it down on the sand."),
    Move("pour", "Grip it with the pouring tool and go through the pour over each mould, spout away from your feet."),
    Move("back", "Pot back into the furnace, drained. Lid shut."),
    Move("breaker", "Walk from the moulds to the breaker, and to the water for a burn."),
)
"""In the order of a melt."""


class Took(NamedTuple):
    """One move that was practised."""

    name: str
    seconds: float


@dataclass(slots=True)
class Practice:
    """A practice in progress."""

    who: str
    began_s: float
    since_s: float
    took: list[Took] = field(default_factory=list)

    @property
    def move(self) -> Move:
        """What is practised now."""
        return MOVES[len(self.took)]


def why_not(turn: Turn) -> str:
    """Why hands may not go in now; empty: they may."""
    if turn.firing.state is not State.STOPPED:
        return "A practice is for a furnace that is stopped."
    if turn.sample.inputs.emergency_stop is Level.CLOSED:
        return "Press the emergency stop first, then isolate and lock the supply: hands and tools go into the chamber."
    reading_c = turn.belief.last_c
    if turn.belief.reading is None or reading_c is None:
        return "The chamber's temperature is not known."
    if reading_c >= COLD_C:
        return f"The chamber is at {reading_c:.0f} °C; allowed: below {COLD_C:.0f} °C."
    return ""


def begin(turn: Turn, who: str, where: str) -> str:
    """Begin, or say why not."""
    if turn.firing.practice is not None:
        return "A practice is on."
    why = why_not(turn)
    if not why:
        turn.firing.practice = Practice(who, turn.now_s, turn.now_s)
        turn.firing.change()
        turn.event("practice", {"begun": True}, who, where)
    return why


def done(turn: Turn, who: str, where: str) -> str:
    """The move is done; the next one begins. What is to be done now, in words."""
    practice = turn.firing.practice
    assert practice is not None  # asked before
    practice.took.append(Took(practice.move.name, round(turn.now_s - practice.since_s, 1)))
    practice.since_s = turn.now_s
    turn.firing.change()
    if len(practice.took) < len(MOVES):
        return practice.move.words
    _over(turn, "all of it", who, where)
    return "That was all of it. No heat was ordered."


def end(turn: Turn, why: str, who: str = "supervisor", where: str = "supervisor") -> None:
    """It ends before its end."""
    if turn.firing.practice is not None:
        _over(turn, why, who, where)


def see(turn: Turn) -> None:
    """Once a second: what it began on must still be so."""
    if turn.firing.practice is not None and (why := why_not(turn)):
        end(turn, why)


def _over(turn: Turn, why: str, who: str, where: str) -> None:
    practice, turn.firing.practice = turn.firing.practice, None
    assert practice is not None  # asked before
    took = {each.name: each.seconds for each in practice.took}
    turn.firing.change()
    turn.event(
        "practice", {"over": why, "took_s": took, "in_all_s": round(turn.now_s - practice.began_s, 1)}, who, where
    )
