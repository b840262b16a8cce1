"""What people write on the command line of a rehearsal: faults at minutes, absences, a plant of their own."""

import importlib
from collections.abc import Callable

from hardware.ports import Plant
from hardware.simulated.faults import FAULTS
from supervisor.refusal import InputRefused


def fault_at(text: str) -> tuple[str, float]:
    """`NAME@MINUTE` to (name, second).

    Raises:
        InputRefused: unknown name, or a minute that cannot be.
    """
    name, _, minute = text.partition("@")
    if name not in FAULTS:
        raise InputRefused(f"--fault names {name!r}; allowed: {', '.join(sorted(FAULTS))}, followed by @MINUTE.")
    return name, _minutes("--fault", minute) * 60.0


def absence(text: str) -> tuple[float, float]:
    """`FROM-TO` in minutes to seconds.

    Raises:
        InputRefused: not two minutes in order.
    """
    start, _, end = text.partition("-")
    from_s, to_s = _minutes("--absent", start) * 60.0, _minutes("--absent", end) * 60.0
    if from_s >= to_s:
        raise InputRefused(f"--absent is {text}; allowed: FROM-TO in minutes, FROM the smaller one.")
    return from_s, to_s


def _minutes(option: str, text: str) -> float:
    try:
        minutes = float(text)
    except ValueError:
        minutes = -1.0
    if not 0.0 <= minutes <= 720.0:
        raise InputRefused(f"{option} has minute {text!r}; allowed: a number from 0 to 720.")
    return minutes


def plant_named(text: str) -> Callable[..., Plant]:
    """`MODULE:CLASS` to the class of a plant.

    Raises:
        InputRefused: no such module or class.
    """
    module, _, name = text.partition(":")
    try:
        made: Callable[..., Plant] = getattr(importlib.import_module(module), name)
    except (ImportError, AttributeError, ValueError) as error:
        raise InputRefused(f"--plant is {text}; allowed: MODULE:CLASS that can be imported ({error}).") from error
    if not callable(made):
        raise InputRefused(f"--plant is {text}; allowed: a class made as CLASS(seed=...).")
    return made
