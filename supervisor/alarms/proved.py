"""Whether heat is off: the one place that may say so, and only when it is proved.

Proved is: the contactor reads open by its mirror contact; or, where no mirror is fitted, the relay has been told off
and a meter or current input that has shown current in this firing has shown none for ten seconds. What is not fitted
proves nothing. Where the mirror is fitted and does not read open no meter makes up for it, and current that flows
overrules every mirror. All else is an order that nobody has seen obeyed, and after three seconds the breaker is named.
"""

from typing import Literal, NamedTuple

from hardware.ports import Inputs, Level
from supervisor.alarms.lifecycle import Alarms
from supervisor.firing.power import Power

PROVED_WITHIN_S = 3.0
NONE_FOR_S = 10.0
LINGERS_S = 1.0
"""The relay lets go at the end of a half wave, and a current input a little after that."""
SEE_CURRENT = ("power-without-command", "power-at-rest", "current-when-off")
"""Watches that speak when current flows unasked."""

Off = Literal["proved", "ordered"]


class Proofs(NamedTuple):
    """What there is to judge by."""

    enable: bool  # the contactor is told to be in: heat may flow at any moment
    mirror: Level  # closed: the contactor reads open
    off_for_s: float  # since the enable went off
    none_for_s: float | None = None  # relay off, and no current seen, for so long; None: nothing fitted shows it
    flows: bool = False  # current is seen although everything is ordered off


class Heat(NamedTuple):
    """What may be said of heat."""

    allowed: bool
    off: Off | None  # None: heat may flow
    why: str  # ends 'Heat is off: ...', or 'Off was ordered, ...'; empty while heat is allowed

    @property
    def sentence(self) -> str:
        """All of it."""
        if self.off is None:
            return "Heat is allowed."
        return f"Heat is off: {self.why}" if self.off == "proved" else f"Off was ordered, {self.why}"


def contactor_open(enable: bool, mirror: Level) -> bool:
    """The contactor reads open, and nothing asks it in. Hands near the chamber need this, and no less."""
    return mirror is Level.CLOSED and not enable


def heat_words(proofs: Proofs, breaker: str = "the breaker") -> Heat:
    """Say what is true of heat now. breaker: its name at this furnace."""
    if proofs.enable:
        return Heat(True, None, "")
    if proofs.flows:
        return Heat(False, "ordered", f"but current still flows: switch off at {breaker}.")
    if contactor_open(proofs.enable, proofs.mirror):
        return Heat(False, "proved", "the contactor reads open.")
    none = proofs.none_for_s is not None and proofs.none_for_s >= NONE_FOR_S
    if none and proofs.mirror is Level.NOT_FITTED:
        return Heat(False, "proved", f"no current has flowed for {NONE_FOR_S:.0f} s.")
    late = proofs.off_for_s > PROVED_WITHIN_S
    return Heat(False, "ordered", f"not proved: switch off at {breaker}." if late else "not proved yet.")


def flows(alarms: Alarms, power: Power, inputs: Inputs, now_s: float, off_for_s: float) -> bool:
    """Current is seen although off was ordered: by the input, by two pulses of the meter, or by a watch over them."""
    if inputs.load_current is Level.CLOSED and off_for_s > LINGERS_S:
        return True
    # With the contactor in, the last pulses may be of the moment before it opened: they tell while it has not.
    first_s, _ = power.out_pulses_s if inputs.mirror is Level.CLOSED else power.off_pulses_s
    if first_s > now_s - min(NONE_FOR_S, off_for_s):
        return True
    standing = (alarms.standing.get(watch) for watch in SEE_CURRENT)
    return any(s is not None and s.stands for s in standing)
