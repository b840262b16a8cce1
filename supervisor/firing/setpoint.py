"""The setpoint's way through a profile: it moves at the segment's rate, waits where it must, makes up no lost time."""

from dataclasses import dataclass

from supervisor.firing.profile import Hold, Profile, Ramp
from supervisor.furnace.reckoning import ROOM_C

FALLING_BEHIND_K = 25.0
"""A ramp waits while the reading is this far behind (common practice, no source)."""

SLOWEST_RETURN_C_PER_S = 300.0 / 3600.0
"""How fast a setpoint comes back to a hold where no ramp before it had a rate."""


GENTLE_C_PER_S, GENTLE_BELOW_C = 300.0 / 3600.0, 500.0
"""So slowly a pot is heated that nobody knows to be drained, after a firing that was cut short (our choice)."""


@dataclass(slots=True)
class Walk:
    """Where the setpoint is. Changed by `advance` alone, once a second of process time or faster."""

    profile: Profile
    segment: int
    setpoint_c: float
    in_segment_s: float = 0.0  # time that counts for a hold
    rate_c_per_s: float = SLOWEST_RETURN_C_PER_S  # of the ramp in progress, or of the last one
    waits_for: str | None = None
    word_given: bool = False
    gentle: bool = False  # below GENTLE_BELOW_C it climbs slowly, whatever the profile says

    @property
    def climbs_c_per_s(self) -> float:
        """How fast it may rise where it is."""
        if self.gentle and self.setpoint_c < GENTLE_BELOW_C:
            return min(self.rate_c_per_s, GENTLE_C_PER_S)
        return self.rate_c_per_s

    @property
    def done(self) -> bool:
        """The last segment is over."""
        return self.segment >= len(self.profile.segments)

    @property
    def target_c(self) -> float:
        """Where the segment in progress goes: the metal's target in a hold by a person."""
        for segment in reversed(self.profile.segments[: self.segment + 1]):
            if isinstance(segment, Ramp):
                return segment.to_c
        return self.setpoint_c


def begin(profile: Profile, reading_c: float, *, gentle: bool = False) -> Walk:
    """Start at the reading. gentle: nobody knows what is in the pot."""
    walk = Walk(profile, 0, reading_c, gentle=gentle)
    _enter(walk)
    return walk


def advance(
    walk: Walk, dt_s: float, reading_c: float, ceiling_c: float, *, for_metal: bool = False, dry: bool = False
) -> None:
    """Go on by dt_s. Above ceiling_c the setpoint does not go, and the profile's clock waits there.

    for_metal: the chamber is hotter than its plan, as the metal is not there yet: a hold's time does not count.
    dry: the power that this hold needs says that the lining is dry as far as this temperature dries it.
    """
    walk.waits_for = None
    if walk.done:
        return
    walk.setpoint_c = min(walk.setpoint_c, ceiling_c)
    segment = walk.profile.segments[walk.segment]
    if isinstance(segment, Ramp):
        _along_ramp(walk, segment, dt_s, reading_c, ceiling_c)
    else:
        _along_hold(walk, segment, dt_s, reading_c, ceiling_c, for_metal=for_metal, dry=dry)


def restart_from(walk: Walk, reading_c: float) -> None:
    """After a hold: from the reading, at the segment's rate; never above what the setpoint had been."""
    walk.setpoint_c = min(walk.setpoint_c, reading_c)


