"""A profile as the supervisor reads it, for the page that edits one. Nothing is prepared.

The pages know no furnace and judge no profile: they ask, and what cannot be comes back as the file's own refusal.
"""

from collections.abc import Mapping
from typing import Any

from supervisor.firing.profile import Hold, Profile, Ramp, segment_sentence
from supervisor.furnace.reckoning import legs


def judged(profile: Profile) -> dict[str, Any]:
    """What was understood of a profile that this furnace can do. Legs: as planned, nothing waited for."""
    course = legs(profile.segments)
    return {
        "name": profile.name,
        "top_c": profile.top_c,
        "pour_c": profile.pour_c,
        "longest_s": profile.longest_s,
        "sentences": [segment_sentence(each) for each in profile.segments],
        "legs": [{"from_c": leg.from_c, "to_c": leg.to_c, "duration_s": leg.duration_s} for leg in course],
    }


def sentence(fields: Mapping[str, Any]) -> str:
    """One segment in plain words, from the fields of its table in the file. They must be numbers where they are any."""
    if (to_c := fields.get("ramp_to_c")) is not None:
        over_min = fields.get("over_min")
        duration_s = None if over_min is None else 60.0 * over_min
        return segment_sentence(Ramp(to_c, fields.get("rate_c_per_h"), duration_s, bool(fields.get("fastest"))))
    until = fields.get("until")
    return segment_sentence(
        Hold(60.0 * (fields.get("hold_min") or 0.0), fields.get("wait_within_c"), until == "word", until == "dry")
    )
