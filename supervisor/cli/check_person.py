"""Who does what `check` asks: a person at the terminal, the one who started this program, or a simulated furnace's."""

import json
from pathlib import Path

import click

from hardware.simulated.client import Bench
from supervisor.cli.check_going import Answer
from supervisor.cli.check_steps import ASKS
from supervisor.firing.witness import LINES

HELD_S = 3.75
"""A held press that is long enough."""


class Terminal:
    """A person at the terminal. said: what was said already, on the command line."""

    def __init__(self, said: str | None = None) -> None:
        self._said = said

    def tell(self, sentence: str) -> None:
        """Print it."""
        click.echo(f"  {sentence}")

    def ask(self, question: str) -> str:
        """Print it and wait for a line."""
        if self._said is not None:
            return self._said
        answer: str = click.prompt(f"  {question}", default="", show_default=False)
        return answer

    def ready(self) -> Answer:
        """Ask."""
        said = click.prompt("  Enter: begin. s: skip. e: end", default="", show_default=False).strip().lower()[:1]
        return next((answer for answer in Answer if answer.value == said), Answer.SKIP)


class Starter:
    """Whoever started this program: it reads a line of JSON for everything that is said."""

    def tell(self, sentence: str) -> None:
        """Hand it on."""
        self.say("tell", {"sentence": sentence})

    def ask(self, question: str) -> str:
        """Nobody answers here."""
        self.tell(question)
        return ""

    def ready(self) -> Answer:
        """It was started for it."""
        return Answer.GO

    def say(self, word: str, with_: object) -> None:
        """One line."""
        click.echo(json.dumps({"word": word, "with": with_}))


class Helped:
    """A simulated furnace moves by itself what is asked for; a person could not reach its levers from here."""

    def __init__(self, socket: Path, limiter_c: float) -> None:
        self._bench, self._limiter_c = Bench(socket), limiter_c
        self._edges = 0
        self._counts = ""

    def tell(self, sentence: str) -> None:
        """Print it, and do it."""
        click.echo(f"  {sentence}")
        if sentence in ("Look at the lamp.", "Listen."):
            self._counts = "lamp" if "lamp" in sentence else "sounder"
            self._edges = self._read()[1]
        for part, message in _DOES.items():
            if part.lower() in sentence.lower():
                self._ask(message)
        if sentence.endswith(LINES["limiter-sensor"].back):
            self._ask({"bench": "mend", "fault": "limiter_trip"})

    def ask(self, question: str) -> str:
        """Count what flashed; everything else is said to be simulated."""
        if question == "How often?":
            return str(self._read()[0])
        if question == ASKS["limiter-setting"]:
            return f"{self._limiter_c:g}"
        return "simulated: nothing was measured"

    def ready(self) -> Answer:
        """Always."""
        return Answer.GO

    def close(self) -> None:
        """Hang up."""
        self._bench.close()

    def _read(self) -> tuple[int, int]:
        """How often the line went on since the last look, and where the record ends."""
        times, since = 0, self._edges
        while True:
            came = self._bench.ask({"bench": "edges", "since": since})
            times += sum(line == self._counts and level for _, _, line, level, _ in came["edges"])
            if came["next"] == since:
                return times, since
            since = came["next"]

    def _ask(self, message: dict[str, object]) -> None:
        answer = self._bench.ask(message)
        if not answer["ok"]:
            raise click.ClickException(f"The simulated furnace refused: {answer['error']}")


_DOES: dict[str, dict[str, object]] = {
    "Hold the button at the furnace": {"bench": "press", "seconds": HELD_S},
    LINES["button"].away: {"bench": "press", "seconds": 1.0},
    LINES["key"].away: {"bench": "key", "on": False},
    LINES["key"].back: {"bench": "key", "on": True},
    LINES["lid"].away: {"bench": "lid", "open": True},
    LINES["lid"].back: {"bench": "lid", "open": False},
    LINES["limiter-sensor"].away: {"bench": "inject", "fault": "limiter_trip"},
    "Press the emergency stop": {"bench": "emergency_stop", "pressed": True},
    "Pull the emergency stop out": {"bench": "emergency_stop", "pressed": False},
}
