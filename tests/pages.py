"""The pages of docs/ that are written from the code: `python -m tests.pages` writes them, a test compares them."""

from pathlib import Path
from textwrap import fill

import click

from supervisor.alarms.cautions import MOMENTS, all_cautions
from supervisor.alarms.texts import TEXTS
from supervisor.cli import main
from supervisor.rehearsal.drill.cases import TARGETS
from supervisor.rehearsal.drill.words import BY
from supervisor.watches.finding import Reaction, Then
from supervisor.watches.row import Row
from supervisor.watches.rows import FAMILIES
from tests.benchmarks.drill_page import page as drill_page
from tests.pages_alarms import alarms_page
from tests.pages_faults import fault_finder_page

WIDTH = 120

CAUTIONS_HEAD = """\
# Cautions

Melting metal can kill and burn houses down. meltkeeper is software: it can be wrong, it can stop, and it is not the
safety device. An over-temperature limiter of its own, a safety contactor, an emergency stop, a breaker with
earth-leakage protection, and you must be enough with everything in this program assumed wrong.

Local codes, the rules of the house, the insurer and licensed trades come before anything written here. The wording is
ours; where each caution comes from stands beneath it, and where there is no source it says so. What is not listed here
is not thereby harmless.

The program shows each caution at the moments named beside it. This page is written from
`supervisor/alarms/cautions.toml` by `python -m tests.pages`; a test compares the two.
"""

FAULTS_HEAD = """\
# Faults

What is known to go wrong with such a furnace, who notices it and how soon, and what cannot be noticed at all. A watch
is one continuous check; a fault that no watch can be counted on to notice has something else beside it: a procedure, a
refusal, another device. The table was written before anything was measured, so that a miss stays a miss.

`meltkeeper drill` measures it on simulated furnaces within 20 % of a description, yours or a shipped one. It makes
furnaces, learns each from three melts, and puts the faults into further melts at seeded moments: on a ramp, waiting at
the gate, while the metal melts, at a hold, and after the end while the furnace is hot. The firing itself is flown once
and stays healthy: each fault runs on in a copy of the process made at its moment. Up to 288 cases 24 share a firing and
48 a furnace; beyond, up to 96 share a firing. A seed names furnaces, firings, faults and moments, so that the same seed
and the same cases give the same report on any number of cores. Faults enter as frames, pin levels and properties of
the simulated furnace, and times are read from its pins and contacts. Then healthy firings follow, cold and warm starts,
with lids, holds, additions, masses up to 10 % wrong and a mains that wanders and steps: every alarm and every advice in
them is a false one. Rates stand with their one-sided 95 % bound.

Three in ten melts of the healthy firings start in a warm furnace. Four in five of those come after 1.5 to 3 hours at
740 °C, cooled under a shut lid to 150 to 560 °C; the fifth after three quarters of an hour at that temperature, as when
somebody stopped a firing early. The mains of a simulated furnace is off its nominal voltage by 3 % (standard
deviation), for good; each firing adds up to 2 % either way, steps of up to 2 % about every half hour, and a slow wander
of half a per cent. Half of the melts are heated as fast as the furnace can; no other ramp asks for more than nine
tenths of that.

- *Missed*: no finding that asks at least what the row asks within the row's time. Seconds run from the fault; where
  the table says so, from the first moment after it at which less than 0.7 of full power was ordered, or from the first
  heat.
- *First to speak is right*: the first watch to speak is one of the row's.
- *The reading is not held against the model* in the first minutes, while the lid is open and some minutes after, and
  after cold metal has gone in. The report prints the share of the heated time in which that is so.

The figures of the last run are in [drill.md](drill.md). All of them are simulated: a real furnace has faults that
nobody has thought of, and the limiter, the contactor, the emergency stop and you must be enough with everything in this
program assumed wrong.

`--json` prints one object. For each name under `faults`: `cases`, `missed`, `limit_s`, `counted_from`, `noticed_by`
(watch to count), `noticed_s`, `relay_low_s`, `contactor_open_s` (each `median`, `p90`, `worst`, on the row's clock;
null: never while it was watched), `noticed_from_fault_s`, `contactor_open_from_fault_s`,
`contactor_open_from_relay_off_s`, `relay_low_from_550_c_s` (cases that came at 550 °C or more), `reading_rise_k`,
`hot_face_over_target_worst_k`, `metal_over_target_worst_k` (both the plant's truth), `metal_over_by_fault_worst_k`
and `_median_k` (what it was over before left out), `first_cause_right`, `alarms_in_10_min`.
Under `healthy`: `hours`, `firings`,
`false_trips`, `false_holds` (holds and stops), `false_any`, each with `_per_1000h` and `_per_1000h_bound`,
`alarms_per_clean_melt_median`, `suppressed_share`, `by_watch`, `alarms`. Under
`undisturbed` the same of the firings that faults were put into copies of, in which nobody opens a lid.
Beside them `cases`, `cases_detectable`, `missed`, `misses`, `first_cause_right`, `wrong_first_causes`,
`alarms_in_10_min_worst`, `cases_with_more_than_3_alarms`, `not_noticeable`, `simulated`.

This page is written from `supervisor/watches/rows.py` by `python -m tests.pages`; a test compares the two.
"""

