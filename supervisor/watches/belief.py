"""Believe: from one sample to what is taken for true in this cycle."""

from hardware.ports import CYCLE_S, Reading, Sample
from supervisor.furnace.description import Correction
from supervisor.watches.view import Belief


def first_belief(monotonic_s: float) -> Belief:
    """Before the first sample nothing is believed."""
    return Belief(monotonic_s, True, None, None, None, None, monotonic_s, 0)


def corrected(sample: Sample, correction: Correction) -> Sample:
    """The sample with its first thermocouple corrected; its raw word stays as it came, and goes into the log so."""
    first = sample.sensors[0]
    if not isinstance(first, Reading):
        return sample
    hot_c, cold_c = first.hot_junction_c, first.cold_junction_c
    right = first._replace(hot_junction_c=hot_c + correction.at(hot_c, cold_c))
    return sample._replace(sensors=(right, *sample.sensors[1:]))


def believe(before: Belief, sample: Sample, dt_s: float, *, cycles: int) -> Belief:
    """Take the sample for this cycle's truth, as far as it can be.

    Its time must lie inside this cycle (within one cycle of dt_s after the last) and be later than the last one's. The
    first sensor is the one that controls. cycles: turns made so far; the raw word is compared once a second.
    """
    first = sample.sensors[0]
    moved_s = sample.monotonic_s - before.monotonic_s
    time_ok = moved_s > 0.0 and abs(moved_s - dt_s) <= CYCLE_S and dt_s > 0.0
    # Time never runs back inside the core, whatever a sample says.
    now_s = sample.monotonic_s if time_ok else before.monotonic_s + max(dt_s, 0.0)
    same_s = before.same_s
    if isinstance(first, Reading) and time_ok:
        word_before = None if before.reading is None else before.reading.word
        if first.word != word_before:
            same_s = 0
        elif cycles % 4 == 3:
            same_s += 1
        return Belief(now_s, time_ok, first, None, first.hot_junction_c, first.cold_junction_c, now_s, same_s)
    fault = None if isinstance(first, Reading) else first
    return Belief(now_s, time_ok, None, fault, before.last_c, before.last_cold_c, before.good_s, 0)
