"""The command line: one module per command, imported only when its command is called."""

import importlib
from typing import Any

import click

from supervisor.refusal import InputRefused

COMMANDS: dict[str, str] = {
    "run": "Run a furnace with its page: the simulated one, to try everything without hardware.",
    "daemon": "Supervise one furnace: what systemd starts on a Pi.",
    "status": "Say what the furnace is doing.",
    "stop": "Stop heating, and say whether it is proved off.",
    "reset": "Ask for the reset of a trip; the held press at the furnace does it.",
    "furnace": "Learn the furnace from its firings; run a simulated one on its own.",
    "web": "Serve the pages of one furnace, for phones on the local network.",
    "pair": "Make a code that pairs a phone.",
    "trouble": "Write a file about what went wrong, to send to a friend: no address, token or name in it.",
    "messenger": "Tell people outside when something is wrong: what systemd starts on a Pi.",
    "contacts": "See who is told, send a test message, confirm that it arrived.",
    "example": "Fill a fresh data directory with an invented workshop, to look around in.",
    "rehearse": "Run a profile on the simulated furnace, faster than time.",
    "drill": "Break the simulated furnace in every known way, and see who notices.",
    "check": "Bring a furnace up: its pins, its inputs, and what must be proved before heat.",
    "size": "Size an element, its circuit and its wall, on paper; say what a coil that is there gives.",
    "care": "Sensor, element, relay, pot: are they true and how old; what broke; drying a lining.",
    "lots": "Scrap: weigh it in, say what it is, note that it is dry; quarantine.",
    "charge": "Plan a melt: what comes out, whether it fits, what stands against it.",
    "melts": "Read past firings; keep the record of each melt; enter melts from paper.",
    "backup": "Copy log and book while they are in use; verified before it counts.",
    "restore": "Put a backup back, log and book together.",
    "ingots": "See the ingots and what is in them; use them, return them; put metal under quarantine.",
}
"""Name of each command and what it does. Its module in this package has the same name and holds it as `command`."""


class Refusal(click.ClickException):
    """Input that was refused: one sentence on standard error, exit status 2."""

    exit_code = 2

    def show(self, file: Any = None) -> None:
        """Print the sentence."""
        click.echo(self.message, file=file, err=True)


class LateGroup(click.Group):
    """A group that imports a command when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order of the table."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name."""
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(f"{__name__}.{cmd_name}").command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The table, without importing anything."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; what a person gave that cannot be used is said in a sentence."""
        try:
            return super().invoke(ctx)
        except InputRefused as error:
            raise Refusal(str(error)) from error


@click.group(cls=LateGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="meltkeeper", prog_name="meltkeeper")
def main() -> None:
    """Supervise the firings of a small electric melting furnace, and keep the record of every melt.

    Exit status of every command: 0 done, 2 refused input; others are named with their command.
    """