COMMANDS_HEAD = """\
# Commands

What `meltkeeper COMMAND --help` says, command by command. This page is written from the program by
`python -m tests.pages`; a test compares the two.
"""


def cautions_page() -> str:
    """The text of docs/cautions.md."""
    parts = [CAUTIONS_HEAD]
    for caution in all_cautions():
        shown = ", ".join(MOMENTS[moment] for moment in caution.when)
        basis = fill(f"Shown {shown}. Basis: {caution.basis}", width=WIDTH)
        parts.append(f"## {caution.title}\n\n{fill(caution.say, width=WIDTH)}\n\n{basis}\n")
    return "\n".join(parts)


def commands(command: click.Command, path: tuple[str, ...]) -> list[tuple[str, click.Command]]:
    """Every command with the words that call it, groups before what they hold."""
    found = [(" ".join(path), command)]
    if isinstance(command, click.Group):
        context = click.Context(command, **main.context_settings)
        for name in command.list_commands(context):
            inner = command.get_command(context, name)
            assert inner is not None, name
            found += commands(inner, (*path, name))
    return found


def commands_page() -> str:
    """The text of docs/commands.md."""
    parts = [COMMANDS_HEAD]
    for words, command in commands(main, ("meltkeeper",)):
        context = click.Context(command, info_name=words, terminal_width=100, **main.context_settings)
        parts.append(f"## {words}\n\n```text\n{command.get_help(context)}\n```\n")
    return "\n".join(parts)


COUNTED = {"fault": "", "low duty": " of less than 0.7 ordered", "first heat": " of the first heat"}


def faults_page() -> str:
    """The text of docs/faults.md."""
    parts = [FAULTS_HEAD]
    for family, rows in FAMILIES.items():
        parts.append(f"## {family}\n")
        parts += [_fault(name, row) for name, row in rows.items()]
    return "\n".join(parts)


def _fault(name: str, row: Row) -> str:
    said = []
    if row.watches:
        noticed = "Noticed by" if row.within_s else "Sometimes noticed by"
        said.append(f"{noticed}: " + "; ".join(sorted(TEXTS[watch].title for watch in row.watches)) + ".")
    if row.within_s:
        times = [_within(part, seconds, row) for part, seconds in row.within_s.items()]
        said.append(f"Within {', '.join(times)}. At least: {_asks(row.reaction)}.")
        if row.unlearned is not None:
            times = [_within(part, seconds, row) for part, seconds in row.unlearned.items()]
            said.append(f"With nothing learned: {', '.join(times) or 'not to be counted on'}.")
    else:
        said.append("No watch can be counted on to notice it.")
    if row.why_not:
        said.append(f"{row.why_not[0].upper()}{row.why_not[1:]}.")
    if row.instead:
        said.append(f"Instead: {row.instead}.")
    labels = [label for label, target in TARGETS.items() if target.row_name == name]
    if labels:
        said.append("Drilled as " + ", ".join(f"`{label}`" for label in labels) + ".")
    words = fill(" ".join(said), width=WIDTH, break_on_hyphens=False)
    return f"### {row.title}\n\n{words}\n"


def _within(part: str, seconds: float, row: Row) -> str:
    by = f" with {BY[part]}" if part else ""
    return f"{seconds:g} s{COUNTED[row.counted]}{by}"


def _asks(reaction: Reaction) -> str:
    """A reaction in words."""
    if reaction.then is Then.ABORT:
        return "a trip" + (", and to keep away" if reaction.keep_away else "")
    if reaction.then is Then.STOP:
        return "a controlled stop"
    if reaction.then is Then.HOLD:
        words = "a hold" if reaction.duty_ceiling else "a hold without heat"
        return words + (", the contactor open" if reaction.drop_contactor else "")
    return "an advice"


PAGES = {
    "docs/drill.md": drill_page,
    "docs/alarms.md": alarms_page,
    "docs/faults.md": faults_page,
    "docs/cautions.md": cautions_page,
    "docs/fault_finder.md": fault_finder_page,
    "docs/commands.md": commands_page,
}

if __name__ == "__main__":
    for name, text in PAGES.items():
        Path(name).write_text(text(), encoding="utf-8")
