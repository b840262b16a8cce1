"""Profiles written as TOML: the other half of the round trip, and a short one."""

import json

from supervisor.firing.profile import Hold, Profile, Ramp

WARM = """
name = "Warm a mould"
top_c = 80
longest_h = 1

[[segment]]
ramp_to_c = 80
rate_c_per_h = 900

[[segment]]
hold_min = 1
"""
"""A firing that is soon over."""


def profile_to_toml(profile: Profile) -> str:
    """Write the TOML that reads back as this profile: exact for times of up to 12 significant digits."""
    lines = [f"name = {_text(profile.name)}", f"top_c = {_number(profile.top_c)}"]
    if profile.pour_c is not None:
        lines.append(f"pour_c = {_number(profile.pour_c)}")
    lines.append(f"longest_h = {_number(profile.longest_s / 3600.0)}")
    if profile.charge is not None:
        charge = profile.charge
        lines += ["", "[charge]", f"mass_kg = {_number(charge.mass_kg)}"]
        lines += [f"alloy = {_text(charge.alloy)}", f"form = {_text(charge.form)}"]
    for segment in profile.segments:
        lines += ["", "[[segment]]", *_segment_lines(segment)]
    return "\n".join(lines) + "\n"


def _segment_lines(segment: Ramp | Hold) -> list[str]:
    if isinstance(segment, Ramp):
        if segment.rate_c_per_h is not None:
            return [f"ramp_to_c = {_number(segment.to_c)}", f"rate_c_per_h = {_number(segment.rate_c_per_h)}"]
        return [f"ramp_to_c = {_number(segment.to_c)}", f"over_min = {_number((segment.duration_s or 0.0) / 60.0)}"]
    lines = [f"hold_min = {_number(segment.duration_s / 60.0)}"]
    if segment.wait_within_c is not None:
        lines.append(f"wait_within_c = {_number(segment.wait_within_c)}")
    if segment.until_word:
        lines.append('until = "word"')
    return lines


def _number(value: float) -> str:
    # Seconds came from minutes or hours; twelve digits bring back the number that was written, remainders or not.
    value = float(f"{value:.12g}")
    return str(int(value)) if value.is_integer() else repr(value)


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
