"""What the estimator of a firing is given, step by step, and what people did meanwhile."""

from typing import NamedTuple

from supervisor.metal.charge import Charge
from supervisor.model.estimate import Estimator


class Act(NamedTuple):
    """Something that a person did, for the estimator: `add` (kg), `dip` (°C), `molten`, `pour`; `freeze` by a watch.

    `far`: a dip reading that is not believed yet.
    """

    kind: str
    value: float = 0.0


class Fed(NamedTuple):
    """One step as it was given to the estimator, kept for reckoning again."""

    acts: tuple[Act, ...]
    reading_c: float | None
    power_w: float
    lid_open: bool
    dt_s: float


def take(estimator: Estimator, act: Act, charge: Charge | None) -> None:
    """Tell the estimator. charge: what was charged, so that more is most likely more of the same.

    Raises:
        ValueError: no such act, or a value that cannot be.
    """
    if act.kind == "add":  # a note says how much, not what
        estimator.put_in(act.value, charge)
    elif act.kind == "dip":
        estimator.dip(act.value)
    elif act.kind == "far":
        estimator.doubt_by_dip()
    elif act.kind == "molten":
        estimator.all_molten()
    elif act.kind == "pour":
        estimator.pour()
    elif act.kind == "freeze":
        estimator.freeze()
    else:
        raise ValueError(f"act is {act.kind!r}; allowed: add, dip, far, molten, pour, freeze")


def without_additions(acts: tuple[Act, ...]) -> tuple[Act, ...]:
    """The mass weighed again is that of the whole charge: what was added is in it."""
    return tuple(act for act in acts if act.kind != "add")
