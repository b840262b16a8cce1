"""The proofs that `check` makes on a furnace that it has to itself, one step each. None of them orders heat."""

from collections.abc import Callable
from random import SystemRandom
from typing import NamedTuple

from hardware.ports import Level, Permit, Reading
from supervisor.cli.check_rig import (
    SEEN_WITHIN_S,
    Failed,
    Given,
    NotProved,
    Person,
    Rig,
    contactor_in,
    opens,
    permit_runs_out,
)
from supervisor.firing.permissives import COLD_CHECK_BELOW_C, COLD_CHECK_K
from supervisor.firing.witness import GIVEN_UP_AFTER_S, LINES, STEADY_LOOKS, Moved
from supervisor.furnace.permit_times import as_evidence

HELD_IN_S = 60.0
STAYS_OUT_S = 3.0
FLASH_S = 0.75
MIXED_UP = 2  # flashes at least, so that nobody says them without having looked


class Made(NamedTuple):
    """What a step came to, once it has come to something."""

    evidence: str
    witnessed: bool = True


Step = Callable[[Rig, Person], Made]


def moved(name: str) -> Step:
    """An input that a person moves away and back."""

    def step(rig: Rig, person: Person) -> Made:
        follow, began_s, told = Moved(LINES[name]), rig.now_s, ""
        for _ in range(STEADY_LOOKS):
            follow.see(rig.turn().inputs)
        while not follow.see(rig.turn().inputs):
            if follow.wants != told:
                person.tell(follow.wants if not told else f"Seen. {follow.wants}")
                told = follow.wants
            if rig.now_s - began_s > GIVEN_UP_AFTER_S:
                raise NotProved(f"it was not seen within {GIVEN_UP_AFTER_S:.0f} s: {follow.wants}")
        return Made("seen both ways")

    return step


def cold_check(rig: Rig, person: Person) -> Made:
    """Hot and cold junction agree in a cold furnace; of a second thermocouple too."""
    found = []
    for number, reading in enumerate(rig.turn().sensors):
        which = "the sensor" if number == 0 else "the second sensor"
        if not isinstance(reading, Reading):
            raise Failed(f"{which} does not read: {reading.reason}")
        if reading.hot_junction_c >= COLD_CHECK_BELOW_C:
            raise NotProved(f"{which} reads {reading.hot_junction_c:.0f} °C: below 40 °C it can be told")
        apart_k = abs(reading.hot_junction_c - reading.cold_junction_c)
        if apart_k > COLD_CHECK_K:
            raise Failed(f"{which}: hot and cold junction are {apart_k:.1f} K apart; allowed: {COLD_CHECK_K:g} K")
        found.append(f"{reading.hot_junction_c:.1f} and {reading.cold_junction_c:.1f} °C")
    return Made("; ".join(found))


def counted(line: str) -> Step:
    """Lamp or sounder goes some times; whoever looked says how often."""

    def step(rig: Rig, person: Person) -> Made:
        times = SystemRandom().randint(MIXED_UP, 5)
        person.tell("Look at the lamp." if line == "lamp" else "Listen.")
        for _ in range(times):
            rig.wait_for(lambda sample: False, FLASH_S, Given(lamp=line == "lamp", sounder=line == "sounder"))
            rig.wait_for(lambda sample: False, FLASH_S)
        rig.rest()
        said = person.ask("How often?").strip()
        if said != str(times):
            raise NotProved(f"it went {times} times, and {said or 'nothing'} was said")
        return Made(f"{times} times, counted", witnessed=False)

    return step


def permit(rig: Rig, person: Person) -> Made:
    """The permit runs out, stuck high and stuck low."""
    return Made(as_evidence(permit_runs_out(rig)))


def contactor(rig: Rig, person: Person) -> Made:
    """The contactor goes in by a held press, the relay is proved off, and it opens when the enable goes."""
    test = contactor_in(rig, person, prove_relay=True)
    opened_s = opens(rig)
    if opened_s is None:
        raise Failed(f"it was not proved open {SEEN_WITHIN_S} s after the enable went. Switch off at the breaker")
    proof = "" if test.proof is None else f"; relay off by {test.proof.how}: {test.proof.evidence}"
    return Made(f"in after {test.times['contactor in']:.2f} s, open after {opened_s:.2f} s{proof}")


def emergency_stop(rig: Rig, person: Person) -> Made:
    """The emergency stop opens the contactor, and letting it out again brings nothing back."""
    contactor_in(rig, person, prove_relay=False)
    in_ = Given(enable=True, permit=Permit.TOGGLE)
    person.tell("Press the emergency stop.")
    if rig.wait_for(lambda sample: sample.inputs.emergency_stop is Level.OPEN, HELD_IN_S, in_) is None:
        rig.rest()
        raise NotProved("it was not pressed within 60 s")
    opened_s = 0.0
    if rig.sample.inputs.mirror is not Level.CLOSED:
        waited_s = rig.wait_for(lambda sample: sample.inputs.mirror is Level.CLOSED, SEEN_WITHIN_S, in_)
        if waited_s is None:
            rig.rest()
            raise Failed("the contactor did not open. Switch off at the breaker")
        opened_s = waited_s
    person.tell("The contactor is open. Pull the emergency stop out again.")
    if rig.wait_for(lambda sample: sample.inputs.emergency_stop is Level.CLOSED, HELD_IN_S, in_) is None:
        rig.rest()
        raise NotProved("it was not pulled out within 60 s")
    back = rig.wait_for(lambda sample: sample.inputs.mirror is not Level.CLOSED, STAYS_OUT_S, in_)
    rig.rest()
    if back is not None:
        raise Failed("the contactor went in again by itself. Switch off at the breaker")
    return Made(f"open within {opened_s + 0.25:.2f} s, and it stayed out for {STAYS_OUT_S:.0f} s")


def unplugged(rig: Rig, person: Person) -> Made:
    """The computer's supply is pulled: this program ends with it, so somebody says afterwards what was seen."""
    said = person.ask(
        "Have you done it already? Then say what you saw: the contactor's lamp went out, how soon, and stayed out."
        " Empty: do it now."
    ).strip()
    if said:
        return Made(said, witnessed=False)
    contactor_in(rig, person, prove_relay=False)
    person.tell(
        "Now pull the computer's own supply, and look at the contactor's lamp. When the computer is back, run"
        " `meltkeeper check unplugged` again and say what you saw."
    )
    rig.wait_for(lambda sample: False, HELD_IN_S, Given(enable=True, permit=Permit.TOGGLE))
    rig.rest()
    raise NotProved("the supply was not pulled within 60 s; the contactor is open again")


def stated(name: str, person: Person) -> Made:
    """What no input can witness: somebody says it. The furnace is not opened for it."""
    said = person.ask(ASKS.get(name, "What was seen, measured or read, and by whom?")).strip()
    if not said:
        raise NotProved("nothing was said")
    return Made(said, witnessed=False)


ASKS = {"limiter-setting": "What does the dial say, in °C?"}

STEPS: dict[str, Step] = {
    **{name: moved(name) for name in LINES},
    "cold-check": cold_check,
    "lamp": counted("lamp"),
    "sounder": counted("sounder"),
    "permit": permit,
    "contactor": contactor,
    "emergency-stop": emergency_stop,
    "unplugged": unplugged,
}
"""What is done for each proof; `check_held` makes those that take a second program."""
