"""The profile file: TOML that says what a firing should do, checked against the furnace that is to do it."""

from math import ceil, floor
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from supervisor.firing.profile import Hold, Profile, Ramp, top_hold_c
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.reckoning import ROOM_C, fastest_ramp_c_per_h, legs, nominal_duration_s
from supervisor.metal import alloys
from supervisor.metal.charge import Charge
from supervisor.metal.enthalpy import MELTING_C
from supervisor.refusal import InputRefused, refusal
from supervisor.toml_input import Fields, Line, checked, line, read_text

COOLEST_C = 40.0
"""A ramp goes no lower: a warm room would keep the reading from ever getting there."""

LONGEST_H = 12.0
"""No firing lasts longer."""

LONGEST_DRYING_H = 10.0
"""Nor a stretch of a dry-out, which somebody attends throughout (our choice)."""

POUR_BELOW_TOP_K = 20.0
"""The coldest metal is fit to pour this far below the highest hold, if the profile does not say otherwise."""


class ChargeFields(Fields):
    """The metal that the profile is meant for."""

    mass_kg: Annotated[float, Field(description="a number above 0 kg, up to what the crucible holds")]
    alloy: Annotated[str, Field(description="a name of the alloy table, or unknown")]
    form: Annotated[str, line(40)]


class SegmentFields(Fields):
    """One ramp or one hold."""

    ramp_to_c: Annotated[float | None, Field(description=f"a number of °C, {COOLEST_C:g} to top_c")] = None
    rate_c_per_h: Annotated[
        float | None, Field(description="a number above 0 °C/h, up to what the furnace can follow")
    ] = None
    over_min: Annotated[float | None, Field(description="a number above 0 min, at most 720 min")] = None
    fastest: Annotated[Literal[True] | None, Field(description="true, or left out")] = None
    hold_min: Annotated[float | None, Field(description="a number from 0 to 720 min")] = None
    wait_within_c: Annotated[float | None, Field(description="a number from 1 to 50 °C")] = None
    until: Annotated[
        Literal["word", "dry"] | None,
        Field(description='"word", for a person who says go on, or "dry", for a lining whose need of power says so'),
    ] = None


class ProfileFields(Fields):
    """A whole profile file."""

    name: Line
    top_c: Annotated[float, Field(description="a number of °C, up to the furnace's top")]
    pour_c: Annotated[float | None, Field(description="a number of °C, from the liquidus to the highest ramp")] = None
    longest_h: Annotated[float | None, Field(description=f"a number above 0 h, at most {LONGEST_H:g} h")] = None
    drying_limit_c_per_h: Annotated[
        float | None, Field(description="a number above 0 °C/h: no ramp up of a dry-out may be faster")
    ] = None
    charge: ChargeFields | None = None
    segment: Annotated[list[SegmentFields], Field(description="[[segment]] tables, one for each ramp or hold")]


def read_profile(path: str | Path, furnace: FurnaceDescription) -> Profile:
    """Read a profile file and check that this furnace can do it.

    Raises:
        InputRefused: the file cannot be read, or asks for what is not allowed or cannot be.
    """
    return profile_from_text(read_text(Path(path)), str(path), furnace)


def profile_from_text(text: str, source_name: str, furnace: FurnaceDescription) -> Profile:
    """Make a profile from TOML text. source_name: what a refusal calls the text, usually its file.

    Raises:
        InputRefused: the text asks for what is not allowed or cannot be; one sentence with file, field, value and what
            is allowed.
    """
    fields = checked(ProfileFields, text, source_name)
    _check_top(fields, source_name, furnace)
    charge = None if fields.charge is None else _charge(fields.charge, source_name, furnace)
    if not fields.segment:
        raise InputRefused(f"{source_name}: segment is empty; allowed: [[segment]] tables, one for each ramp or hold")
    planned = tuple(_segment(n, segment, fields, source_name) for n, segment in enumerate(fields.segment, start=1))
    if charge is None and any(isinstance(segment, Ramp) and segment.fastest for segment in planned):
        allowed = "only with a [charge]; what is dried or warmed without metal must not be hurried"
        raise refusal(source_name, "fastest", True, allowed)
    _check_drying(planned, fields, source_name)
    segments = _timed(planned, source_name, furnace)
    if isinstance(segments[0], Hold):
        raise refusal(source_name, "segment[1].hold_min", fields.segment[0].hold_min, "a ramp before the first hold")
    _check_ramps(segments, source_name, furnace)
    profile = Profile(fields.name, segments, fields.top_c, None, 0.0, charge, text, fields.drying_limit_c_per_h)
    return Profile(
        name=fields.name,
        segments=segments,
        top_c=fields.top_c,
        pour_c=_pour_c(fields, profile, source_name),
        longest_s=_longest_s(fields, profile, source_name),
        charge=charge,
        source=text,
        drying_c_per_h=fields.drying_limit_c_per_h,
    )


def _check_top(fields: ProfileFields, source: str, furnace: FurnaceDescription) -> None:
    if not COOLEST_C <= fields.top_c <= furnace.top_c:
        allowed = f"{COOLEST_C:g} to {furnace.top_c:g} °C on {furnace.title}"
        raise refusal(source, "top_c", fields.top_c, allowed)