def ahead(walk: Walk) -> list[tuple[float, float]]:
    """The plan from now on as (seconds from now, setpoint in °C), waiting not reckoned with."""
    points = [(0.0, walk.setpoint_c)]
    at_s, at_c, rate = 0.0, walk.setpoint_c, walk.rate_c_per_s
    for number, segment in enumerate(walk.profile.segments[walk.segment :]):
        if isinstance(segment, Ramp):
            if segment.fastest and segment.duration_s:  # its own rate is one that no reading follows
                before = walk.profile.segments[: walk.segment + number]
                from_c = next((each.to_c for each in reversed(before) if isinstance(each, Ramp)), ROOM_C)
                rate = (segment.to_c - from_c) / segment.duration_s
            elif number:
                rate = _rate(segment, at_c)
            slow_k = (
                max(0.0, min(segment.to_c, GENTLE_BELOW_C) - at_c) if walk.gentle and rate > GENTLE_C_PER_S else 0.0
            )
            at_s += slow_k / GENTLE_C_PER_S + (abs(segment.to_c - at_c) - slow_k) / rate
            at_c = segment.to_c
        else:
            at_s += max(0.0, segment.duration_s - (0.0 if number else walk.in_segment_s))
        points.append((at_s, at_c))
    return points


def ahead_to(walk: Walk, target_c: float) -> list[tuple[float, float]]:
    """The plan from now on, as `ahead` gives it, up to where it first comes to target_c; empty: it is there."""
    found = []
    for at_s, at_c in ahead(walk):
        found.append((at_s, at_c))
        if at_c >= target_c:
            break
    return found if len(found) > 1 else []


def _along_ramp(walk: Walk, segment: Ramp, dt_s: float, reading_c: float, ceiling_c: float) -> None:
    rising = segment.to_c >= walk.setpoint_c
    if rising and reading_c < walk.setpoint_c - FALLING_BEHIND_K:
        walk.waits_for = "the reading"
        return
    if not rising and reading_c > walk.setpoint_c + FALLING_BEHIND_K:
        walk.waits_for = "the reading"
        return
    if rising and walk.setpoint_c >= ceiling_c and segment.to_c > ceiling_c:
        walk.setpoint_c = ceiling_c
        walk.waits_for = "the limit"
        return
    _move(walk, min(segment.to_c, ceiling_c), dt_s)
    if walk.setpoint_c == segment.to_c:
        _next(walk)


def _along_hold(
    walk: Walk, segment: Hold, dt_s: float, reading_c: float, ceiling_c: float, *, for_metal: bool, dry: bool
) -> None:
    level_c = walk.target_c
    _move(walk, min(level_c, ceiling_c), dt_s)
    if walk.setpoint_c < level_c:
        walk.waits_for = "the limit" if level_c > ceiling_c else "the way back up"
        return
    if for_metal:
        walk.waits_for = "the metal"
        return
    if segment.wait_within_c is not None and abs(reading_c - level_c) > segment.wait_within_c and not walk.in_segment_s:
        walk.waits_for = "the reading"
        return
    walk.in_segment_s += dt_s
    if walk.in_segment_s < segment.duration_s:
        return
    if segment.until_dry and not dry:
        walk.waits_for = "the lining to dry"
        return
    if segment.until_word and not walk.word_given:
        walk.waits_for = "your word"
        return
    _next(walk)


def _move(walk: Walk, to_c: float, dt_s: float) -> None:
    if to_c > walk.setpoint_c:
        walk.setpoint_c = min(to_c, walk.setpoint_c + walk.climbs_c_per_s * dt_s)
    else:
        walk.setpoint_c = max(to_c, walk.setpoint_c - walk.rate_c_per_s * dt_s)


def _next(walk: Walk) -> None:
    walk.segment += 1
    walk.in_segment_s = 0.0
    walk.word_given = False
    if not walk.done:
        _enter(walk)


def _enter(walk: Walk) -> None:
    segment = walk.profile.segments[walk.segment]
    if isinstance(segment, Ramp):
        walk.rate_c_per_s = _rate(segment, walk.setpoint_c)


def _rate(segment: Ramp, from_c: float) -> float:
    if segment.rate_c_per_h is not None:
        return segment.rate_c_per_h / 3600.0
    assert segment.duration_s is not None
    return max(abs(segment.to_c - from_c) / segment.duration_s, 1e-6)
