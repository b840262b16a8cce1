"""The pages of docs/ that are written from the code: `python -m tests.pages` writes them, a test compares them."""

from pathlib import Path
from textwrap import fill

import click

from supervisor.alarms.cautions import MOMENTS, all_cautions
from supervisor.cli import main

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


PAGES = {"docs/cautions.md": cautions_page, "docs/commands.md": commands_page}

if __name__ == "__main__":
    for name, text in PAGES.items():
        Path(name).write_text(text(), encoding="utf-8")
