"""A recorded firing turned back into cycles: what the sensor, the inputs and the relay said in each quarter second.

The log keeps one row a second, and every cycle around a finding. A cycle without a row of its own lies between two
rows in which no watch had anything to say: its reading is what the log keeps for the whole second (in an older log it
lies on a straight line), its inputs are those of the row before until something was done in between, and
relay and pulses come when the log says so (in an older log at the beginning of the second, and at its end).
"""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from hardware.ports import CYCLE_S, BoardHealth, Inputs, Reading, Sample, SensorFault
from hardware.sensor import LATE_ANSWER, reading_from_frame
from supervisor.logbook.inputs import input_levels

UNSEEN_S = 5.0
"""Rows further apart than this have lost what was between them; closer, and the loop itself was late."""

_ROUNDED_S = 0.0015  # times in the log are whole milliseconds

_BOARD = BoardHealth(None, None, None, None)  # not in the log


class Recorded(NamedTuple):
    """One cycle of a firing, as far as the log tells it. row: the log's own, where it has one for this cycle."""

    sample: Sample
    dt_s: float
    relay: bool  # in the cycle that ends here
    number: int  # every fourth, from 3 on, is the last of its second
    unseen_s: int  # whole seconds before it of which the log knows nothing
    row: Any | None
    skipped: bool = False  # its sample belonged to another cycle, and nothing of it was believed


def cycles(
    rows: Sequence[Any], done_s: Sequence[float], *, began_s: float, pulses_per_kwh: int | None
) -> Iterator[Recorded]:
    """Every cycle between the first and the last row of a firing.

    rows: of `Log.samples`. done_s: when something was switched or pressed, since the start, in order. began_s: process
    time of the firing's start. pulses_per_kwh: of the meter, None without one.

    Raises:
        ValueError: a row has inputs that mean nothing.
    """
    before: Recorded | None = None
    number = 3  # the first row is the last of its second
    relays: list[bool] = []
    for row in rows:
        here = _sample(row, began_s, pulses_per_kwh)
        gap_s = CYCLE_S if before is None else here.monotonic_s - before.sample.monotonic_s
        unseen = gap_s > UNSEEN_S
        missing = 0 if before is None or unseen else min(round(gap_s / CYCLE_S), 4) - 1
        second = before is None or unseen or (number + missing + 1) % 4 == 3
        ons = _relays(row["duty"], missing + 1, relays, second=second)
        late = [0] * (missing + 1)
        if row["quarters"] is not None:
            marks = [row["quarters"] >> 4 * (missing - place) & 15 for place in range(missing + 1)]
            ons, late = (
                [mark >= 8 for mark in marks],
                [sum(each & 7 for each in marks[n + 1 :]) for n in range(len(marks))],
            )
        for place in range(missing):
            assert before is not None
            number += 1
            mean_c = row["mean_c"] if missing == 3 else None
            between = _between(before.sample, here, mean_c, (place + 1) / (missing + 1), CYCLE_S * (place + 1))
            if _done(done_s, before.sample.monotonic_s - began_s, between.monotonic_s - began_s):
                between = between._replace(inputs=here.inputs)
            if row["quarters"] is not None:
                between = between._replace(
                    energy_pulses=max(here.energy_pulses - late[place], before.sample.energy_pulses)
                )
            yield Recorded(between, CYCLE_S, ons[place], number, 0, None)
        number = 3 if unseen or before is None else number + 1
        before = Recorded(
            here,
            gap_s - CYCLE_S * missing,
            ons[-1],
            number,
            int(gap_s) if unseen else 0,
            row,
            row["hot_junction_c"] is None and row["raw_word"] == 0,
        )
        relays = [] if second else [*relays, *ons]
        yield before


def first_reading(rows: Sequence[Any]) -> Reading | None:
    """What the sensor read first in a firing; None: it never did."""
    return next((read for read in map(_sensor, rows) if isinstance(read, Reading)), None)


def _sample(row: Any, began_s: float, pulses_per_kwh: int | None) -> Sample:
    pulses = 0 if pulses_per_kwh is None else round(row["energy_wh"] * pulses_per_kwh / 1000.0)
    inputs = Inputs(**input_levels(row["inputs"]))
    sensors = (_sensor(row),) if row["second_word"] is None else (_sensor(row), reading_from_frame(row["second_word"]))
    return Sample(began_s + row["t_s"], sensors, inputs, pulses, _BOARD)


def _sensor(row: Any) -> Reading | SensorFault:
    """The raw word, decoded anew: what today makes of it counts, not what was made of it then."""
    read = reading_from_frame(row["raw_word"])
    if row["hot_junction_c"] is None and isinstance(read, Reading):
        return SensorFault(row["raw_word"], LATE_ANSWER)  # a whole frame that nobody believed
    return read


def _between(before: Sample, after: Sample, mean_c: float | None, share: float, past_s: float) -> Sample:
    """A cycle without a row: no watch spoke in it, so there was a reading."""
    was, is_ = before.sensors[0], after.sensors[0]
    read = was if isinstance(is_, SensorFault) else is_
    if isinstance(is_, Reading) and mean_c is not None:
        read = is_._replace(hot_junction_c=mean_c)
    elif isinstance(was, Reading) and isinstance(is_, Reading):
        hot_c = was.hot_junction_c + share * (is_.hot_junction_c - was.hot_junction_c)
        read = is_._replace(hot_junction_c=hot_c)
    return before._replace(monotonic_s=before.monotonic_s + past_s, sensors=(read, *after.sensors[1:]))


def _done(done_s: Sequence[float], from_s: float, to_s: float) -> bool:
    """Something was done after from_s and before to_s."""
    at = bisect_left(done_s, from_s - _ROUNDED_S)
    return at < len(done_s) and done_s[at] < to_s - _ROUNDED_S


def _relays(duty: float, cycles_: int, earlier: Sequence[bool], *, second: bool) -> list[bool]:
    """Where the relay was on: a row in mid-second has its own cycle, the last one the mean of the whole second."""
    on = round(4.0 * duty) - sum(earlier) if second else round(duty) * cycles_
    on = min(max(on, 0), cycles_)
    return [place < on for place in range(cycles_)]
