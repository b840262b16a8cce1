"""The start test: every start proves that the permit can be lost, before the contactor may go in.

Enable stays off until the button has been held for 3 s, so the contactor is out while the permit is stuck high, toggled
and stuck low. Then the relay is proved off with the contactor in.
"""

from dataclasses import dataclass, field
from enum import Enum

from hardware.ports import Inputs, Level, Permit
from supervisor.firing.proofs import CURRENT_AT_START, METER_AT_START, Proof, Quiet, Result, judge_off
from supervisor.furnace.description import FurnaceDescription, Response

TOGGLE_S = 2.0
PULL_IN_S = 0.5
DROP_OUT_S = (0.75, 2.35)  # 0.9 to 2.1 s, seen on a grid of 250 ms
MIRROR_S = 0.5  # 0.3 s, seen on the grid
PROOF_BY_CURRENT_S = 2.0
PROOF_BY_METER_S = 5.0
PROOF_BY_READING_S = 90.0
LONGEST_PROOFS = 2
"""Undecided is tried for once more as long; undecided twice ends the start."""


class Step(Enum):
    """Where the start test stands, in order."""

    AT_REST = "everything open"
    FIRST_TOGGLE = "permit toggles"
    STUCK_HIGH = "permit stuck high"
    SECOND_TOGGLE = "permit toggles again"
    STUCK_LOW = "permit stuck low"
    READY = "permit toggles for good"
    ASKING = "waiting for the held press"
    PULLING_IN = "contactor goes in"
    PROVING_RELAY = "relay proved off"
    DONE = "done"


@dataclass(slots=True)
class StartTest:
    """One start test, or the shorter way back after a hold that opened the contactor (see `again`)."""

    step: Step = Step.AT_REST
    since_s: float = 0.0
    dropped_out_s: list[float | None] = field(default_factory=lambda: [None, None])
    pulses: int = 0
    times: dict[str, float] = field(default_factory=dict)
    failed: str | None = None
    let_go: bool = False  # the button, too early: no proof has failed, but the contactor is not in either
    undecided: str | None = None  # twice: the relay could not be told, with this evidence
    quiet: Quiet = field(default_factory=Quiet)  # how the reading moves with the contactor open
    proof: Proof | None = None
    permit: Permit = Permit.STILL
    enable: bool = False
    proves_relay: bool = True

    def enter(self, step: Step, now_s: float) -> None:
        """Go to a step."""
        self.step, self.since_s = step, now_s
        self.dropped_out_s = [None, None]


def again(now_s: float, *, proves_relay: bool = False) -> StartTest:
    """Contactor back in after a hold: the permit is toggling, the held press is seen.

    proves_relay: meter or current input can prove the relay within seconds. By the reading it cannot be told so soon
    after a lid: the reading comes back by itself, by as much as a relay that does not let go would give.
    """
    test = StartTest(permit=Permit.TOGGLE, enable=True, proves_relay=proves_relay)
    test.enter(Step.PULLING_IN, now_s)
    return test


def turn(
    test: StartTest,
    inputs: Inputs,
    pulses: int,
    reading_c: float,
    now_s: float,
    furnace: FurnaceDescription,
    meter: bool,
) -> None:
    """One cycle of the test: sets its permit and enable, its step, or why it failed. meter: fitted, and to be used."""
    here_s = now_s - test.since_s
    if test.step is not Step.PROVING_RELAY:
        test.quiet.see(now_s, reading_c)
    relays = (inputs.permit_relay_1, inputs.permit_relay_2)
    match test.step:
        case Step.AT_REST:
            _at_rest(test, inputs, relays, now_s)
        case Step.FIRST_TOGGLE | Step.SECOND_TOGGLE | Step.READY:
            _toggling(test, relays, here_s, now_s)
        case Step.STUCK_HIGH | Step.STUCK_LOW:
            _sticking(test, relays, here_s, now_s)
        case Step.PULLING_IN:
            _pulling_in(test, inputs, pulses, here_s, now_s)
        case Step.PROVING_RELAY:
            if _power_says(test, inputs, pulses, now_s, furnace, meter) is None:
                _by_the_reading(test, reading_c, now_s, furnace.response)
        case _:
            pass


def _at_rest(test: StartTest, inputs: Inputs, relays: tuple[Level, Level], now_s: float) -> None:
    if Level.CLOSED in relays:
        test.failed = "a permit relay reads closed with the permit still"
    elif inputs.mirror is not Level.CLOSED:
        test.failed = "the contactor is not proved open"
    elif inputs.load_current is Level.CLOSED:
        test.failed = "current flows with everything off"
    else:
        test.permit = Permit.TOGGLE
        test.enter(Step.FIRST_TOGGLE, now_s)


