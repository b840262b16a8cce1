"""Proofs that the relay lets go: each ends proved, failed or undecided, and undecided is never proved.

Taken where they cost nothing: by current input or meter in whatever off-time the relay's window leaves; without either
by a minute without heat while the furnace waits at the gate anyway. Where nothing has proved it on the way to the gate,
half a minute without heat is paid for. A reading that runs as the model expects proves nothing: the filter explains a
relay that has leaked for long. Nor does an open lid: the contactor is out by then.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from enum import Enum
from math import inf
from typing import TYPE_CHECKING, NamedTuple

from hardware.ports import Level
from supervisor.firing.states import HEATED, State

if TYPE_CHECKING:  # a turn holds a firing, which holds this
    from supervisor.firing.firing import Run
    from supervisor.firing.turn import Turn
    from supervisor.furnace.description import FurnaceDescription, Response
    from supervisor.watches.history import History

COLD_C, LUKEWARM_C = 60.0, 300.0
RISE_IS_FAILED_K = 8.0
RISE_IS_PROVED_K, RISE_IS_PROVED_LATER_K = 2.0, 4.0
RISES_ALREADY_K_PER_S = 0.05
PROVED_SHARE, FAILED_SHARE = 0.2, 0.4
PROVED_SHARE_LUKEWARM, FAILED_SHARE_LUKEWARM = 0.1, 0.25
"""Of what full power would add. On five simulated makes within 20 %, from 20 to 700 °C, with cold metal and after lids:
off -0.18 to 0.17 (0.32 after a lid and undecided then), half waves 0.12 to 0.69, stuck on 0.21 and more; below 300 °C
off at most 0.04, half waves 0.14 and more."""

NOISE_LOOKS = 8

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
TRY_AGAIN_AFTER_S = 600.0
"""After two undecided proofs a start is refused for so long: with the lid shut the reading has settled by then."""
AGAIN_S = 300.0
"""A proof is taken anew when the last one is so old."""
QUIET_BY_CURRENT_S = 2.0
QUIET_PULSES = 2.5  # of half power: so many it would have given
LEAST_FAIR = 8  # pulses of ordered heat in this firing, before the meter's silence says anything


class Result(Enum):
    """What a proof came to."""

    PROVED = "proved"
    FAILED = "failed"
    UNDECIDED = "undecided"


class Proof(NamedTuple):
    """One proof with its evidence."""

    result: Result
    at_s: float
    how: str  # 'at the start', 'pulse', 'meter', 'current input', 'model'
    evidence: str


@dataclass(slots=True)
class Quiet:
    """How the reading moves by itself: a straight line through what was seen with the contactor open."""

    count: int = 0
    first_s: float = 0.0
    sum_t: float = 0.0
    sum_c: float = 0.0
    sum_tt: float = 0.0
    sum_tc: float = 0.0
    recent: deque[float] = field(default_factory=lambda: deque(maxlen=NOISE_LOOKS))

    def see(self, now_s: float, reading_c: float) -> None:
        """One more look."""
        if not self.count:
            self.first_s = now_s
        t = now_s - self.first_s
        self.count += 1
        self.sum_t, self.sum_c = self.sum_t + t, self.sum_c + reading_c
        self.sum_tt, self.sum_tc = self.sum_tt + t * t, self.sum_tc + t * reading_c
        self.recent.append(reading_c)

    @property
    def slope_c_per_s(self) -> float:
        """Of that line; 0 while too little was seen."""
        spread = self.count * self.sum_tt - self.sum_t**2
        return (self.count * self.sum_tc - self.sum_t * self.sum_c) / spread if self.count > NOISE_LOOKS else 0.0

    def line_c(self, at_s: float) -> float:
        """Where that line would be at a moment."""
        if not self.count:
            return 0.0
        mean_t = self.sum_t / self.count
        return self.sum_c / self.count + self.slope_c_per_s * (at_s - self.first_s - mean_t)

    @property
    def now_c(self) -> float:
        """The mean of the last two seconds."""
        return sum(self.recent) / len(self.recent) if self.recent else 0.0


def judge_off(quiet: Quiet, in_since_s: float, now_s: float, response: Response) -> Proof:
    """With the contactor in since in_since_s and the relay told off: does the reading go on as it did before?

    quiet: made with the contactor open, its recent looks of now.
    """
    began_c, here_s = quiet.line_c(in_since_s), now_s - in_since_s
    rose_k, above_k = quiet.now_c - began_c, quiet.now_c - quiet.line_c(now_s)
    said = f"{rose_k:+.1f} K in {here_s:.0f} s with the relay off, {rose_k - above_k:+.1f} K expected"

    def came(result: Result) -> Proof:
        return Proof(result, now_s, "at the start", said)

    if began_c < COLD_C:
        if rose_k > RISE_IS_FAILED_K:
            return came(Result.FAILED)
        most_k = RISE_IS_PROVED_K if here_s < 100.0 else RISE_IS_PROVED_LATER_K
        return came(Result.PROVED if rose_k <= most_k else Result.UNDECIDED)
    if quiet.slope_c_per_s > RISES_ALREADY_K_PER_S:  # it comes back after a lid: nobody knows how far
        return came(Result.UNDECIDED)
    full_k = response.slope_c_per_s * max(here_s - response.dead_time_s, 30.0)
    lukewarm = began_c < LUKEWARM_C
    if above_k >= full_k * (FAILED_SHARE_LUKEWARM if lukewarm else FAILED_SHARE):
        return came(Result.FAILED)
    if above_k <= full_k * (PROVED_SHARE_LUKEWARM if lukewarm else PROVED_SHARE):
        return came(Result.PROVED)
    return came(Result.UNDECIDED)


@dataclass(slots=True)
class Proofs:
    """What is known of the relay. Changed by the functions of this module alone."""

    last: Proof | None = None  # of this firing
    undecided: int = 0  # in a row
    pulses: int = 0  # paid for in this firing
    pulse_since_s: float | None = None  # one runs since then, paid for or free: no heat
    pulse_s: int = CLIMBING_S  # how long it is
    pulse_rise_k: float = 0.0  # as long before it
    pulse_duty: float = 0.0
    doubt: str | None = None  # why a person is told
    bars: str | None = None  # why the next start is refused
    barred_s: float = inf  # until then; inf: until the reset at the furnace

    @property
    def proving(self) -> bool:
        """A paid pulse runs: no heat is ordered."""
        return self.pulse_since_s is not None

    def begin(self) -> None:
        """A firing begins: what was proved in another one is proved anew."""
        self.last, self.undecided, self.doubt = None, 0, None
        self.pulses, self.pulse_since_s = 0, None


def keep(turn: Turn, proof: Proof, *, tries: int = 1) -> None:
    """A proof has come out: remember it, write it down, and say what follows. tries: it was made so often by itself."""
    proofs = turn.firing.proofs
    proofs.last = proof
    proofs.undecided = proofs.undecided + tries if proof.result is Result.UNDECIDED else 0
    if proof.result is Result.PROVED:
        proofs.doubt = proofs.bars = None
        proofs.barred_s = inf
    elif proof.result is Result.FAILED:
        proofs.barred_s = inf
        proofs.bars = f"The proof of the relay failed: {proof.evidence}."
    elif proofs.undecided >= 2:
        proofs.doubt = f"undecided twice; {proof.how}: {proof.evidence}"
        proofs.barred_s = turn.now_s + TRY_AGAIN_AFTER_S
        proofs.bars = f"Twice it could not be told whether the relay lets go: {proof.evidence}."
    if proof.result is not Result.PROVED:
        turn.firing.change()
    detail = {"result": proof.result.value, "how": proof.how, "evidence": proof.evidence}
    turn.event("relay proof", detail)


def metered(turn: Turn) -> bool:
    """A meter is fitted, and may be used."""
    return turn.furnace.pulses_per_kwh is not None and turn.firing.power.trusted(turn.now_s)


def told_at_once(turn: Turn) -> bool:
    """Meter or current input can tell within seconds whether the relay lets go."""
    return metered(turn) or turn.sample.inputs.load_current is not Level.NOT_FITTED


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
    return (
        last is None or last.result is not Result.PROVED or now_s - last.at_s >= AGAIN_S or last.how == "at the start"
    )


def _by_power(turn: Turn) -> Proof | None:
    """Off-time enough has passed without a sign of power, on an input that has shown it when it was ordered."""
    power, quiet_s = turn.firing.power, turn.firing.power.quiet_s
    said = f"none in {quiet_s:.0f} s of off-time"
    if turn.sample.inputs.load_current is Level.OPEN and power.current_seen and quiet_s >= QUIET_BY_CURRENT_S:
        return Proof(Result.PROVED, turn.now_s, "current input", said)
    if not metered(turn) or power.fair < LEAST_FAIR or power.silent is not None:
        return None
    if quiet_s < _quiet_by_meter_s(turn.furnace):
        return None
    return Proof(Result.PROVED, turn.now_s, "meter", said)


def _quiet_by_meter_s(furnace: FurnaceDescription) -> float:
    return QUIET_PULSES * 3.6e6 / (0.5 * furnace.full_power_w * (furnace.pulses_per_kwh or 1))


def _take_back(turn: Turn, proofs: Proofs) -> None:
    """A meter or current input that shows nothing when heat is ordered has proved nothing at the start either."""
    last, power = proofs.last, turn.firing.power
    if last is None or last.result is not Result.PROVED or not (power.silent or power.empty_s > 1.0):
        return
    by_input = last.how in ("meter", "current input") or "pulses" in last.evidence or "current" in last.evidence
    if by_input:
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
    if last is not None and last.how != "at the start" and last.result is not Result.UNDECIDED:
        return False
    duty, long_duty = history.mean_duty(CLIMBING_S) or 0.0, history.mean_duty(HEATING_S) or 0.0
    rise_k = history.rise_c(CLIMBING_S)
    if min(duty, long_duty) < HARD_DUTY or rise_k is None or rise_k < LEAST_RISE_K:
        return False  # what does not climb by the power that it gets does not show when power goes
    return promised_k(turn.furnace.response, duty, CLIMBING_S) >= LEAST_FALL_K


def _waits(turn: Turn, history: History) -> bool:
    """Settled at the gate, and the last proof is old."""
    last = turn.firing.proofs.last
    age_s = None if last is None or last.how == "at the start" else turn.now_s - last.at_s
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
        return Proof(Result.UNDECIDED, now_s, "pulse", "too little could show")
    fell_k = proofs.pulse_rise_k - rose_k
    share = fell_k / promised
    proved, failed = share >= PULSE_PROVED_SHARE, share <= PULSE_FAILED_SHARE
    result = Result.PROVED if proved else Result.FAILED if failed else Result.UNDECIDED
    said = (
        f"{rose_k:+.1f} K in {seconds} s without heat, {proofs.pulse_rise_k:+.1f} K before, {promised:.0f} K promised"
    )
    return Proof(result, now_s, "pulse", said)
