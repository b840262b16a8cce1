"""Proofs that the relay lets go: each ends proved, failed or undecided, and undecided is never proved.

Here is what a proof is, how the reading of a start is judged, and what follows from any of them. `proving` takes them
in a firing.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from enum import Enum
from math import inf
from typing import TYPE_CHECKING, NamedTuple

from hardware.ports import Level

if TYPE_CHECKING:  # a turn holds a firing, which holds this
    from supervisor.firing.turn import Turn
    from supervisor.furnace.description import Response

COLD_C, LUKEWARM_C = 60.0, 300.0
RISE_IS_FAILED_K = 8.0
RISE_IS_PROVED_K, RISE_IS_PROVED_LATER_K = 2.0, 4.0
RISES_ALREADY_K_PER_S = 0.05
PROVED_SHARE, FAILED_SHARE = 0.2, 0.4
PROVED_SHARE_LUKEWARM, FAILED_SHARE_LUKEWARM = 0.1, 0.25
"""Of what full power would add. On four simulated makes within 20 %, from 20 to 700 °C, with cold metal and after lids:
off -0.18 to 0.17 (0.32 after a lid and undecided then), half waves 0.12 to 0.69, stuck on 0.21 and more; below 300 °C
off at most 0.04, half waves 0.14 and more."""

NOISE_LOOKS = 8

TRY_AGAIN_AFTER_S = 600.0
"""After two undecided proofs a start is refused for so long: with the lid shut the reading has settled by then."""


METER, CURRENT, PULSE = "meter", "current input", "pulse"
METER_AT_START, CURRENT_AT_START, READING_AT_START = "meter at the start", "current input at the start", "at the start"
AT_START = frozenset({METER_AT_START, CURRENT_AT_START, READING_AT_START})
BY_INPUT = frozenset({METER, CURRENT, METER_AT_START, CURRENT_AT_START})
"""How a proof was made."""


class Result(Enum):
    """What a proof came to."""

    PROVED = "proved"
    FAILED = "failed"
    UNDECIDED = "undecided"


class Proof(NamedTuple):
    """One proof with its evidence."""

    result: Result
    at_s: float
    how: str  # METER, CURRENT, PULSE, or one of AT_START
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
        return Proof(result, now_s, READING_AT_START, said)

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
    pulse_s: int = 0  # how long it is
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
