"""docs/alarms.md: what an alarm is, and the table of all of them, written from texts and watches."""

from collections import Counter

from supervisor.alarms.rhythm import BEAT_S, BURSTS
from supervisor.alarms.text import Text
from supervisor.alarms.texts import TEXTS
from supervisor.watches import WATCHES
from supervisor.watches.finding import Leave, Reaction, Then

HEAD = """\
# Alarms

An alarm asks somebody for an act. What needs no act is a line in the log, and what is expected is a question. On a
quiet evening there is none.

Watches notice; each one is alone in its judgement and says what must follow at least. What the furnace then does is
done whatever a person does with the alarm: seeing it, silencing it and shelving it take sound and flashing away, never
a reaction. Whether heat is off is never part of an alarm's text. The page says it beside every alarm, and says *off*
only while it is proved: the contactor reads open; or, where no mirror contact is fitted, the relay is told off and a
meter or current input that has shown current in this firing has shown none for ten seconds. Else it says *off was
ordered, not proved*, and after three seconds it names the breaker.

The words and steps follow ANSI/ISA-18.2-2016 (IEC 62682:2014), management of alarm systems for the process industries,
from memory. This page is written from the texts in `supervisor/alarms` and the table of watches by
`python -m tests.pages`; a test compares them.

## States

| state | what it means | sound | on the page |
|---|---|---|---|
| normal | nothing stands | no | no |
| unacknowledged | its condition is there, and nobody has said that they saw it | by its priority | in front |
| acknowledged | its condition is there, somebody saw it | no | yes |
| was, unacknowledged | its condition is gone, and nobody saw it | two pulses, once | yes |
| latched, un- or acknowledged | a trip whose condition is gone: it waits for its reset | as above | *needs a reset* |
| shelved | a person put it aside for 30 minutes at most, with a reason | no | in a list, with the time left |
| suppressed | by design: in this state of the firing it would mean nothing | no | by the page Equipment |

There is no *out of service*: nobody can take a watch out. What is not fitted is said in the furnace file, and that is
a line of the record.

- **Acknowledged** means seen. It resets nothing, brings no heat back and is no sign that somebody is there. By page,
  command line or program it does not quiet the furnace's own sounder for a trip before two minutes are over; a press of
  the button at the furnace does, when it begins while no question stands.
- **Reset** is the button held for three seconds at the furnace, after somebody has said what was found. A trip whose
  condition is still there stays.
- **Silenced** is quiet for two minutes for what sounds just then. What comes meanwhile sounds.
- **Shelved** ends by itself, with the firing at the latest. Nothing can be shelved that trips, latches, ends a firing
  or asks for an act now. Each shelf and its end is in the log, with who and why.

## One upset, one thing to read

One fault makes many watches speak. The earliest is the first cause and leads. What follows from the same part of the
whole (furnace, machine or people) while its condition stands and holds or ends the firing, or within ten minutes, is
recorded and shown folded under it, without a sound of its own. What is more urgent than all before it stays in sight
and sounds. What asks for more than the leader leads anew. After a reset the next alarm leads.

An alarm that comes back more than three times in a minute chatters. From then on it is told only when it lasts four
times as long as it otherwise had to, until it has been quiet for ten minutes, and one advice says to mend it. What it
asks of the furnace is done each time all the same. An alarm that has stood for over a day is marked so.

How many alarms a person was told in a firing, how many in its worst ten minutes, and how many only followed stand in
the firing's results.

## Sound and light

Lamp and sounder speak by rhythm alone and need no network. Long pulses are an alarm, the more the worse; short ticks
ask a question or count along. A page that was tapped once makes the same sound from the same table, and shakes the
phone. The structure follows IEC 60601-1-8 (alarm systems in medical electrical equipment); its numbers are from memory
and its melodies are not used: all pulses are alike and evenly spaced.

| what | sounder | lamp |
|---|---|---|
"""

