"""Attendance: how long a hot furnace may go on without a sign that somebody is there.

The time shortens with the hazard, and what follows a missed sign grows in stages: lamp and page, phone, the furnace's
sounder, the second contact, a hold, the end of heat. While all is solid some of the signs may come from a phone; once
metal may be liquid only the button at the furnace gives one. No sign and no answer ever raises heat.

The stages and their times follow the watch alarm of a ship's bridge (IMO resolution MSC.128(75)), stretched to a
furnace's pace; the times themselves are our choice.
"""

from dataclasses import dataclass
from enum import IntEnum
from typing import NamedTuple

ASKS_BEFORE_S = 300.0
ASKS_BEFORE_SHARE = 0.4
"""The question is put so long before the sign is due, or this share of the period where that is less."""
HOT_C, HOT_NO_MORE_C = 600.0, 590.0
"""Above the one it is hot, and stays so down to the other: a reading that wobbles changes nothing."""
ALONE_FOR_S = 60.0
"""After so long with no page that follows, a phone that answered counts as gone."""
RANGE_K = 60
RANGES = 3
EDGE_K = 15.0
"""A task is made anew before the reading comes so near an edge of its range: nobody is to read tenths."""


class Periods(NamedTuple):
    """How long one sign is good for, and what follows when it does not come, s. A furnace file may shorten them."""

    heating_s: float = 1800.0  # heating, all solid
    hot_s: float = 900.0  # above 600 °C, gate open, or metal may be liquid
    hands_s: float = 300.0  # lid open, or pouring
    hold_after_s: float = 300.0
    end_after_s: float = 900.0
    phone_answers: int = 3  # in a row, without a press between


DEFAULT = Periods()


class Hazard(IntEnum):
    """What is at stake, least first."""

    NONE = 0  # no heat allowed, and not hot: nobody need be there
    HEATING = 1
    HOT = 2
    HANDS = 3


class Stage(IntEnum):
    """How far a sign is asked for."""

    NONE = 0
    NOT_DUE = 1
    ASKED = 2  # it may be given now, and is not due yet
    DUE = 3  # lamp and page
    PHONE = 4  # the page sounds
    SOUNDER = 5  # the furnace sounds
    SECOND = 6  # the second contact is told
    HOLD = 7
    END = 8

    @property
    def word(self) -> str:
        """As the snapshot has it."""
        return _WORDS[self]


_WORDS = {
    Stage.NONE: "none",
    Stage.NOT_DUE: "not due",
    Stage.ASKED: "asked",
    Stage.DUE: "due",
    Stage.PHONE: "phone",
    Stage.SOUNDER: "sounder",
    Stage.SECOND: "second contact",
    Stage.HOLD: "hold",
    Stage.END: "end",
}
_AFTER_S = ((120.0, Stage.SECOND), (60.0, Stage.SOUNDER), (30.0, Stage.PHONE), (0.0, Stage.DUE))


class Seen(NamedTuple):
    """What attendance is judged on, once a second."""

    heated: bool  # heat is allowed
    reading_c: float | None  # the last good one
    gate_open: bool
    liquid: bool  # metal may be liquid in the pot
    hands: bool  # the lid is open, or it is the time to pour
    tripped: bool  # the furnace's alarm says what to do; nobody is called to a button
    readers_gone_s: float | None  # since when no page follows any more
    why_no_phone: str  # why no absence is allowed; empty: it is


class Task(NamedTuple):
    """What a phone must answer: in which of three ranges is the chamber? A wrong tap or an old one is no sign."""

    number: int
    ranges: tuple[tuple[int, int], ...]  # °C, from and below

    def right(self, reading_c: float) -> int | None:
        """Which range is the right one; None: none of them."""
        return next((n for n, (low, high) in enumerate(self.ranges) if low <= reading_c < high), None)


def task_for(number: int, reading_c: float) -> Task:
    """The task of this number: three ranges side by side, the right one at a place that varies."""
    place = number * 7 % 11 % RANGES
    low_c = round(reading_c) - RANGE_K // 2 - place * RANGE_K
    return Task(number, tuple((low_c + n * RANGE_K, low_c + (n + 1) * RANGE_K) for n in range(RANGES)))


