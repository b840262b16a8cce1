"""One condition of a start; and those that need no more than themselves to be judged."""

from typing import NamedTuple

from supervisor.firing.firing import Firing

DAY_BEGINS_MIN, DAY_ENDS_MIN = 6 * 60, 22 * 60
"""Minutes of the day between which a lining is dried (our choice)."""
ROOM_MB = 200
"""Free room for the log that a start asks for, MB (our choice): hundreds of hours of a firing."""


class Permissive(NamedTuple):
    """One condition of a start."""

    name: str
    met: bool
    reason: str
    mend: str


def not_leaking(firing: Firing) -> Permissive:
    """The earth-leakage device has not tripped, or the dead circuit's insulation was measured since."""
    note = firing.unlocking.leaked
    if not note:
        return Permissive("earth leakage", True, "No trip of the earth-leakage device is on record without a test.", "")
    mend = (
        "Leave the device off. Plug out or isolated, locked off, proved dead: a licensed person measures insulation to"
        " earth, and says so: meltkeeper check insulation."
    )
    return Permissive("earth leakage", False, f"The earth-leakage device has tripped: {note}", mend)


def reckoned(firing: Firing) -> tuple[Permissive, ...]:
    """What the start reads back is there: on a small computer it takes some seconds."""
    if firing.prepared is None or firing.prepared_allowance_wh is not None:
        return ()
    said = "What this melt takes, and what it is allowed, is still being reckoned."
    return (Permissive("allowance known", False, said, "Wait a few seconds."),)


def room_for_the_log(free_mb: float | None) -> Permissive:
    """No firing is begun that might end for want of room. free_mb: where the log is kept; None: it does not say."""
    if free_mb is None or free_mb >= ROOM_MB:
        return Permissive("room for the log", True, "There is room for the log.", "")
    reason = f"{int(free_mb)} MB are free where the log is kept; a start asks for {ROOM_MB}."
    return Permissive("room for the log", False, reason, "Make room there, or change the card.")


def before_the_night(firing: Firing) -> tuple[Permissive, ...]:
    """A dry-out is attended from its start to its end, and nobody attends asleep."""
    unlocking, prepared = firing.unlocking, firing.prepared
    if prepared is None or not prepared.profile.dries or not unlocking.counted:
        return ()
    minute = unlocking.local_minute
    if minute is None:
        mend = "Set the computer's clock: by the network, or by hand."
        return (Permissive("over before the night", False, "The clock is not to be trusted.", mend),)
    ends = minute + prepared.profile.longest_s / 60.0
    met = minute >= DAY_BEGINS_MIN and ends <= DAY_ENDS_MIN
    hours = prepared.profile.longest_s / 3600.0
    return (
        Permissive(
            "over before the night",
            met,
            "This stretch is over before the night."
            if met
            else f"This stretch may take {hours:g} h, and none goes on between 22:00 and 6:00.",
            "" if met else "Ask for a shorter stretch, or begin it in the morning: the next one goes on from there.",
        ),
    )
