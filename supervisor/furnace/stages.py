"""Stages of unlocking: how much heat a furnace may have, by what has been proved of it.

Pure: what was proved, which parts were changed, and what day it is go in; the stage, what is missing and what is due go
out. Each proof is made in the stage below the one that it opens, so whatever is missing, the stage that a furnace falls
back to is one in which it can be proved.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import IntEnum
from math import inf
from typing import NamedTuple

from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.parts import PART_OF_PROOF, PARTS, TAKES_BACK
from supervisor.furnace.proofs import HOLDS_FOR, KINDS, Kind, of

DAY_MS = 86_400_000


class Stage(IntEnum):
    """How far a furnace is unlocked."""

    NONE = 0
    TRIALS = 1
    FIRST_HEATS = 2
    MELTS = 3


class Caps(NamedTuple):
    """What a stage allows."""

    words: str
    top_c: float = inf  # no setpoint above it
    longest_s: float = inf
    press_s: float = inf  # a press at the furnace is due at least so often
    metal: bool = True
    attended: bool = False  # signs come from the button alone


CAPS = {
    Stage.NONE: Caps("no heat", 0.0, 0.0, 0.0, metal=False, attended=True),
    Stage.TRIALS: Caps(
        "attended trials without metal, up to 200 °C, 30 min, a press every 5 min",
        200.0,
        1800.0,
        300.0,
        metal=False,
        attended=True,
    ),
    Stage.FIRST_HEATS: Caps("dry-out and first heat, attended, without metal", metal=False, attended=True),
    Stage.MELTS: Caps("melts"),
}


class Proved(NamedTuple):
    """One try of a proof, as the log keeps it."""

    proof: str  # of `proofs.KINDS`
    result: str  # proved, failed, undecided
    witnessed: bool  # False: somebody stated it, and it says so for ever
    about: str
    evidence: str
    who: str
    utc_ms: int  # the latest date that was known then
    after_part: int  # how many changes of parts the log had by then


class Changed(NamedTuple):
    """One part was fitted new, or mended."""

    part: str  # of `parts.TAKES_BACK`
    note: str
    who: str
    utc_ms: int
    after_firing: int  # number of the newest firing by then; 0: none


class Standing(NamedTuple):
    """How one proof stands today."""

    name: str
    kind: Kind
    holds: bool
    why: str  # why it does not hold; empty: it does
    last: Proved | None  # the last try that came to something
    due_in_days: float | None  # None: it is not due by date, or does not hold

    @property
    def asked(self) -> bool:
        """It was made once, or is missing; False: nothing has happened that asks for it."""
        return self.last is not None or not self.holds


class Reached(NamedTuple):
    """The stage, and how every proof stands."""

    stage: Stage
    standing: tuple[Standing, ...]

    @property
    def caps(self) -> Caps:
        """What it allows."""
        return CAPS[self.stage]

    @property
    def missing(self) -> tuple[Standing, ...]:
        """Proofs that do not hold, those of the lowest stage first."""
        return tuple(sorted((each for each in self.standing if not each.holds), key=lambda each: each.kind.opens))

    @property
    def next(self) -> Standing | None:
        """The one to make next; it can be made in this stage."""
        return next(iter(self.missing), None)

    @property
    def due(self) -> tuple[Standing, ...]:
        """Proofs that hold and are due by their date, the oldest first."""
        over = (each for each in self.standing if each.due_in_days is not None and each.due_in_days <= 0.0)
        return tuple(sorted(over, key=lambda each: each.due_in_days or 0.0))


def reached(
    furnace: FurnaceDescription, proved: Sequence[Proved], changed: Sequence[Changed], today_ms: int
) -> Reached:
    """How far a furnace is unlocked. proved, changed: everything ever recorded, the oldest first."""
    standing = tuple(_standing(name, kind, furnace, proved, changed, today_ms) for name, kind in of(furnace).items())
    lowest = min((each.kind.opens for each in standing if not each.holds), default=Stage.MELTS + 1)
    return Reached(Stage(lowest - 1), standing)


def _standing(
    name: str,
    kind: Kind,
    furnace: FurnaceDescription,
    proved: Sequence[Proved],
    changed: Sequence[Changed],
    today_ms: int,
) -> Standing:
    last = next((each for each in reversed(proved) if each.proof == name and each.result != "undecided"), None)
    if kind.only_after and not any(each.part == kind.only_after for each in changed):
        return Standing(name, kind, True, "", last, None)
    if last is None:
        return Standing(name, kind, False, "Not proved yet.", None, None)
    if last.result != "proved":
        return Standing(name, kind, False, f"It failed: {last.evidence}.", last, None)
    if not (kind.stated or kind.either or last.witnessed):
        return Standing(name, kind, False, "It was only stated, and an input must witness it.", last, None)
    if last.about != kind.about(furnace):
        why = f"Proved for {last.about or 'another furnace file'}; now it is {kind.about(furnace)}."
        return Standing(name, kind, False, why, last, None)
    parts = PART_OF_PROOF.get(name, ())
    since = next((each.part for each in reversed(changed[last.after_part :]) if each.part in parts), None)
    if since is not None:
        return Standing(
            name,
            kind,
            False,
            f"{TAKES_BACK[since].title}{': changed' if since in PARTS else ''} since then.",
            last,
            None,
        )
    if kind.due_days is None:
        return Standing(name, kind, True, "", last, None)
    age_days = (today_ms - last.utc_ms) / DAY_MS
    if not age_days < HOLDS_FOR[kind.due_days]:
        return Standing(name, kind, False, f"Overdue: proved {age_days:.0f} days ago.", last, None)
    return Standing(name, kind, True, "", last, kind.due_days - age_days)


def taught_from(changed: Sequence[Changed]) -> int:
    """The newest firing by the last change of a part that the model knows: none up to it teaches. 0: all do."""
    return max((each.after_firing for each in changed if each.part in PARTS and PARTS[each.part].learned), default=0)


def not_said(name: str, said: str, furnace: FurnaceDescription) -> str:
    """Why what somebody states for a proof cannot be taken; empty: it can."""
    if not said.strip():
        return "Say what was seen, measured or read."
    if name == "insulation":
        return _not_insulated(said)
    if name != "limiter-setting":
        return ""
    try:
        right = abs(float(said.replace("°C", "").strip()) - furnace.limiter_c) < 0.5
    except ValueError:
        right = False
    allowed = f"{furnace.limiter_c:g}, the limiter's setting in the furnace file"
    return "" if right else f"The dial says {said.strip()!r}; allowed: {allowed}. Set one of them right."


LEAST_MEGOHM = 1.0
"""At 500 V direct voltage, for circuits of up to 500 V. Source: IEC 60364-6, table on insulation resistance, and BS
7671, table 64 (both from memory). Local codes may ask for more."""


def _not_insulated(said: str) -> str:
    """Megohms first, then who measured: a licensed person, by name."""
    number, _, rest = said.strip().replace(",", ".").partition(" ")
    allowed = (
        "allowed: megohms to earth on the dead circuit, then the licensed person's name, as in '2.5 megohm at 500 V,"
        " by N. N., licensed'."
    )
    try:
        megohm = float(number)
    except ValueError:
        return f"What was measured is {said.strip()!r}; {allowed}"
    if len([sign for sign in rest if sign.isalpha()]) < 8 or "licen" not in rest.lower():
        return f"Nobody is named as licensed in {said.strip()!r}; {allowed}"
    if not LEAST_MEGOHM <= megohm < 1e6:
        return (
            f"{number} megohm is below {LEAST_MEGOHM:g}: nothing is heated by mains. A licensed person finds the leak;"
            " a wet lining is dried without mains on the element, then measured again."
        )
    return ""


@dataclass(slots=True)
class Unlocking:
    """What a supervisor knows of proofs and parts. counted False: simulated, at the last stage from the first day."""

    counted: bool = True
    proved: list[Proved] = field(default_factory=list)
    changed: list[Changed] = field(default_factory=list)
    today_ms: int = 0
    local_minute: int | None = None  # of the day, where the furnace stands; None: the clock is not to be trusted
    _for: tuple[int, int, int] = (-1, -1, -1)
    _reached: Reached | None = None

    def reached(self, furnace: FurnaceDescription) -> Reached:
        """The stage now; reckoned anew when something was proved or changed, and each hour."""
        now = (len(self.proved), len(self.changed), self.today_ms // 3_600_000)
        if self._reached is None or now != self._for:
            self._for, self._reached = now, reached(furnace, self.proved, self.changed, self.today_ms)
        return self._reached

    @property
    def leaked(self) -> str:
        """When the earth-leakage device tripped, unless insulation was measured since; simulated or not. Empty: no."""
        trips = [at for at, each in enumerate(self.changed, start=1) if each.part == "earth-leakage-trip"]
        if not trips:
            return ""
        measured = [each.after_part for each in self.proved if (each.proof, each.result) == ("insulation", "proved")]
        return "" if max(measured, default=0) >= trips[-1] else self.changed[trips[-1] - 1].note

    def stage(self, furnace: FurnaceDescription) -> Stage:
        """The stage that counts."""
        return self.reached(furnace).stage if self.counted else Stage.MELTS

    def wanted(self, proof: str, furnace: FurnaceDescription) -> bool:
        """This proof does not hold, or is due."""
        if not self.counted:
            return False
        return any(
            each.name == proof and (not each.holds or (each.due_in_days or 1.0) <= 0.0)
            for each in self.reached(furnace).standing
        )


def make(
    unlocking: Unlocking,
    name: str,
    furnace: FurnaceDescription,
    *,
    evidence: str,
    who: str,
    witnessed: bool,
    result: str = "proved",
) -> Proved:
    """A try of a proof made now, for the log; it counts at once."""
    about = KINDS[name].about(furnace)
    done = Proved(name, result, witnessed, about, evidence, who, unlocking.today_ms, len(unlocking.changed))
    unlocking.proved.append(done)
    return done
