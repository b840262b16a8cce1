"""The button at the furnace: the only sign of presence, and the one question it answers.

A press counts for the question that lamp and sounder are putting, begins after it was put and within 60 s, and is used
once. Presence is a short press; start, going on and reset are a press held for 3 s and seen held all that time: after a
stall nobody can tell one long press from two taps, so the 3 s begin anew.
"""

from dataclasses import dataclass
from enum import Enum

from hardware.ports import Level

ANSWER_WITHIN_S = 60.0
HELD_FOR_S = 3.0
STUCK_AFTER_S = 10.0
SEEN_EVERY_S = 0.6
"""A press is seen to go on where the button is looked at so often: one point of the 250 ms grid may be left out."""


class Asked(Enum):
    """What the furnace asks. The held ones add heat, clear a trip or change what limits heat."""

    START = "start"
    RESUME = "resume"
    RESET = "reset"
    RAISE = "raise"
    GATE = "gate"
    SIGN = "sign"
    ALLOWANCE = "allowance"
    MASS = "mass"
    ADOPT = "adopt"


HELD_PRESS = frozenset({Asked.START, Asked.RESUME, Asked.RESET, Asked.RAISE, Asked.ADOPT})


@dataclass(frozen=True, slots=True)
class Question:
    """One question, put at a time, standing for a minute."""

    asked: Asked
    put_s: float

    @property
    def until_s(self) -> float:
        """No press that begins later counts."""
        return self.put_s + ANSWER_WITHIN_S

    @property
    def held(self) -> bool:
        """Answered by a press held 3 s."""
        return self.asked in HELD_PRESS


@dataclass(slots=True)
class Button:
    """What is known of the button. Changed by `see` alone, once a cycle."""

    pressed_since_s: float | None = None
    held_since_s: float = 0.0  # since when it has been seen pressed without a gap
    seen_s: float = 0.0  # when it was last looked at
    released_s: float | None = None  # last moment it was seen released
    question: Question | None = None
    spent: bool = False  # the press in progress has already answered one

    def see(self, level: Level, now_s: float) -> Asked | None:
        """Take the button's level; the question it has just answered, if it did."""
        unseen_s, self.seen_s = now_s - self.seen_s, now_s
        if level is Level.CLOSED:
            if self.pressed_since_s is None:
                self.pressed_since_s, self.held_since_s, self.spent = now_s, now_s, False
            elif unseen_s > SEEN_EVERY_S:
                self.held_since_s = now_s
            return self._held(now_s)
        began_s, self.pressed_since_s, self.released_s = self.pressed_since_s, None, now_s
        return None if began_s is None else self._short(began_s, now_s)

    def held_for_s(self, now_s: float) -> float:
        """How long it has been pressed; 0 when released."""
        return 0.0 if self.pressed_since_s is None else now_s - self.pressed_since_s

    def put(self, asked: Asked, now_s: float) -> bool:
        """Put a question, unless another stands or the button does not read released."""
        if self.question is not None or self.pressed_since_s is not None or self.released_s is None:
            return False
        self.question = Question(asked, now_s)
        return True

    def withdraw(self, *asked: Asked) -> None:
        """Take a question back; without names, whatever stands."""
        if self.question is not None and (not asked or self.question.asked in asked):
            self.question = None

    def expired(self, now_s: float) -> bool:
        """Nobody began a press in time. A press in progress may still end."""
        question = self.question
        if question is None or now_s <= question.until_s:
            return False
        return self.pressed_since_s is None or self.pressed_since_s > question.until_s

    def _counts(self, began_s: float) -> Question | None:
        question = self.question
        if question is None or self.spent or not question.put_s < began_s <= question.until_s:
            return None
        return question

    def _held(self, now_s: float) -> Asked | None:
        began_s = self.pressed_since_s
        if began_s is None or now_s - self.held_since_s < HELD_FOR_S:
            return None
        question = self._counts(began_s)
        if question is None or not question.held or self.held_since_s > question.until_s:
            return None
        self.question, self.spent = None, True
        return question.asked

    def _short(self, began_s: float, now_s: float) -> Asked | None:
        question = self._counts(began_s)
        if question is None or question.held or now_s - began_s > STUCK_AFTER_S:
            return None
        self.question = None
        return question.asked
