"""How a campaign says what it found, and with which exit status."""

import json
import sys
from collections.abc import Mapping
from typing import Any, NoReturn

import click


def end(told: Mapping[str, Any], *, went_wrong: bool, as_json: bool) -> NoReturn:
    """Print what was found, by its names or as one JSON object; exit status 1 where something went wrong, else 0."""
    if as_json:
        click.echo(json.dumps(told, indent=1))
    else:
        for name, value in told.items():
            click.echo(f"{name.replace('_', ' ')}: {value}")
    sys.exit(1 if went_wrong else 0)
