"""The temperature plan of a firing: ramps and holds, in order. `profile_file` reads one from TOML."""

from dataclasses import dataclass

from supervisor.metal.charge import Charge

ABOVE_TOP_K = 25.0
WORD_TAKES_S = 1200.0
"""To look, dip, skim and fetch the moulds (our choice)."""


@dataclass(frozen=True, slots=True)
class Ramp:
    """Take the setpoint to to_c. One of the two is given; the other follows from where the ramp starts.

    fastest: both are given. The rate is beyond what the furnace can do, so that the setpoint goes up just ahead of the
    reading; the duration is what an empty furnace is reckoned to need.
    """

    to_c: float
    rate_c_per_h: float | None  # always positive; the direction follows from to_c
    duration_s: float | None
    fastest: bool = False


@dataclass(frozen=True, slots=True)
class Hold:
    """Keep the setpoint. The time counts only while the reading is within wait_within_c, if that is given.

    until_word: a person's word ends it, at the earliest when duration_s is over. until_dry: the power that it needs
    does, at the earliest then (`drying`).
    """

    duration_s: float
    wait_within_c: float | None
    until_word: bool
    until_dry: bool = False


@dataclass(frozen=True, slots=True)
class Profile:
    """A temperature plan, with the charge it is meant for (None: a firing without metal)."""

    name: str
    segments: tuple[Ramp | Hold, ...]
    top_c: float  # the highest setpoint that the person allows
    pour_c: float | None  # coldest metal that may be poured; None: nothing is poured
    longest_s: float  # the firing ends here whatever else: at most 12 h
    charge: Charge | None
    source: str  # the TOML text as read, kept in the record
    drying_c_per_h: float | None = None  # no ramp up of a dry-out is faster; None: nothing is dried

    @property
    def dries(self) -> bool:
        """Holds of it end when the lining is dry: then nobody knows how long it takes."""
        return any(isinstance(segment, Hold) and segment.until_dry for segment in self.segments)


def top_hold_c(profile: Profile) -> float:
    """The highest temperature that a segment asks for: the metal's target."""
    return max(segment.to_c for segment in profile.segments if isinstance(segment, Ramp))


def held_at_top_s(profile: Profile) -> float:
    """How long the profile's own holds keep its highest temperature, s. Waiting for a word takes 20 min at least."""
    held_s, at_c, highest_c = 0.0, 0.0, top_hold_c(profile)
    for segment in profile.segments:
        if isinstance(segment, Ramp):
            at_c = segment.to_c
        elif at_c == highest_c:
            held_s += max(segment.duration_s, WORD_TAKES_S if segment.until_word else 0.0)
    return held_s


def cap_c(profile: Profile, furnace_top_c: float) -> float:
    """What the reading may never pass, °C: the lower top of profile and furnace, and a margin for the regulation."""
    return min(profile.top_c, furnace_top_c) + ABOVE_TOP_K


def segment_sentence(segment: Ramp | Hold) -> str:
    """One segment in plain words."""
    if isinstance(segment, Ramp):
        if segment.fastest:
            return f"Ramp to {segment.to_c:g} °C as fast as the furnace can."
        if segment.rate_c_per_h is not None:
            return f"Ramp to {segment.to_c:g} °C at {segment.rate_c_per_h:g} °C/h."
        return f"Ramp to {segment.to_c:g} °C over {_minutes(segment.duration_s or 0.0)}."
    words = f"Hold {_minutes(segment.duration_s)}" if segment.duration_s else "Hold"
    if segment.wait_within_c is not None:
        words += f", from when the reading is within {segment.wait_within_c:g} K"
    if segment.until_dry:
        words += ", then until the lining is dry"
    if segment.until_word:
        words += ", then until you say go on" if segment.duration_s else " until you say go on"
    return words + "."


def _minutes(seconds: float) -> str:
    return f"{seconds / 3600:g} h" if seconds % 3600 == 0 and seconds else f"{seconds / 60:g} min"
