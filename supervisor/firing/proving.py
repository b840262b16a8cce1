"""Proofs of the relay in a firing, where they cost nothing: in off-times, or while it waits at the gate.

Either input proves it in whatever off-time the relay's window leaves. Without both, a minute without heat does, while
the furnace waits at the gate anyway. Where nothing has proved it on the way to the gate, half a minute is paid for. A
reading that runs as the model expects proves nothing: the filter explains a relay that has leaked for long. Nor does an
open lid: the contactor is out by then.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from hardware.ports import Level
from supervisor.firing.proofs import (
    AT_START,
    BY_INPUT,
    CURRENT,
    METER,
    PULSE,
    Proof,
    Proofs,
    Result,
    keep,
    metered,
    told_at_once,
)
from supervisor.firing.states import HEATED, State

if TYPE_CHECKING:  # a turn holds a firing, which holds the proofs
    from supervisor.firing.firing import Run
    from supervisor.firing.turn import Turn
    from supervisor.furnace.description import FurnaceDescription, Response
    from supervisor.watches.history import History

CLIMBING_S, WAITING_S = 30, 60
"""How long a pulse is: on the way to the gate, where it is paid for, and waiting there, where nobody misses it."""
PULSE_PROVED_SHARE, PULSE_FAILED_SHARE = 0.52, 0.15
"""Of the promised fall. On three simulated makes within 20 %, climbing at 450 to 500 °C: off 0.44 to 0.88, half waves
0.13 to 0.50, stuck on -0.32 to 0.14. Waiting at 550 °C: off 0.53 to 0.89, half waves up to 0.38."""
LEAST_FALL_K = 8.0
"""Of the reading against how it went on before, that a pulse must promise: less shows nothing."""
HEATING_S, HARD_DUTY, LEAST_RISE_K = 120, 0.9, 4.0
"""Heated hard for so long, and so much risen in the last half minute: else the way without heat is not known."""
SETTLED_K, LEAST_DUTY = 4.5, 0.1
"""Of movement in a minute, and of duty, at which the reading waits at the gate."""
WAITING_AGAIN_S = 900.0
MOST_PULSES = 2
AGAIN_S = 300.0
"""A proof is taken anew when the last one is so old."""
QUIET_BY_CURRENT_S = 2.0
QUIET_PULSES = 2.5  # of half power: so many it would have given
LEAST_FAIR = 8  # pulses of ordered heat in this firing, before the meter's silence says anything


def follow(turn: Turn, history: History) -> None:
    """Once a second: take the proofs that cost nothing, and the one pulse that is paid for."""
    firing, run = turn.firing, turn.open_run
    proofs = firing.proofs
    if run is None or firing.state not in HEATED or firing.test is not None:
        proofs.pulse_since_s = None
        return
    if proofs.pulse_since_s is not None:
        _go_on_with_pulse(turn, proofs, history)
        return
    _take_back(turn, proofs)
    if proofs.last is not None and proofs.last.result is Result.FAILED:
        return
    said = _by_power(turn)
    if said is not None:
        if _old(proofs, turn.now_s):
            keep(turn, said)
        firing.power.quiet_s = 0.0
    else:
        seconds = _pulse_is_due(turn, run, history)
        if seconds:
            proofs.pulses += seconds == CLIMBING_S
            proofs.pulse_since_s, proofs.pulse_s = turn.now_s, seconds
            proofs.pulse_rise_k = history.rise_c(seconds) or 0.0
            proofs.pulse_duty = history.mean_duty(seconds) or 0.0
            firing.change()
            turn.event("relay proof", {"begun": "pulse", "seconds": seconds})


def _old(proofs: Proofs, now_s: float) -> bool:
    last = proofs.last
    return last is None or last.result is not Result.PROVED or now_s - last.at_s >= AGAIN_S or last.how in AT_START


def _by_power(turn: Turn) -> Proof | None:
    """Off-time enough has passed without a sign of power, on an input that has shown it when it was ordered."""
    power, quiet_s = turn.firing.power, turn.firing.power.quiet_s
    said = f"none in {quiet_s:.0f} s of off-time"
    if turn.sample.inputs.load_current is Level.OPEN and power.current_seen and quiet_s >= QUIET_BY_CURRENT_S:
        return Proof(Result.PROVED, turn.now_s, CURRENT, said)
    if not metered(turn) or power.fair < LEAST_FAIR or power.silent is not None:
        return None
    if quiet_s < _quiet_by_meter_s(turn.furnace):
        return None
    return Proof(Result.PROVED, turn.now_s, METER, said)


def _quiet_by_meter_s(furnace: FurnaceDescription) -> float:
    return QUIET_PULSES * 3.6e6 / (0.5 * furnace.full_power_w * (furnace.pulses_per_kwh or 1))


def _take_back(turn: Turn, proofs: Proofs) -> None:
    """A meter or current input that shows nothing when heat is ordered has proved nothing at the start either."""
    last, power = proofs.last, turn.firing.power
    if last is None or last.result is not Result.PROVED or not (power.silent or power.empty_s > 1.0):
        return
    if last.how in BY_INPUT:
        keep(
            turn, Proof(Result.UNDECIDED, turn.now_s, last.how, "the input that proved it shows no ordered heat either")
        )


def _pulse_is_due(turn: Turn, run: Run, history: History) -> int:
    """How long a pulse may begin, s; 0: none. Neither meter nor current input can tell, and the gate waits or asks."""
    firing, gate = turn.firing, run.gate
    if firing.state is not State.RUNNING or told_at_once(turn) or firing.lid.bars_heat:
        return 0
    if not gate.shut or not gate.asks:
        return 0
    if _climbs(turn, run, history):
        return CLIMBING_S
    return WAITING_S if _waits(turn, history) else 0


def _climbs(turn: Turn, run: Run, history: History) -> bool:
    """On the way to the gate, heated hard, and nothing has proved the relay since heat began."""
    proofs = turn.firing.proofs
    last = proofs.last
    if proofs.pulses >= MOST_PULSES or run.charged_warm:
        return False
    if last is not None and last.how not in AT_START and last.result is not Result.UNDECIDED:
        return False
    duty, long_duty = history.mean_duty(CLIMBING_S) or 0.0, history.mean_duty(HEATING_S) or 0.0
    rise_k = history.rise_c(CLIMBING_S)
    if min(duty, long_duty) < HARD_DUTY or rise_k is None or rise_k < LEAST_RISE_K:
        return False  # what does not climb by the power that it gets does not show when power goes
    return promised_k(turn.furnace.response, duty, CLIMBING_S) >= LEAST_FALL_K


def _waits(turn: Turn, history: History) -> bool:
    """Settled at the gate, and the last proof is old."""
    last = turn.firing.proofs.last
    age_s = None if last is None or last.how in AT_START else turn.now_s - last.at_s
    undecided = last is not None and last.result is Result.UNDECIDED
    if age_s is not None and age_s < (AGAIN_S if undecided else WAITING_AGAIN_S):
        return False
    duty, rise_k = history.mean_duty(WAITING_S), history.rise_c(WAITING_S)
    if duty is None or rise_k is None or duty < LEAST_DUTY or abs(rise_k) > SETTLED_K:
        return False
    long_duty = history.mean_duty(HEATING_S)
    if long_duty is None or long_duty < LEAST_DUTY:
        return False
    return promised_k(turn.furnace.response, duty, WAITING_S) >= LEAST_FALL_K


def promised_k(response: Response, duty: float, seconds: int) -> float:
    """How far below its way the reading is after so long without the heat that it had, K."""
    return duty * response.slope_c_per_s * max(seconds - response.dead_time_s, 0.0)


def _go_on_with_pulse(turn: Turn, proofs: Proofs, history: History) -> None:
    since_s = proofs.pulse_since_s
    assert since_s is not None
    if turn.lid_open or turn.firing.state is not State.RUNNING:
        proofs.pulse_since_s = None  # broken off, and proves nothing
        turn.firing.change()
        return
    if turn.now_s - since_s < proofs.pulse_s:
        return
    proofs.pulse_since_s = None
    keep(turn, judge_pulse(proofs, history.rise_c(proofs.pulse_s), turn.now_s, turn.furnace.response))


def judge_pulse(proofs: Proofs, rose_k: float | None, now_s: float, response: Response) -> Proof:
    """A pulse without heat is over: the reading must have turned from the way it went."""
    seconds = proofs.pulse_s
    promised = promised_k(response, proofs.pulse_duty, seconds)
    if rose_k is None or promised < LEAST_FALL_K:
        return Proof(Result.UNDECIDED, now_s, PULSE, "too little could show")
    fell_k = proofs.pulse_rise_k - rose_k
    share = fell_k / promised
    proved, failed = share >= PULSE_PROVED_SHARE, share <= PULSE_FAILED_SHARE
    result = Result.PROVED if proved else Result.FAILED if failed else Result.UNDECIDED
    said = (
        f"{rose_k:+.1f} K in {seconds} s without heat, {proofs.pulse_rise_k:+.1f} K before, {promised:.0f} K promised"
    )
    return Proof(result, now_s, PULSE, said)
