"""`check` while a supervisor runs: it has the furnace, follows what is moved, and writes everything down."""

import click

from hardware.clock import sleep_s
from supervisor.cli.check_going import Came, go_through
from supervisor.cli.check_rig import NotProved, Person
from supervisor.cli.check_steps import stated
from supervisor.firing.witness import LINES
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.stages import Reached, Standing
from supervisor.link.client import Link
from supervisor.logbook.commissioning import unlocking
from supervisor.logbook.earlier import latest_utc_ms
from supervisor.logbook.reading import open_log

LOOKS_EVERY_S = 0.25
ON_RECORD_WITHIN_S = 10.0
"""The supervisor shows a proof the moment it is seen; what is on record follows, after a second or more on a card."""


class Linked:
    """One furnace, by way of its supervisor."""

    def __init__(self, furnace: FurnaceDescription, link: Link, person: Person, who: str) -> None:
        self._furnace, self._link, self._person, self._who = furnace, link, person, who

    @property
    def today_ms(self) -> int:
        """The latest date that the log knows."""
        with open_log(self._link.path.parent) as log:
            return latest_utc_ms(log)

    @property
    def reached(self) -> Reached:
        """The stage by what is on record."""
        with open_log(self._link.path.parent) as log:
            return unlocking(log, counted=True, today_ms=latest_utc_ms(log)).reached(self._furnace)

    def go(self, proof: str | None, *, again: bool) -> None:
        """Make one proof, or all that can be made beside a supervisor."""
        go_through(self._furnace, lambda: self.reached, proof, self._make, self._person.ready, again=again)

    def _make(self, each: Standing) -> Came:
        if each.kind.alone:
            self._person.tell(
                "It needs the furnace for itself. Stop the supervisor, then run `meltkeeper check` again."
            )
            return Came.NOT_PROVED
        try:
            said = stated(each.name, self._person).evidence if each.kind.stated or each.kind.either else ""
        except NotProved as error:
            self._person.tell(f"Not proved: {error}.")
            return Came.NOT_PROVED
        answer = self._link.send(
            {"command": "prove", "proof": each.name, "said": said, "who": self._who, "where": "check"}
        )
        if answer.accepted is None:
            raise click.ClickException(answer.sentence)
        if not answer.accepted:
            self._person.tell(f"Not proved: {answer.sentence}")
            return Came.NOT_PROVED
        if each.name not in LINES:
            self._person.tell(answer.sentence)
            return Came.PROVED
        return self._follow(each)

    def _follow(self, each: Standing) -> Came:
        """Tell what is to be moved until the supervisor has seen it both ways."""
        told = ""
        while True:
            shown = self._link.snapshot()["stage"]
            proving = shown["proving"]
            if proving is None or proving["name"] != each.name:
                break
            if proving["wants"] != told:
                self._person.tell(proving["wants"] if not told else f"Seen. {proving['wants']}")
                told = proving["wants"]
            sleep_s(LOOKS_EVERY_S)
        for _ in range(round(ON_RECORD_WITHIN_S / LOOKS_EVERY_S)):
            if self._on_record(each):
                self._person.tell("Proved: seen both ways.")
                return Came.PROVED
            sleep_s(LOOKS_EVERY_S)
        self._person.tell("Not proved: it was not seen to move in time.")
        return Came.NOT_PROVED

    def _on_record(self, each: Standing) -> bool:
        """Whether the log has it as proved, later than it stood before."""
        with open_log(self._link.path.parent) as log:
            made = unlocking(log, counted=True, today_ms=0).proved
        before = 0 if each.last is None else each.last.utc_ms
        return any(tried.proof == each.name and tried.result == "proved" and tried.utc_ms > before for tried in made)
