"""Whether heat is off: gathers the proofs from what the supervisor remembers; the words are of `alarms.proved`."""

from hardware.ports import Level
from supervisor.alarms.proved import Heat, Proofs, contactor_open, flows, heat_words
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
    enable = memory.outputs.enable or memory.furnace.looks_only  # another regulator may heat at any moment
    if sample is None:
        return Proofs(enable, Level.NOT_FITTED, 0.0)
    off_for_s = 0.0 if firing.enable_off_s is None else now_s - firing.enable_off_s
    return Proofs(
        enable,
        sample.inputs.mirror,
        off_for_s,
        _none_for_s(memory),
        flows(memory.alarms, memory.firing.power, sample.inputs, now_s, off_for_s),
    )


def _none_for_s(memory: Memory) -> float | None:
    """How long the relay has been off without any current seen; None: nothing here shows current."""
    firing, now_s = memory.firing, memory.belief.monotonic_s
    power = firing.power
    seen_s = [power.off_since_s]
    if firing.current_s is not None:
        seen_s.append(firing.current_s)
    elif power.fair > 0 and power.trusted(now_s):
        seen_s += [power.off_pulses_s[1], power.out_pulses_s[1]]
    else:
        return None
    return 0.0 if power.off_since_s is None else now_s - max(at_s for at_s in seen_s if at_s is not None)
