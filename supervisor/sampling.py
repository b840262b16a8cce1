"""What one second's frames come to, and the row that a cycle leaves in the log."""

from typing import TYPE_CHECKING

from hardware.ports import Inputs, Level
from supervisor.firing.turn import Turn
from supervisor.logbook.records import SampleRow

if TYPE_CHECKING:  # the cycle, whose memory it is, imports this
    from supervisor.cycle import Memory

APART_K = 4.0
"""Two readings of one second may be so far apart by noise, beside what the furnace moves meanwhile (our choice)."""


def second_mean_c(memory: "Memory") -> float | None:
    """Of the second's four readings the two in the middle: one frame with flipped bits in it moves nothing.

    None without a reading, and where those two are further apart than this furnace moves: then nobody knows.
    """
    found = sorted(memory.second_c)
    if not found:
        return None
    low_c, high_c = found[(len(found) - 1) // 2], found[len(found) // 2]
    response = memory.furnace.response
    if high_c - low_c > APART_K + max(response.fastest_rise_c_per_s, response.fastest_fall_c_per_s):
        return None
    return (low_c + high_c) / 2.0


def row_of(memory: "Memory", turn: Turn, firing_id: int, energy_wh: float) -> SampleRow:
    """The cycle's row for the log."""
    belief, firing = turn.belief, turn.firing
    reading, word = belief.reading, 0
    mean_c = memory.mean_c if turn.second else None
    if reading is not None:
        word = reading.word
    elif belief.fault is not None:
        word = belief.fault.word
    return SampleRow(
        firing_id,
        turn.t_ms(),
        None if reading is None else round(reading.hot_junction_c, 3),
        None if reading is None else round(reading.cold_junction_c, 4),
        None if firing.setpoint_c is None else round(firing.setpoint_c, 3),
        memory.second_on / 4.0 if turn.second else float(memory.outputs.relay),
        round(energy_wh, 3),
        _bits(memory, turn.sample.inputs),
        firing.state.value,
        word,
        None if firing.adviser.residual_k is None else round(firing.adviser.residual_k, 2),
        None if mean_c is None else round(mean_c, 3),
        turn.sample.sensors[1].word if len(turn.sample.sensors) > 1 else None,
        memory.quarters,
    )


def _bits(memory: "Memory", inputs: Inputs) -> int:
    """Two bits a line. The lines rarely change, and the hardware hands out the same object while they do not."""
    if memory.packed is None or memory.packed[0] is not inputs:
        bits = 0
        for level in inputs:
            bits = bits << 2 | _BITS[level]
        memory.packed = inputs, bits
    return memory.packed[1]


_BITS = {Level.OPEN: 0, Level.CLOSED: 1, Level.NOT_FITTED: 2}
