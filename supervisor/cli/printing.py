"""JSON on standard output, for other programs."""

import json
from typing import Any

import click


def print_json(value: Any) -> None:
    """Print a value as JSON."""
    click.echo(json.dumps(value, ensure_ascii=False, indent=1))
