"""Whether heat is off: gathers the proofs from what the supervisor remembers; the words are of `alarms.proved`."""

from hardware.ports import Level
from supervisor.alarms.proved import NONE_FOR_S, Heat, Proofs, contactor_open, flows, heat_words
from supervisor.cycle import Memory


def heat(memory: Memory) -> Heat:
    """What may be said of heat now."""
    return heat_words(proofs(memory))


def hands_allowed(memory: Memory) -> bool:
    """The contactor reads open, nothing asks it in, and no current is seen: what every prompt for hands waits for."""
    found = proofs(memory)
    return contactor_open(found.enable, found.mirror) and not found.flows


def proofs(memory: Memory) -> Proofs:
    """What there is to judge by. A meter counts only once it has counted in this firing."""
    sample, firing, now_s = memory.sample, memory.firing, memory.belief.monotonic_s
    if sample is None:
        return Proofs(memory.outputs.enable, Level.NOT_FITTED, 0.0)
    off_for_s = 0.0 if firing.enable_off_s is None else now_s - firing.enable_off_s
    return Proofs(
        memory.outputs.enable,
        sample.inputs.mirror,
        off_for_s,
        _none_for_s(memory),
        flows(memory.alarms, sample.inputs, off_for_s),
    )


def _none_for_s(memory: Memory) -> float | None:
    """How long no current was seen with the relay off, up to what a proof needs; None: nothing here shows it."""
    run, window_s = memory.firing.run, round(NONE_FOR_S)
    metered = memory.furnace.pulses_per_kwh is not None and run is not None and run.metered_wh > 0.0
    if memory.firing.current_s is not None:
        none_s = memory.belief.monotonic_s - memory.firing.current_s
        return 0.0 if memory.history.mean_duty(window_s) != 0.0 else none_s
    if not metered or memory.history.mean_duty(window_s + 1) != 0.0:
        return None
    return NONE_FOR_S if memory.history.pulses_in(window_s) == 0 else 0.0
