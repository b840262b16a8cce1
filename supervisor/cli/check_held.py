"""The program that gives the permit is killed, or halted as if it hung: the contactor must open by itself.

A second program of ours holds the contactor in, as the supervisor would, with the relay off; this one kills or halts
it. What is shown is the permit circuit's work: no line of ours switches anything off.
"""

import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable, Sequence
from contextlib import closing

from hardware.clock import monotonic_s, sleep_s
from hardware.ports import FurnaceHardware, Level, Permit
from supervisor.cli.check_rig import Failed, Given, NotProved, Person, Rig, contactor_in
from supervisor.cli.check_steps import Made

OPEN_WITHIN_S = 3.0
HALTED_FOR_S = 2.6
"""The permit runs out 2.1 s after its last edge at the latest (simulated, not built)."""
GAP_S = 1.0
IN, SAW = "in", "saw"
"""First word of what the holding program says to the one that started it; all else is for the person."""
HOLDS_FOR_S = 60.0

Looking = Callable[[], FurnaceHardware]
"""Opens the furnace without its outputs."""


def hold_in(rig: Rig, person: Person, say: Callable[[str, dict[str, float | bool]], None]) -> None:
    """What the second program does: contactor in, then the permit for a minute, or until it was halted.

    Raises:
        NotProved: the contactor did not go in.
    """
    contactor_in(rig, person, prove_relay=False)
    say(IN, {})
    began_s = before_s = rig.now_s
    while rig.now_s - began_s < HOLDS_FOR_S:
        sample = rig.turn(Given(enable=True, permit=Permit.TOGGLE))
        if sample.monotonic_s - before_s > GAP_S:  # it was halted: it looks before it moves any line
            say(SAW, {"after_s": sample.monotonic_s - before_s, "open": sample.inputs.mirror is Level.CLOSED})
            break
        before_s = sample.monotonic_s
    rig.rest()


def killed(arguments: Sequence[str], person: Person, looking: Looking) -> Made:
    """Kill the holding program, then look: without outputs, so that nothing of ours opens the contactor."""
    with _Holder(arguments, person) as holder:
        holder.wait_until_in()
        at_s = monotonic_s()
        os.kill(holder.process.pid, signal.SIGKILL)
        holder.process.wait()
    with closing(looking()) as hardware:
        while hardware.sample().inputs.mirror is not Level.CLOSED:
            if monotonic_s() - at_s > OPEN_WITHIN_S:
                raise Failed(f"the contactor was still in {OPEN_WITHIN_S:.0f} s after it. Switch off at the breaker")
        after_s = monotonic_s() - at_s
        again_s = monotonic_s() + 1.0
        while monotonic_s() < again_s:
            if hardware.sample().inputs.mirror is not Level.CLOSED:
                raise Failed("the contactor went in again by itself. Switch off at the breaker")
    return Made(f"killed; seen open after {after_s:.1f} s, and it stayed open")


def halted(arguments: Sequence[str], person: Person) -> Made:
    """Halt the holding program for longer than the permit lasts; awake again, it looks before it moves a line."""
    with _Holder(arguments, person) as holder:
        holder.wait_until_in()
        os.kill(holder.process.pid, signal.SIGSTOP)
        try:
            sleep_s(HALTED_FOR_S)
        finally:
            os.kill(holder.process.pid, signal.SIGCONT)
        seen = holder.wait_for(SAW)
    if not seen["open"]:
        raise Failed(f"the contactor was still in after {seen['after_s']:.1f} s. Switch off at the breaker")
    return Made(f"halted for {seen['after_s']:.1f} s; open by then")


class _Holder:
    """The holding program, and what it says."""

    def __init__(self, arguments: Sequence[str], person: Person) -> None:
        self._person = person
        self.process = subprocess.Popen(
            [sys.executable, "-m", "supervisor.cli", "check", *arguments, "--hold-in"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            text=True,
        )

    def __enter__(self) -> "_Holder":
        return self

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            self.process.terminate()
            self.process.wait()
        if self.process.stdout is not None:
            self.process.stdout.close()

    def wait_until_in(self) -> None:
        """It has the contactor in, and gives the permit.

        Raises:
            NotProved: it did not get there.
        """
        self.wait_for(IN)
        sleep_s(1.0)

    def wait_for(self, word: str) -> dict[str, float]:
        """What it says after that word; everything else is passed on.

        Raises:
            NotProved: it ended first.
        """
        assert self.process.stdout is not None
        last = ""
        for line in self.process.stdout:
            told = json.loads(line)
            if told["word"] == word:
                return dict(told["with"])
            last = told["with"]["sentence"]
            self._person.tell(last)
        raise NotProved(last or "the program that holds the contactor in ended by itself")
