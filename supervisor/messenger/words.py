"""The words of every message: what happened, whether heat is off, the one thing to do, which furnace, when.

Whether heat is off is the supervisor's own sentence, or it is not known. Nothing secret is in any of them.
"""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from supervisor.messenger.decide import Heard, Last, Outage

Words = tuple[str, str]
"""Title and body."""

CAUTION = "A message may not arrive, or arrive late: look at the page or at the furnace for what is so now."


def furnace(snapshot: Mapping[str, Any]) -> str:
    """Which furnace it is about."""
    title = str(snapshot["furnace"]["title"])
    return f"SIMULATED {title}" if snapshot["furnace"]["backend"] == "simulated" else title


def firing(snapshot: Mapping[str, Any]) -> str:
    """Which firing is on, in a word; empty: none."""
    found = snapshot["firing"]
    if found is None or found.get("ended_as") is not None:
        return ""
    return str(snapshot["heat_number"] or found.get("name") or "")


def hour(utc_ms: float) -> str:
    """By this machine's local time."""
    return datetime.fromtimestamp(utc_ms / 1000.0, UTC).astimezone().strftime("%H:%M:%S")


def day(utc_ms: float) -> str:
    """By this machine's local time."""
    return datetime.fromtimestamp(utc_ms / 1000.0, UTC).astimezone().strftime("%Y-%m-%d %H:%M")


def alarm(snapshot: Mapping[str, Any], alarm: Mapping[str, Any]) -> Words:
    """An alarm: its cause, heat, its act."""
    since_ms = snapshot["utc_ms"] - (snapshot["monotonic_s"] - alarm["since_s"]) * 1000.0
    lines = [alarm["sentence"], snapshot["heat"]["sentence"], alarm["act"], _about(snapshot, since_ms)]
    return f"{furnace(snapshot)}: {alarm['sentence']}", _body(lines)


def attendance(snapshot: Mapping[str, Any], attendance: Mapping[str, Any]) -> Words:
    """A sign is overdue."""
    what = attendance.get("sentence") or "Nobody has given a sign at the furnace, and one is overdue."
    act = attendance.get("act") or "Go to the furnace and press its button."
    return f"{furnace(snapshot)}: {what}", _body([what, snapshot["heat"]["sentence"], act, _about(snapshot)])


def ready(snapshot: Mapping[str, Any]) -> Words:
    """The metal is likely fit to pour: news, never an order."""
    what = f"{firing(snapshot) or 'The metal'} is likely ready."
    act = "Take heat off first, then look and dip, then decide. The page says whether this still holds."
    return f"{furnace(snapshot)}: {what}", _body([what, snapshot["heat"]["sentence"], act, _about(snapshot)])


def done(snapshot: Mapping[str, Any]) -> Words:
    """The profile is done."""
    what = f"The firing {snapshot['heat_number'] or snapshot['firing'].get('name') or ''}".strip() + " is done."
    act = "The furnace is still hot: treat it so until you have looked."
    return f"{furnace(snapshot)}: {what}", _body([what, snapshot["heat"]["sentence"], act, _about(snapshot)])


def silent(last: "Last", outage: "Outage", heard: "Heard") -> Words:
    """The supervisor says nothing over a furnace that was hot when it last spoke."""
    what = f"The supervisor has been silent since {hour(last.utc_ms)}."
    chamber = "chamber not known" if last.chamber_c is None else f"chamber {last.chamber_c:.0f} °C"
    known = f"Last known: {chamber}, {last.state}{f', {last.firing}' if last.firing else ''}."
    heat = "Whether heat is off is not known. The contactor should have opened by itself: look that it did."
    act = "Go and look from a distance. If the contactor is in, switch off at the breaker."
    count = f"It was started again {_times(outage.restarts)} and does not stay up." if outage.restarts else ""
    return f"{last.furnace}: the supervisor is silent", _body(
        [what, count, known, heat, act, f"{last.furnace}. Sent {hour(heard.utc_ms)}."]
    )


def restarted(snapshot: Mapping[str, Any], outage: "Outage", heard: "Heard", *, again: bool) -> Words:
    """The supervisor failed over a hot furnace and is back, for now."""
    goes_on = "goes on failing: it" if again else "failed and"
    since = hour(outage.since_utc_ms)
    what = f"The supervisor {goes_on} was started again {_times(outage.restarts)} since {since}."
    if outage.rebooted:
        heard_at = hour(outage.heard_utc_ms)
        what = f"The furnace's computer was started anew; its supply may have failed. Last heard at {heard_at}."
    act = "It does not heat again by itself. Go and look at the furnace."
    return f"{furnace(snapshot)}: the supervisor failed", _body(
        [what, snapshot["heat"]["sentence"], *_left(snapshot), act, _about(snapshot)]
    )


def back(snapshot: Mapping[str, Any], outage: "Outage") -> Words:
    """The supervisor stays up again."""
    times = f", after it was started again {_times(outage.restarts)}" if outage.restarts else ""
    what = f"The supervisor answers again{times}. It was away since {hour(outage.since_utc_ms)}."
    return f"{furnace(snapshot)}: the supervisor answers again", _body(
        [what, snapshot["heat"]["sentence"], *_left(snapshot), _about(snapshot)]
    )


def test(snapshot: Mapping[str, Any], code: str) -> Words:
    """A test message, with the code that its receiver reads back."""
    what = f"This is a test. Read this code back to whoever sent it: {code}"
    how = f"On the page: Settings. At the console: meltkeeper contacts confirm {code}"
    return f"{furnace(snapshot)}: test message", _body([what, how, _about(snapshot)])


def _left(snapshot: Mapping[str, Any]) -> list[str]:
    """What the run before has left, and what its metal may be doing."""
    aftermath = snapshot["aftermath"]
    metal = "" if aftermath is None else str(aftermath["metal"]["sentence"])
    return [str(snapshot["left_open"] or ""), metal]


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


def _about(snapshot: Mapping[str, Any], since_ms: float | None = None) -> str:
    at = "" if since_ms is None else f" Since {hour(since_ms)}."
    on = firing(snapshot)
    return f"{furnace(snapshot)}{f', {on}' if on else ''}.{at} Sent {hour(snapshot['utc_ms'])}."


def _body(lines: list[str]) -> str:
    return "\n".join([*[line for line in lines if line], CAUTION])
