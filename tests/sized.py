"""Asks `meltkeeper size`, as tests do: through the command's own JSON."""

import json
from typing import Any

from click.testing import CliRunner

from supervisor.cli import main


def size(*words: str) -> Any:
    asked = CliRunner().invoke(main, ["size", *words, "--json"])
    assert asked.exit_code == 0, asked.output
    return json.loads(asked.stdout)


def refused(*words: str) -> str:
    asked = CliRunner().invoke(main, ["size", *words])
    assert asked.exit_code == 2, asked.output
    return asked.stderr.strip()
