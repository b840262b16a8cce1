"""Going through the proofs one after the other: what is done by whoever makes them, and what a person is told."""

from collections.abc import Callable
from enum import Enum, IntEnum

import click

from supervisor.cli.check_show import way
from supervisor.firing.witness import LINES
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.stages import CAPS, Reached, Standing

LICENSED = (
    "A licensed person does or checks this, to the local code: supply isolated, locked off and proved dead before any"
    " cover is opened."
)


LIVE = "With the contactor in, the element counts as live: lid shut, hands away, nobody near."
LETS_IN = ("contactor", "emergency-stop", "killed", "halted", "unplugged")
"""Proofs that let the contactor in, with the relay off."""


class Answer(Enum):
    """What somebody says before a step."""

    GO = ""
    SKIP = "s"
    END = "e"


class Came(IntEnum):
    """What became of one proof, as an exit status."""

    PROVED = 0
    FAILED = 1
    NOT_PROVED = 5


def chosen(now: Reached, proof: str | None, *, again: bool) -> list[Standing]:
    """What is gone through: one proof by its name, or all cold ones that do not hold or are due."""
    if proof is not None:
        return [each for each in now.standing if each.name == proof]
    due = {each.name for each in now.due}
    return [
        each
        for each in now.standing
        if each.asked and each.kind.opens == 1 and (again or not each.holds or each.name in due)
    ]


def go_through(
    furnace: FurnaceDescription,
    reached: Callable[[], Reached],
    proof: str | None,
    make: Callable[[Standing], Came],
    ready: Callable[[], Answer],
    *,
    again: bool,
) -> None:
    """Make them in order, each named before it is done; then say where the furnace stands and what comes next."""
    steps = chosen(reached(), proof, again=again)
    worst = Came.PROVED
    for number, each in enumerate(steps, start=1):
        click.echo(f"\n{number} of {len(steps)}: {each.kind.title} ({each.name})")
        click.echo(f"  {each.kind.how}")
        for caution in cautions(each):
            click.echo(f"  Caution: {caution}")
        answer = Answer.GO if proof is not None else ready()
        if answer is Answer.END:
            break
        came = make(each) if answer is Answer.GO else Came.NOT_PROVED
        if came is Came.PROVED:
            click.echo(f"  It does not show: {each.kind.shows_not[:1].lower()}{each.kind.shows_not[1:]}")
        worst = Came.FAILED if Came.FAILED in (came, worst) else max(worst, came)
    now = reached()
    click.echo(f"\n{furnace.title}: stage {now.stage} of 3: {CAPS[now.stage].words}.")
    if now.next is not None:
        click.echo(f"Next: {way(now.next)}")
    if worst is not Came.PROVED:
        raise SystemExit(int(worst))


def cautions(each: Standing) -> list[str]:
    """What stands with this step."""
    found = [LICENSED] if each.kind.licensed else [LIVE] if each.name in LETS_IN else []
    if each.name in LINES and LINES[each.name].caution:
        found.append(LINES[each.name].caution)
    return found