@dataclass(slots=True)
class Attendance:
    """When the next sign is due. Changed by the functions below alone."""

    periods: Periods = DEFAULT
    hazard: Hazard = Hazard.NONE
    heated: bool = False
    why_no_phone: str = ""  # why an answer from a phone does not count now; empty: it does
    by_phone: bool = False  # the last sign came from one
    phone_answers: int = 0  # in a row, since the last press
    task: Task | None = None
    number: int = 0  # of the sign that is wanted: each wait has its own
    signed_s: float = 0.0
    pressed_s: float = 0.0  # the last sign that was a press
    alone_s: float | None = None  # when the phone that answered counts as gone
    _due_s: float | None = None  # without what hands and a lost phone bring forward
    _hands_s: float | None = None  # since when hands are at it
    _liquid_s: float | None = None  # since when metal may be liquid
    _tasks: int = 0
    _hot: bool = False

    @property
    def phone_left(self) -> int:
        """How many more answers from a phone count before a press is due."""
        return max(0, self.periods.phone_answers - self.phone_answers)

    @property
    def due_s(self) -> float | None:
        """When the next sign is due; None: none is wanted."""
        if self._due_s is None:
            return None
        due_s = self._due_s
        if self._hands_s is not None:
            due_s = min(due_s, max(self._hands_s, self.signed_s) + self.periods.hands_s)
        return due_s if self.alone_s is None else min(due_s, max(self.alone_s, self.signed_s))

    def overdue_s(self, now_s: float) -> float:
        """How long the sign is overdue; negative until it is due, and where none is wanted."""
        return -1.0 if self.due_s is None else now_s - self.due_s

    def alone(self, now_s: float) -> bool:
        """The sign is due early, because nobody watches any more."""
        return self.alone_s is not None and self.alone_s <= now_s < (self._due_s or now_s)

    def stage(self, now_s: float) -> Stage:
        """How far it is asked for now. What ends a hold or heat has nothing to end where no heat is allowed."""
        due_s = self.due_s
        if due_s is None:
            return Stage.NONE
        over_s = now_s - due_s
        if self.heated and over_s >= self.periods.end_after_s:
            return Stage.END
        if self.heated and over_s >= self.periods.hold_after_s:
            return Stage.HOLD
        if over_s >= -self.asks_before_s:
            return next((stage for after_s, stage in _AFTER_S if over_s >= after_s), Stage.ASKED)
        return Stage.NOT_DUE

    @property
    def period_s(self) -> float:
        """How long a sign given now is good for."""
        if self.hazard is Hazard.HEATING:
            return self.periods.heating_s
        return self.periods.hands_s if self.hazard is Hazard.HANDS else self.periods.hot_s

    @property
    def asks_before_s(self) -> float:
        """So long before it is due the question is put."""
        return min(ASKS_BEFORE_S, ASKS_BEFORE_SHARE * self.period_s)

    def look(self, seen: Seen, now_s: float) -> None:
        """Take the second's facts: the time starts, runs, shortens or ends."""
        if seen.reading_c is not None:
            self._hot = seen.reading_c > (HOT_NO_MORE_C if self._hot else HOT_C)
        self.hazard, self.heated = hazard_of(seen, hot=self._hot), seen.heated
        if self.hazard is Hazard.NONE:
            self._due_s = self._hands_s = self._liquid_s = self.alone_s = self.task = None
            self.phone_answers = 0
            return
        period_s = self.periods.heating_s if self.hazard is Hazard.HEATING else self.periods.hot_s
        if self._due_s is None:
            self.number += 1
            self.signed_s = self.pressed_s = now_s
            self.by_phone, self._due_s = False, now_s + period_s
        # A greater hazard shortens what is left; a smaller one adds nothing.
        self._due_s = min(self._due_s, now_s + period_s)
        if not seen.liquid:
            self._liquid_s = None
        else:  # what a phone answered while all was solid is good for no liquid metal; but nothing is due at once
            self._liquid_s = now_s if self._liquid_s is None else self._liquid_s
            by_press_s = self.pressed_s + self.periods.hot_s
            self._due_s = min(self._due_s, max(by_press_s, self._liquid_s + self.asks_before_s))
        if not seen.hands:
            self._hands_s = None
        elif self._hands_s is None:
            self._hands_s = now_s
        gone_s = seen.readers_gone_s
        self.alone_s = None if gone_s is None or not self.by_phone else gone_s + ALONE_FOR_S
        self.why_no_phone = self._why_no_phone(seen, now_s)
        self._renew(seen.reading_c, now_s)

    def sign(self, now_s: float) -> None:
        """A press at the furnace answered a question: a whole period from now."""
        self.phone_answers, self.pressed_s = 0, now_s
        self._signed(now_s, by_phone=False)

    def answer(self, now_s: float) -> None:
        """A phone answered rightly, or a person acted on a page: a whole period from now, one of few."""
        self.phone_answers += 1
        self._signed(now_s, by_phone=True)

    def another_task(self) -> None:
        """The task was answered wrongly: nobody gets there by trying all three."""
        self.task = None

    def _signed(self, now_s: float, *, by_phone: bool) -> None:
        if self._due_s is None:
            return
        self.number += 1
        self.signed_s, self.by_phone, self.task, self.alone_s = now_s, by_phone, None, None
        self._due_s = now_s + (self.periods.heating_s if self.hazard is Hazard.HEATING else self.periods.hot_s)

    def _why_no_phone(self, seen: Seen, now_s: float) -> str:
        if seen.liquid:
            return "Metal may be liquid: only a press at the furnace counts until the pot is drained."
        if seen.why_no_phone:
            return f"Stay: {seen.why_no_phone}"
        if self.phone_left <= 0:
            return "A phone has answered as often in a row as it may: now only a press at the furnace counts."
        if self.stage(now_s) >= Stage.HOLD:
            return "Nobody answered in time: now only a press at the furnace counts."
        return "The chamber's temperature is not known." if seen.reading_c is None else ""

    def _renew(self, reading_c: float | None, now_s: float) -> None:
        if reading_c is None or self.why_no_phone or self.stage(now_s) < Stage.ASKED:
            self.task = None
            return
        here = None if self.task is None else self.task.right(reading_c)
        if self.task is not None and here is not None:
            low_c, high_c = self.task.ranges[here]
            if low_c + EDGE_K <= reading_c < high_c - EDGE_K:
                return
        self._tasks += 1
        self.task = task_for(self._tasks, reading_c)


def hazard_of(seen: Seen, *, hot: bool) -> Hazard:
    """What is at stake now. hot: the chamber is, heated or not."""
    if seen.tripped or not (seen.heated or hot):
        return Hazard.NONE
    if seen.hands:
        return Hazard.HANDS
    return Hazard.HOT if hot or seen.gate_open or seen.liquid else Hazard.HEATING
