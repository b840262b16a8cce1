"""What `check` shows: which pin is what and what it reads now; and how far the furnace is unlocked."""

from typing import Any

import click

from hardware.ports import Inputs, Level, Reading, Sample
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.stages import CAPS, DAY_MS, Reached, Standing

OUTPUTS = {
    "relay": "solid-state relay",
    "enable": "enable relay",
    "permit": "heat permit",
    "lamp": "lamp",
    "sounder": "sounder",
}
INPUTS = {
    "emergency_stop": ("emergency stop", "released", "pressed, or no 24 V"),
    "limiter": ("limiter", "healthy", "tripped, or open before it"),
    "key": ("key", "on", "off"),
    "chain": ("chain up to the button", "made", "open: so it is at rest"),
    "permit_relay_1": ("permit relay 1", "in", "open: so it is at rest"),
    "permit_relay_2": ("permit relay 2", "in", "open: so it is at rest"),
    "mirror": ("contactor's mirror", "contactor proved open", "not proved open"),
    "lid": ("lid", "shut", "open"),
    "reset_button": ("button", "pressed", "released"),
    "load_current": ("current", "flows", "none"),
    "mains": ("mains", "there", "not there"),
    "tray_probe": ("tray probe", "conducts", "dry"),
}
"""What each line is called, and what it means when its input is made and when it is open."""


def lines(furnace: FurnaceDescription, levels: dict[str, str]) -> list[dict[str, Any]]:
    """Every pin with its name and, for an input, its level now and what that means."""
    wiring = furnace.wiring
    found: list[dict[str, Any]] = [
        {"line": line, "pin": getattr(wiring, line), "name": name, "level": None, "means": "output"}
        for line, name in OUTPUTS.items()
    ]
    for line, (name, made, open_) in INPUTS.items():
        level = levels.get(line, Level.NOT_FITTED.value)
        means = {Level.CLOSED.value: made, Level.OPEN.value: open_}.get(level, "not fitted")
        found.append({"line": line, "pin": getattr(wiring, line), "name": name, "level": level, "means": means})
    if wiring.energy_pulse is not None:
        found.append(
            {
                "line": "energy_pulse",
                "pin": wiring.energy_pulse,
                "name": "energy meter",
                "level": None,
                "means": "pulses",
            }
        )
    return found


def levels_of(sample: Sample) -> dict[str, str]:
    """The input levels of a sample by name."""
    return {line: level.value for line, level in zip(Inputs._fields, sample.inputs, strict=True)}


def sensors_of(sample: Sample) -> list[str]:
    """What each thermocouple says."""
    return [
        f"{each.hot_junction_c:.1f} °C, its board {each.cold_junction_c:.1f} °C"
        if isinstance(each, Reading)
        else f"no reading: {each.reason}"
        for each in sample.sensors
    ]


def print_lines(furnace: FurnaceDescription, levels: dict[str, str], sensors: list[str]) -> None:
    """One line for each pin, narrow enough for a phone."""
    for each in lines(furnace, levels):
        pin = "–" if each["pin"] is None else f"BCM {each['pin']}"
        click.echo(f"{pin:<7}{each['name']:<24}{each['means']}")
    for number, sensor in enumerate(sensors):
        click.echo(f"{'CE ' + str(furnace.wiring.sensors[number]):<7}{'thermocouple':<24}{sensor}")


def print_stage(furnace: FurnaceDescription, now: Reached) -> None:
    """Where the furnace stands, and every proof: what holds, by whom, and what does not."""
    click.echo(f"{furnace.title}: stage {now.stage} of 3: {CAPS[now.stage].words}.")
    for each in (one for one in now.standing if one.asked):
        click.echo(f"{'proved ' if each.holds else 'missing'}  {each.name}: {each.kind.title}")
        click.echo(f"         {words(each)}")
    following = now.next
    if following is not None:
        click.echo(f"Next: {way(following)}")


def words(each: Standing) -> str:
    """How one proof stands, in a sentence."""
    if not each.holds:
        return each.why
    last = each.last
    assert last is not None  # it holds
    how = "Witnessed" if last.witnessed else f"Stated by {last.who}"
    due = "" if each.due_in_days is None else f" Due in {each.due_in_days:.0f} days."
    if each.due_in_days is not None and each.due_in_days <= 0:
        due = " Due now."
    return f"{how}: {last.evidence}.{due}"


def way(each: Standing) -> str:
    """The exact thing to do for a proof."""
    if each.kind.opens == 1:
        return f"{each.kind.title}. Run: meltkeeper check {each.name}"
    where = "a trial of up to 200 °C" if each.kind.opens == 2 else "a firing without metal"
    return f"{each.kind.title}, by {where}. {each.kind.how}"


def as_object(furnace: FurnaceDescription, now: Reached, today_ms: int) -> dict[str, Any]:
    """Stage and proofs for `--json`."""
    return {
        "furnace": furnace.name,
        "stage": int(now.stage),
        "allows": CAPS[now.stage].words,
        "next": None if now.next is None else now.next.name,
        "proofs": [
            {
                "name": each.name,
                "title": each.kind.title,
                "opens_stage": each.kind.opens,
                "holds": each.holds,
                "why": each.why,
                "witnessed": None if each.last is None else each.last.witnessed,
                "who": None if each.last is None else each.last.who,
                "utc_ms": None if each.last is None else each.last.utc_ms,
                "age_days": None if each.last is None else round((today_ms - each.last.utc_ms) / DAY_MS, 1),
                "due_in_days": None if each.due_in_days is None else round(each.due_in_days, 1),
                "evidence": None if each.last is None else each.last.evidence,
                "shows_not": each.kind.shows_not,
                "how": each.kind.how,
            }
            for each in now.standing
            if each.asked
        ],
    }
