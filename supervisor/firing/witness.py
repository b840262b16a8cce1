"""An input that is moved on purpose and seen both ways: it witnesses a proof, in place of a person's word."""

from dataclasses import dataclass
from typing import NamedTuple

from hardware.ports import Inputs, Level

STEADY_LOOKS = 2
"""A level counts when it was seen so often in a row: a contact that bounces has not moved (our choice)."""
GIVEN_UP_AFTER_S = 180.0
"""Nobody moved it in so long (our choice)."""


class Line(NamedTuple):
    """How one input is moved: its level at rest, and what a person does to move it and to bring it back."""

    line: str  # of hardware.ports.Inputs
    rest: Level
    away: str
    back: str
    caution: str = ""  # stands with the step


LINES = {
    "limiter-sensor": Line(
        "limiter",
        Level.CLOSED,
        "Unplug the limiter's own sensor at its plug.",
        "Plug it in again, then reset the limiter by hand.",
        "Only at a plug outside every box. If it is inside one: supply off and locked, pull it, shut the box, supply"
        " on; then the same again to plug it in.",
    ),
    "key": Line("key", Level.CLOSED, "Turn the key off.", "Turn the key on."),
    "button": Line("reset_button", Level.OPEN, "Press the button at the furnace.", "Let it go."),
    "lid": Line(
        "lid",
        Level.CLOSED,
        "Open the lid.",
        "Shut the lid.",
        "Hands, tools and face stay out of the chamber: the element counts as live while the supply is on.",
    ),
    "mains": Line(
        "mains",
        Level.CLOSED,
        "Switch the furnace's breaker off.",
        "Switch it on.",
        "The computer needs a supply of its own for this.",
    ),
    "tray": Line(
        "tray_probe",
        Level.OPEN,
        "Bridge the probe's two wires with a damp cloth, in the cold tray.",
        "Take the cloth away, and wipe it dry.",
        "Only cold. Dry it well: metal on water throws itself out.",
    ),
}
"""The proofs that one input alone witnesses, by their name."""


@dataclass(slots=True)
class Moved:
    """One input, followed until it has been away from its rest and back."""

    line: Line
    seen_rest: bool = False
    seen_away: bool = False
    _level: Level | None = None
    _looks: int = 0

    def see(self, inputs: Inputs) -> bool:
        """One more look. Whether it has now been seen at rest, away, and at rest again."""
        level: Level = getattr(inputs, self.line.line)
        self._looks = self._looks + 1 if level is self._level else 1
        self._level = level
        if self._looks < STEADY_LOOKS or level is Level.NOT_FITTED:
            return False
        if level is not self.line.rest:
            self.seen_away = self.seen_rest
            return False
        done = self.seen_away
        self.seen_rest = True
        return done

    @property
    def wants(self) -> str:
        """What to do now."""
        if not self.seen_rest:
            return f"First: {self.line.back[:1].lower()}{self.line.back[1:]}"
        return self.line.back if self.seen_away else self.line.away


@dataclass(slots=True)
class Witness:
    """The one proof that is being made now, by somebody at the furnace."""

    proof: str = ""  # of LINES; empty: none
    moved: Moved | None = None
    who: str = ""
    where: str = ""
    since_s: float = 0.0

    def begin(self, proof: str, who: str, where: str, now_s: float) -> None:
        """Follow this input from now on."""
        self.proof, self.moved, self.who, self.where, self.since_s = proof, Moved(LINES[proof]), who, where, now_s

    def end(self) -> None:
        """Nobody's any more."""
        self.proof, self.moved = "", None