def _toggling(test: StartTest, relays: tuple[Level, Level], here_s: float, now_s: float) -> None:
    test.permit = Permit.TOGGLE
    if here_s > PULL_IN_S and Level.OPEN in relays:
        test.failed = f"a permit relay did not close within {PULL_IN_S} s of toggling"
    elif here_s >= TOGGLE_S:
        if test.step is Step.READY:
            test.enter(Step.ASKING, now_s)
        else:
            high = test.step is Step.FIRST_TOGGLE
            test.permit = Permit.HIGH if high else Permit.LOW
            test.enter(Step.STUCK_HIGH if high else Step.STUCK_LOW, now_s)


def _sticking(test: StartTest, relays: tuple[Level, Level], here_s: float, now_s: float) -> None:
    """Both relays must let go in time and stay open for one look more: a line that flickers has not let go."""
    stuck, dropped_s = "high" if test.step is Step.STUCK_HIGH else "low", test.dropped_out_s
    for number, relay in enumerate(relays):
        if relay is Level.CLOSED:
            dropped_s[number] = None
        elif dropped_s[number] is None:
            dropped_s[number] = here_s
            if relay is Level.OPEN:
                test.times[f"relay {number + 1}, stuck {stuck}"] = here_s
                if here_s < DROP_OUT_S[0]:
                    test.failed = f"permit relay {number + 1} let go after {here_s:.2f} s; allowed: 0.9 to 2.1 s"
    if here_s > DROP_OUT_S[1] and any(at_s is None or at_s > DROP_OUT_S[1] for at_s in dropped_s):
        test.failed = f"a permit relay still held {here_s:.2f} s after the permit stuck {stuck}; allowed: 0.9 to 2.1 s"
    elif here_s not in dropped_s and None not in dropped_s:
        test.permit = Permit.TOGGLE
        test.enter(Step.SECOND_TOGGLE if stuck == "high" else Step.READY, now_s)


def _pulling_in(test: StartTest, inputs: Inputs, pulses: int, here_s: float, now_s: float) -> None:
    if inputs.mirror is Level.OPEN:
        test.times["contactor in"] = here_s
        test.pulses = pulses
        test.enter(Step.PROVING_RELAY if test.proves_relay else Step.DONE, now_s)
    elif inputs.reset_button is not Level.CLOSED:
        test.let_go, test.enable = True, False
    elif here_s > MIRROR_S:
        test.failed = f"the contactor did not go in within {MIRROR_S} s"


def _power_says(
    test: StartTest, inputs: Inputs, pulses: int, now_s: float, furnace: FurnaceDescription, meter: bool
) -> Result | None:
    """The relay's proof by current input or meter; None: neither is fitted and to be used."""
    here_s = now_s - test.since_s
    metered = meter and furnace.pulses_per_kwh is not None
    came = pulses - test.pulses if metered else 0
    if inputs.load_current is Level.CLOSED or came >= 2:
        test.failed = "the relay does not let go: power flows while it is off"
        by = METER_AT_START if came >= 2 else CURRENT_AT_START
        test.proof = Proof(Result.FAILED, now_s, by, f"{test.failed}, after {here_s:.1f} s")
        return Result.FAILED
    if inputs.load_current is Level.OPEN:
        enough_s, by, said = PROOF_BY_CURRENT_S, CURRENT_AT_START, "no current"
    elif metered:
        enough_s, by, said = PROOF_BY_METER_S, METER_AT_START, f"{came} meter pulses"
    else:
        return None
    if here_s < enough_s * (1 + came):  # one pulse might be a stray; half of full power gives another in that time
        return Result.UNDECIDED
    test.proof = Proof(Result.PROVED, now_s, by, f"{said} in {here_s:.0f} s")
    test.enter(Step.DONE, now_s)
    return Result.PROVED


def _by_the_reading(test: StartTest, reading_c: float, now_s: float, response: Response) -> None:
    """The relay's proof by the reading alone: a minute and a half, and once more as long while it is undecided."""
    here_s = now_s - test.since_s
    test.quiet.recent.append(reading_c)
    found = judge_off(test.quiet, test.since_s, now_s, response)
    tries = int(here_s // PROOF_BY_READING_S)
    if found.result is Result.FAILED:
        test.failed, test.proof = f"the relay does not let go: {found.evidence}", found
    elif tries and found.result is Result.PROVED and here_s - tries * PROOF_BY_READING_S < 1.0:
        test.proof = found
        test.enter(Step.DONE, now_s)
    elif tries >= LONGEST_PROOFS:
        test.undecided, test.proof = found.evidence, found