def _charge(fields: ChargeFields, source: str, furnace: FurnaceDescription) -> Charge:
    capacity_kg = furnace.crucible.capacity_kg
    if not 0.0 < fields.mass_kg <= capacity_kg:
        allowed = f"above 0 kg, up to {capacity_kg:g} kg, what the crucible of {furnace.title} holds"
        raise refusal(source, "charge.mass_kg", fields.mass_kg, allowed)
    try:
        return alloys.charge(fields.mass_kg, fields.alloy, fields.form)
    except InputRefused as error:
        raise refusal(source, "charge.alloy", fields.alloy, alloys.names()) from error


def _segment(number: int, fields: SegmentFields, profile: ProfileFields, source: str) -> Ramp | Hold:
    at = f"segment[{number}]"
    if (fields.ramp_to_c is None) == (fields.hold_min is None):
        which = "neither ramp_to_c nor hold_min" if fields.hold_min is None else "both ramp_to_c and hold_min"
        raise InputRefused(f"{source}: {at} has {which}; allowed: exactly one of the two")
    if fields.ramp_to_c is not None:
        return _ramp(at, fields, fields.ramp_to_c, profile.top_c, source)
    assert fields.hold_min is not None
    return _hold(at, fields, fields.hold_min, source)


def _ramp(at: str, fields: SegmentFields, to_c: float, top_c: float, source: str) -> Ramp:
    for name in ("wait_within_c", "until"):
        value = getattr(fields, name)
        if value is not None:
            raise refusal(source, f"{at}.{name}", value, "only beside hold_min; this segment is a ramp")
    if not COOLEST_C <= to_c <= top_c:
        raise refusal(source, f"{at}.ramp_to_c", to_c, f"{COOLEST_C:g} °C to this profile's top_c, {top_c:g} °C")
    given = [name for name in ("rate_c_per_h", "over_min", "fastest") if getattr(fields, name) is not None]
    if len(given) != 1:
        which = " and ".join(given) or "neither rate_c_per_h nor over_min nor fastest"
        raise InputRefused(f"{source}: {at} is a ramp with {which}; allowed: exactly one of the three")
    if fields.fastest:
        return Ramp(to_c, None, None, fastest=True)
    if fields.rate_c_per_h is not None:
        if not fields.rate_c_per_h > 0.0:
            allowed = "above 0 °C/h; a ramp down has a lower ramp_to_c"
            raise refusal(source, f"{at}.rate_c_per_h", fields.rate_c_per_h, allowed)
        return Ramp(to_c, fields.rate_c_per_h, None)
    assert fields.over_min is not None
    if not 0.0 < fields.over_min <= 720.0:
        raise refusal(source, f"{at}.over_min", fields.over_min, "above 0 min, at most 720 min")
    return Ramp(to_c, None, fields.over_min * 60.0)


def _hold(at: str, fields: SegmentFields, hold_min: float, source: str) -> Hold:
    for name in ("rate_c_per_h", "over_min", "fastest"):
        value = getattr(fields, name)
        if value is not None:
            raise refusal(source, f"{at}.{name}", value, "only beside ramp_to_c; this segment is a hold")
    if not 0.0 <= hold_min <= 720.0:
        raise refusal(source, f"{at}.hold_min", hold_min, "0 to 720 min")
    if hold_min == 0.0 and fields.until is None:
        raise refusal(source, f"{at}.hold_min", hold_min, 'above 0 min, or 0 with until = "word"')
    if fields.wait_within_c is not None and not 1.0 <= fields.wait_within_c <= 50.0:
        raise refusal(source, f"{at}.wait_within_c", fields.wait_within_c, "1 to 50 °C")
    return Hold(hold_min * 60.0, fields.wait_within_c, fields.until == "word", fields.until == "dry")


def _check_drying(segments: tuple[Ramp | Hold, ...], fields: ProfileFields, source: str) -> None:
    """Water in a lining becomes steam: no metal, a limit to every ramp, and somebody there from start to end."""
    limit_c_per_h = fields.drying_limit_c_per_h
    if not any(isinstance(segment, Hold) and segment.until_dry for segment in segments):
        if limit_c_per_h is not None:
            raise refusal(source, "drying_limit_c_per_h", limit_c_per_h, 'only where a hold has until = "dry"')
        return
    if fields.charge is not None:
        raise refusal(source, "charge", "metal", 'nothing in a dry-out: a hold has until = "dry"')
    if limit_c_per_h is None or not limit_c_per_h > 0.0:
        allowed = 'a number above 0 °C/h: a hold has until = "dry"'
        raise refusal(source, "drying_limit_c_per_h", limit_c_per_h, allowed)
    if fields.longest_h is not None and not fields.longest_h <= LONGEST_DRYING_H:
        allowed = f"up to {LONGEST_DRYING_H:g} h in one stretch of a dry-out; the next one goes on from there"
        raise refusal(source, "longest_h", fields.longest_h, allowed)
    at_c = ROOM_C
    for number, segment in enumerate(segments, start=1):
        if isinstance(segment, Hold):
            continue
        rate_c_per_h = segment.rate_c_per_h
        if rate_c_per_h is None and segment.duration_s:
            rate_c_per_h = (segment.to_c - at_c) / segment.duration_s * 3600.0
        if segment.to_c > at_c and rate_c_per_h is not None and rate_c_per_h > limit_c_per_h + 1e-9:
            allowed = f"up to drying_limit_c_per_h, {limit_c_per_h:g} °C/h"
            raise refusal(source, f"segment[{number}].rate_c_per_h", round(rate_c_per_h, 1), allowed)
        at_c = segment.to_c


