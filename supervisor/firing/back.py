"""Be back by: the promise of an hour before which the gate will not ask, and before which no sign is due.

It is kept once a second. A promise that trembled would be believed by nobody: it moves only by much, and then it says
by how much and why.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from supervisor.firing.states import State

if TYPE_CHECKING:  # a turn has the firing, which has what is promised: at run time the import would be a circle
    from supervisor.firing.turn import Turn

MARGIN_S = 300.0
"""Before the earliest that the gate may ask: so far away one may be."""
MOVES_S, MOVES_SHARE = 120.0, 1.0 / 3.0
"""It moves by over two minutes, or by over a third of its band, whichever is more."""
MAINS_MOVED = 0.03  # of the power that there really is: one pulse in sixty is not a change of the mains
OWNS_UP_FOR_S = 120.0
SIGN, GATE = "sign", "gate"


@dataclass(slots=True)
class BackBy:
    """What was promised. Times are process time; changed by `keep` alone."""

    firing_id: int = 0
    gate_s: float | None = None  # the earliest that the gate may ask, less the margin, as last promised
    shown_s: float | None = None  # that, or the next sign if it is due before; the last one that there was
    limit: str = GATE  # what it comes from
    moved_by_s: float = 0.0  # negative: sooner
    moved_s: float | None = None  # when it moved
    because: str = ""
    ratio: float | None = None  # of real to ordered power, at the promise; None: the meter could not say
    mass_kg: float = 0.0

    def standing_s(self, due_s: float | None) -> float | None:
        """What is promised now. due_s: when the next sign is due; None: none is."""
        if self.gate_s is None:
            return None
        return self.gate_s if due_s is None else min(self.gate_s, due_s)


def keep(turn: "Turn") -> None:
    """Once a second: hold what was promised against what is known now."""
    firing, run = turn.firing, turn.firing.run
    if run is None or run.closed:
        if firing.back.shown_s is not None:
            firing.back = BackBy()
        return
    if firing.back.firing_id != run.firing_id:
        firing.back = BackBy(run.firing_id)
    back = firing.back
    why = _gate(turn, back)
    due_s = firing.attendance.due_s
    by_s = back.standing_s(due_s)
    if by_s is None:
        return
    before_s = back.shown_s
    back.limit = GATE if by_s == back.gate_s else SIGN
    back.shown_s = by_s
    if before_s is None:
        return
    moved_s = by_s - before_s
    if moved_s < -1.0 or (why and moved_s > 1.0):
        alone = "no page follows the furnace any more" if firing.attendance.alone_s is not None else ""
        back.because = why if back.limit == GATE else alone or "the next sign is due then"
        back.moved_by_s, back.moved_s = moved_s, turn.now_s


def _gate(turn: "Turn", back: BackBy) -> str:
    """Move the promise where it has to be moved; why, or empty."""
    adviser, run = turn.firing.adviser, turn.firing.run
    ahead = adviser.gate_ahead
    if run is None or ahead is None or turn.firing.state is not State.RUNNING or not run.gate.shut:
        back.gate_s = None
        return ""
    gate_s = adviser.minutes_from_s + 60.0 * ahead.early - MARGIN_S
    ratio: float | None = adviser.meter.ratio(turn.furnace.pulses_per_kwh)
    ratio = None if ratio == 1.0 else ratio  # exactly so it is said where too little was counted
    if back.gate_s is None:
        back.gate_s, back.ratio, back.mass_kg = gate_s, ratio, run.charge_kg
        return "" if back.shown_s is None or gate_s >= back.shown_s else "it goes on heating"
    moves_s = max(MOVES_S, MOVES_SHARE * 60.0 * (ahead.likely - ahead.early))
    if abs(gate_s - back.gate_s) <= moves_s:
        return ""
    grown = 0.0 if ratio is None or back.ratio is None else ratio - back.ratio
    why = _because(gate_s < back.gate_s, grown, another_mass=run.charge_kg != back.mass_kg)
    back.gate_s, back.ratio, back.mass_kg = gate_s, ratio, run.charge_kg
    return why


def _because(sooner: bool, grown: float, *, another_mass: bool) -> str:
    if another_mass:
        return "the mass was entered anew"
    if abs(grown) > MAINS_MOVED and (grown > 0.0) is sooner:
        return "the mains came up" if sooner else "the mains went down"
    return "it heats faster than expected" if sooner else "it heats slower than expected"
