"""Rows of the fault table: people, the computer, its log, its clock, and the way to it."""

from supervisor.watches.finding import ADVISE, HOLD_WITHOUT_HEAT
from supervisor.watches.row import Injected, Row

_REFUSED = "it is refused where it is asked for, so that there is nothing to watch"
_PROCESSES = "the process that would have to notice is the one that is gone"

ROWS = {
    "nobody_there": Row(
        "Nobody answers while metal may be liquid",
        (Injected("", None, "go away"),),
        frozenset({"sign-due", "sign-missed", "nobody-there"}),
        ADVISE,
        {"": 3600.0},
        when=("arrest", "hold"),
    ),
    "button_stuck": Row(
        "Reset button stuck, taped or shorted",
        (Injected("button_stuck"),),
        frozenset({"button-stuck"}),
        HOLD_WITHOUT_HEAT,
        {"": 12.0},
    ),
    "box_hot": Row(
        "Electronics box hot",
        why_not="no probe for it is part of the wiring; the sensor board's own temperature stands in for it",
        instead="see the electronics box too warm",
    ),
    "loop_stalled": Row(
        "Supervisor stalls",
        watches=frozenset({"loop-late"}),
        why_not=_PROCESSES,
        instead="the heat permit needs an edge each second, and the contactor opens without it",
    ),
    "supervisor_killed": Row(
        "Supervisor killed or crashed",
        why_not=_PROCESSES,
        instead="the heat permit needs an edge each second, and the contactor opens without it",
    ),
    "supply_weak": Row(
        "Computer's own supply sags",
        (Injected("supply_weak"),),
        frozenset({"supply-weak"}),
        HOLD_WITHOUT_HEAT,
        {"": 20.0},
    ),
    "processor_hot": Row(
        "Computer too hot or slowed down",
        (Injected("processor_hot"),),
        frozenset({"processor-hot"}),
        ADVISE,
        {"": 70.0},
    ),
    "disk_full": Row(
        "Disk full",
        watches=frozenset({"log-behind", "log-space-low"}),
        why_not="it is the disk's answer, not the furnace's",
        instead="no start without room for the firing",
    ),
    "disk_broken": Row(
        "Log cannot be written",
        watches=frozenset({"log-behind", "log-lost"}),
        why_not="it is the disk's answer, not the furnace's",
        instead="what adds heat waits for the log, and without it heat ends",
    ),
    "settings_damaged": Row(
        "Log or settings damaged",
        why_not=_REFUSED,
        instead="files are checked before anything runs, and no firing starts on damaged ones",
    ),
    "clock_jumps": Row(
        "Clock jumps",
        why_not="nothing that controls uses it: time in a firing is counted from the start of the computer",
        instead="nothing is needed; the log says that it jumped",
    ),
    "clock_untrusted": Row(
        "Date not known",
        (Injected("clock_untrusted"),),
        frozenset({"clock-untrusted"}),
        ADVISE,
        {"": 70.0},
    ),
    "phone_lost": Row(
        "Network or phone lost",
        watches=frozenset({"signs-lost"}),
        why_not="the furnace does not need them; the page says that it is not live",
        instead="lamp and sounder at the furnace, and signs that are asked for there",
    ),
    "messages_lost": Row(
        "Messages to people outside do not arrive",
        watches=frozenset({"messages-fail"}),
        why_not="a drill has nobody outside to tell",
        instead="a test message that its receiver confirms, before anybody may be away",
    ),
    "two_commands": Row(
        "Two people command at once",
        why_not=_REFUSED,
        instead="a command that adds heat names what its sender saw, and is refused when that has changed",
    ),
    "profile_impossible": Row(
        "Profile that this furnace cannot or must not follow",
        why_not=_REFUSED,
        instead="checked against the furnace before it is accepted",
    ),
    "power_back": Row(
        "Power comes back in the middle of a melt",
        why_not="the supervisor begins again stopped, and says what was interrupted",
        instead="the firing is over; the page says how long it was dark and what the metal may be",
    ),
    "changed_while_hot": Row(
        "Settings or program changed during a firing",
        why_not=_REFUSED,
        instead="settings change while stopped only",
    ),
    "command_forged": Row(
        "Command from somebody who may not give it",
        why_not=_REFUSED,
        instead="pairing, and a press at the furnace for whatever adds heat",
    ),
    "simulation_mistaken": Row(
        "Simulated furnace taken for the real one",
        why_not=_REFUSED,
        instead="every screen and record names it, and no directory of the other kind is opened",
    ),
}