def _timed(segments: tuple[Ramp | Hold, ...], source: str, furnace: FurnaceDescription) -> tuple[Ramp | Hold, ...]:
    """Give the ramps that are to be as fast as the furnace can their rate and the time that they are reckoned to take.

    The rate is that of the empty, cold furnace at its fastest: the setpoint is never what holds the furnace back.
    """
    timed: list[Ramp | Hold] = []
    at_c = ROOM_C
    for number, segment in enumerate(segments, start=1):
        if isinstance(segment, Hold):
            timed.append(segment)
            continue
        to_c = segment.to_c
        if segment.fastest:
            if to_c <= at_c:
                allowed = "only for a ramp up; give a ramp down its rate_c_per_h or over_min"
                raise refusal(source, f"segment[{number}].fastest", True, allowed)
            even_c_per_h = fastest_ramp_c_per_h(furnace, to_c, at_c)
            if not even_c_per_h > 0.0:
                raise refusal(source, f"segment[{number}].ramp_to_c", to_c, f"what {furnace.title} can reach")
            rate_c_per_h = 3600.0 * furnace.response.fastest_rise_c_per_s
            segment = Ramp(to_c, rate_c_per_h, (to_c - at_c) / even_c_per_h * 3600.0, fastest=True)
        timed.append(segment)
        at_c = to_c
    return tuple(timed)


def _check_ramps(segments: tuple[Ramp | Hold, ...], source: str, furnace: FurnaceDescription) -> None:
    """Refuse a ramp up that the empty furnace could not follow at full power: some unit or digit is wrong."""
    for number, (segment, leg) in enumerate(zip(segments, legs(segments), strict=True), start=1):
        if isinstance(segment, Hold) or segment.fastest or leg.to_c <= leg.from_c:
            continue
        fastest_c_per_h = fastest_ramp_c_per_h(furnace, leg.to_c, leg.from_c)
        at, where = f"segment[{number}]", f"from {leg.from_c:g} to {leg.to_c:g} °C on {furnace.title}"
        if segment.rate_c_per_h is not None and segment.rate_c_per_h > fastest_c_per_h:
            allowed = f"up to {floor(fastest_c_per_h / 10.0) * 10} °C/h {where}"
            raise refusal(source, f"{at}.rate_c_per_h", segment.rate_c_per_h, allowed)
        least_s = (leg.to_c - leg.from_c) / fastest_c_per_h * 3600.0
        if segment.duration_s is not None and segment.duration_s < least_s:
            allowed = f"at least {ceil(least_s / 60.0)} min {where}"
            raise refusal(source, f"{at}.over_min", segment.duration_s / 60.0, allowed)


def _pour_c(fields: ProfileFields, profile: Profile, source: str) -> float | None:
    highest_c = top_hold_c(profile)
    if profile.charge is None:
        if fields.pour_c is not None:
            raise refusal(source, "pour_c", fields.pour_c, "nothing without a [charge]: there is no metal to pour")
        return None
    # Unknown metal is not all liquid for certain before pure aluminium is.
    liquidus_c = MELTING_C if profile.charge.liquidus_c is None else profile.charge.liquidus_c
    if fields.pour_c is None:
        pour_c = highest_c - POUR_BELOW_TOP_K
        return pour_c if pour_c >= liquidus_c else None
    if not liquidus_c <= fields.pour_c <= highest_c:
        alloy = profile.charge.alloy
        allowed = f"{liquidus_c:g} °C, where {alloy} metal is all liquid, to {highest_c:g} °C, the highest ramp"
        raise refusal(source, "pour_c", fields.pour_c, allowed)
    return fields.pour_c


def _longest_s(fields: ProfileFields, profile: Profile, source: str) -> float:
    least_h = nominal_duration_s(profile, ROOM_C) / 3600.0
    if least_h > LONGEST_H:
        raise InputRefused(f"{source}: all segments take {least_h:.1f} h; allowed: up to {LONGEST_H:g} h in one firing")
    if fields.longest_h is None:
        # Half as much again and an hour, for the waiting; in whole quarters of an hour.
        longest_h = LONGEST_DRYING_H if profile.dries else LONGEST_H
        return min(longest_h, ceil((1.5 * least_h + 1.0) * 4.0) / 4.0) * 3600.0
    if not least_h <= fields.longest_h <= LONGEST_H:
        allowed = f"{ceil(least_h * 100.0) / 100.0:g} h, what the segments take, to {LONGEST_H:g} h"
        raise refusal(source, "longest_h", fields.longest_h, allowed)
    return fields.longest_h * 3600.0