TABLE_HEAD = """
## All of them

Priority 1: now, or it has acted by itself and somebody must look. 2: within ten minutes. 3: in this melt. A trip that
has already acted is of priority 1: somebody must know at once that metal may be freezing, or that something is live.
Spread: {spread}.

*By itself* is the least that follows: a watch may ask for more when it goes on, and all that stand are joined field by
field to the stronger.
"""

QUIET_HEAD = """
## Not alarms

These act by themselves, ask nothing of anybody and are lines in the log.

| in the log | when | what comes of it | by itself |
|---|---|---|---|
"""

LAMPS = {1: "two flashes a second", 2: "one short flash in 2 s", 3: "steady"}
THENS = {Then.GO_ON: "goes on", Then.HOLD: "holds", Then.STOP: "ends the firing", Then.ABORT: "trips"}


def alarms_page() -> str:
    """The text of docs/alarms.md."""
    reactions = {watch.id: watch.reaction for watch in WATCHES}
    spread = Counter(text.priority for text in TEXTS.values() if text.priority)
    said = ", ".join(f"{spread[priority]} of priority {priority}" for priority in (1, 2, 3))
    parts = [HEAD, *_rhythms(), TABLE_HEAD.format(spread=said)]
    for priority in (1, 2, 3):
        parts.append(f"\n### Priority {priority}\n")
        parts.append("\n| in the log | cause | what comes of it | what to do, and in what time | by itself |")
        parts.append("\n|---|---|---|---|---|\n")
        for name, text in sorted(TEXTS.items()):
            if text.priority == priority:
                does = _by_itself(reactions.get(name))
                within = _within(text)
                act = f"{text.act} *{within}*"
                parts.append(f"| `{name}` | {text.sentence} | {text.consequence} | {act} | {does} |\n")
    parts.append(QUIET_HEAD)
    for name, text in sorted(TEXTS.items()):
        if not text.priority:
            parts.append(f"| `{name}` | {text.sentence} | {text.consequence} | {_by_itself(reactions.get(name))} |\n")
    return "".join(parts)


def _rhythms() -> list[str]:
    rows = []
    for priority, burst in BURSTS.items():
        again = f"again each {burst.every_beats * BEAT_S:g} s" if burst.every_beats else "once"
        heard = f"{burst.pulses} pulses of {burst.on_beats * BEAT_S:g} s, {again}"
        rows.append(f"| alarm of priority {priority} | {heard} | {LAMPS[priority]} |\n")
    rows.append("| a question | one short tick in 2 s, for 15 s; a start while it waits | 1.5 s of each 2 s |\n")
    rows.append("| a sign that is due | the same, from the stage of attendance that says so | 1.5 s of each 2 s |\n")
    rows.append("| the button is held | two ticks a second | steady |\n")
    rows.append("| heat comes back by itself in 3 s | two ticks a second | two flashes a second |\n")
    return rows


def _within(text: Text) -> str:
    minutes = text.act_within_s / 60.0
    return "Now." if minutes <= 1.0 else "In this melt." if minutes > 10.0 else f"Within {minutes:.0f} min."


def _by_itself(reaction: Reaction | None) -> str:
    if reaction is None:
        return "nothing: it only tells"
    does = [THENS[reaction.then]]
    if reaction.duty_ceiling <= 0.0 and reaction.then < Then.STOP:
        does.append("without heat")
    elif 0.0 < reaction.duty_ceiling < 1.0:
        does.append("less heat")
    if reaction.drop_contactor:
        does.append("contactor told to open")
    if reaction.keep_away:
        does.append("keep away")
    if reaction.latch:
        does.append("until a reset")
    elif reaction.then is Then.HOLD:
        by = {Leave.BY_ITSELF: "until it is gone", Leave.BY_A_PERSON: "until a person goes on"}
        does.append(by.get(reaction.leave, "until a held press"))
    return ", ".join(does)
