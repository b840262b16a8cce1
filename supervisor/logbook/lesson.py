"""One lesson: the furnace's model fitted anew to what the log holds, and what speaks for and against taking it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import isfinite
from typing import Any, NamedTuple

import numpy as np

from supervisor.furnace.description import FurnaceDescription
from supervisor.logbook.learning import Models, models, series_of, why_not
from supervisor.logbook.reading import Log
from supervisor.logbook.records import ModelRow
from supervisor.model.learn import learn
from supervisor.model.learned import LEAST_FIRINGS, Model, objections, surprising
from supervisor.model.reduced import Reduced
from supervisor.model.series import STEP_S, Series
from supervisor.model.simulate import simulate
from supervisor.refusal import InputRefused

TOGETHER = 5
"""Firings fitted at once. With more, the last model is what the next one starts from."""

SHOWN_FIRINGS, SHOWN_POINTS = 3, 120


class NothingNew(NamedTuple):
    """The model in use has learned from all that can be learned from."""

    left_out: Sequence[tuple[int, str]]  # firings that do not count, and why


@dataclass(frozen=True)
class Lesson:
    """What was learned, from what, and what may be done with it."""

    model: Model
    known: Models
    firings: Sequence[Series]  # that it was fitted to
    objections: Sequence[str]  # empty: it may be taken without a person at the furnace
    surprising: Sequence[str]  # what moved by more than three standard deviations
    left_out: Sequence[tuple[int, str]]  # firings that were not learned from, and why
    furnace: FurnaceDescription

    @cached_property
    def against(self) -> dict[str, Any]:
        """Measured and modelled, for a picture: reckoned when it is asked for."""
        return against(self.furnace, self.model, self.firings)

    def row(self, *, adopted: bool, who: str, where: str) -> ModelRow:
        """As the log keeps it."""
        note = " ".join(self.objections) or f"Learned from {len(self.model.learned_from)} firings."
        newest = max(self.model.learned_from)
        return ModelRow(newest, adopted, None, who, where, self.model.to_json(), self.against, note)


def lesson(
    log: Log, furnace: FurnaceDescription, *, chosen: Sequence[int] = (), meter: bool = True, anew: bool = False
) -> Lesson | NothingNew:
    """Fit the model to the log's firings, where there are any that it has not learned from already.

    chosen: numbers of the firings to fit to, and nothing else; empty: all that are fit to be learned from. meter: use
    what the energy meter counted. anew: also when nothing is new. Takes seconds.

    Raises:
        InputRefused: a chosen firing is not there, or has no reading; or no firing can be learned from.
    """
    known = models(log, furnace)
    if not meter:
        furnace = replace(furnace, pulses_per_kwh=None)
    left_out: list[tuple[int, str]] = []
    if chosen:
        firings = [_series(log, furnace, number, meter=meter) for number in sorted(set(chosen))]
        before = None
    else:
        firings = _all(log, furnace, left_out, meter=meter)
        firings, before = _to_fit(firings, known.adopted, anew=anew)
        if not firings:
            return NothingNew(left_out)
    model = learn(furnace, firings, before)
    adopted = known.adopted
    taught = set() if adopted is None else set(adopted.learned_from)
    refused = {number for kept in known.kept if not kept.row.adopted for number in kept.model.learned_from}
    new = [firing for firing in firings if firing.firing_id not in taught]
    return Lesson(
        model,
        known,
        firings,
        objections(model, adopted, known.commissioning, *new, refused=refused),
        [] if adopted is None else surprising(model, adopted),
        left_out,
        furnace,
    )


def _series(log: Log, furnace: FurnaceDescription, number: int, *, meter: bool) -> Series:
    try:
        return series_of(log, log.firing(number), furnace, meter=meter)
    except ValueError as error:
        raise InputRefused(f"Firing {number} cannot be learned from: {error}.") from error


def _all(log: Log, furnace: FurnaceDescription, left_out: list[tuple[int, str]], *, meter: bool) -> list[Series]:
    found = []
    for firing in reversed(log.firings()):
        why = why_not(log, firing, furnace)
        if why:
            left_out.append((firing.id, why))
        else:
            found.append(_series(log, furnace, firing.id, meter=meter))
    return found


def _to_fit(firings: list[Series], adopted: Model | None, *, anew: bool) -> tuple[list[Series], Model | None]:
    """Which firings to fit to, and the model that they start from; none: nothing is new.

    The first few are fitted together from the data sheets: each says what the others leave open. From then on the
    model in use is what a new firing may move.
    """
    if adopted is None or anew:
        return firings[-TOGETHER:], None
    new = [firing for firing in firings if firing.firing_id not in adopted.learned_from]
    if new and len(set(adopted.learned_from)) < LEAST_FIRINGS:
        return firings[-TOGETHER:], None
    return new[-TOGETHER:], adopted


def against(furnace: FurnaceDescription, model: Model, firings: Iterable[Series]) -> dict[str, Any]:
    """Measured and modelled readings of the newest firings, the model run open loop from the start."""
    newest = sorted(firings, key=lambda firing: firing.started_utc_ms)[-SHOWN_FIRINGS:]
    reduced, factors = Reduced(furnace), np.array(model.log_factors)[:, None]
    return {"series": [_shown(reduced, firing, factors) for firing in newest]}


def _shown(reduced: Reduced, firing: Series, factors: Any) -> dict[str, Any]:
    course = simulate(reduced, firing, factors)
    every = -(-len(course.steps) // SHOWN_POINTS) or 1
    steps = course.steps[::every]
    return {
        "firing_id": firing.firing_id,
        "t_s": [float((step + 1) * STEP_S) for step in steps],
        "measured_c": [_rounded(firing.reading_c[step]) for step in steps],
        "predicted_c": [_rounded(reading_c) for reading_c in course.reading_c[::every, 0]],
    }


def _rounded(value: float) -> float | None:
    return round(float(value), 1) if isfinite(value) else None
