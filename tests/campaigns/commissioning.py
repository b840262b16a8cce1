"""`python -m tests.campaigns.commissioning [--seed N] [--furnace NAME] [--json]`: a furnace from no heat to melts.

Everything is simulated: the Pi's backend on mock pins, in virtual time. Every cold proof is made by the steps of
`check` on it, then a trial is fired, its limiter tripped hot, then a dry-out and a first heat, by the real cycle with
every proof counted. Printed is after which firing the furnace had reached which stage, and what was refused.
"""

import argparse
import json
import sys
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from hardware.ports import CYCLE_S, Level
from hardware.simulated.furnace import Furnace
from hardware.simulated.plant import Bench, Workshop
from hardware.simulated.stand_in import StandIn
from supervisor.cli.check_going import Answer
from supervisor.cli.check_rig import Rig
from supervisor.cli.check_steps import ASKS, STEPS
from supervisor.cycle import cycle, first_memory
from supervisor.firing import commands as c
from supervisor.firing.profile import Profile
from supervisor.firing.profile_file import read_profile
from supervisor.firing.states import LIVE, State
from supervisor.firing.witness import LINES
from supervisor.furnace.file import read_furnace
from supervisor.furnace.proofs import of
from supervisor.furnace.stages import Unlocking, make
from supervisor.logbook.records import ProofRow
from supervisor.metal.charge import Planned
from tests.hardware.mock_pi import MockPi

EXAMPLES = Path(__file__).resolve().parents[2] / "docs" / "examples"
PLANTS = {"bench": Bench, "workshop": Workshop}


@dataclass
class Somebody:
    """Who stands at it, and does what the steps say."""

    furnace: Furnace
    limiter_c: float
    line: str = "lamp"
    since: int = 0
    told: list[str] = field(default_factory=list)

    def tell(self, sentence: str) -> None:
        self.told.append(sentence)
        if sentence in ("Look at the lamp.", "Listen."):
            self.line, self.since = ("lamp" if "lamp" in sentence else "sounder"), len(self.furnace.edges)
        acts = {
            "Hold the button": lambda: self.furnace.press(3.75),
            "Press the emergency stop": lambda: self.furnace.emergency_stop(True),
            "Pull the emergency stop": lambda: self.furnace.emergency_stop(False),
            LINES["lid"].away: lambda: self.furnace.lid(True),
            LINES["lid"].back: lambda: self.furnace.lid(False),
            LINES["key"].away: lambda: self.furnace.key(False),
            LINES["key"].back: lambda: self.furnace.key(True),
            LINES["button"].away: lambda: self.furnace.press(1.0),
            LINES["limiter-sensor"].away: self.furnace.trip_limiter,
            "Plug it in": self.furnace.limiter_reset,
        }
        for part, act in acts.items():
            if part in sentence:
                act()

    def ask(self, question: str) -> str:
        if question == ASKS["limiter-setting"]:
            return f"{self.limiter_c:g}"
        if question == "How often?":
            return str(sum(e.line == self.line and e.level for e in self.furnace.edges[self.since :]))
        return "simulated: nothing was measured"

    def ready(self) -> Answer:
        return Answer.GO


class Site:
    """One furnace on mock pins with its supervisor, whose proofs count."""

    def __init__(self, name: str, seed: int) -> None:
        self.furnace = read_furnace(name)
        made = Furnace(PLANTS[name](seed=seed), self.furnace.wiring, seed=seed, limiter_c=self.furnace.limiter_c,
                       pulses_per_kwh=self.furnace.pulses_per_kwh or 1000)  # fmt: skip
        self.pi = MockPi(made)
        self.unlocking = Unlocking(today_ms=1_800_000_000_000)
        self.supervise()
        self.stand_in: StandIn | None = StandIn(5.0)
        self.witnessed: list[str] = []

    def supervise(self) -> None:
        """A supervisor begins, and finds what was proved so far."""
        self.memory = first_memory(
            self.furnace, backend="pi", monotonic_s=self.pi.now_s, next_firing_id=1, left_open=None
        )
        self.memory.firing.unlocking = self.unlocking

    @property
    def stage(self) -> int:
        return int(self.unlocking.stage(self.furnace))

    def cold_proofs(self) -> list[str]:
        """Every cold proof, by its step where it has one; what takes another program is watched on the pins."""
        person = Somebody(self.pi.furnace, self.furnace.limiter_c)
        made = []
        for name, kind in of(self.furnace).items():
            if kind.opens != 1:
                continue
            step = STEPS.get(name)
            if step is not None:
                came = step(Rig(self.pi.hardware, self.furnace), person)
                evidence, witnessed = came.evidence, came.witnessed
            else:
                evidence, witnessed = person.ask(ASKS.get(name, "")), not kind.stated
            make(self.unlocking, name, self.furnace, evidence=evidence, who="Ada", witnessed=witnessed)
            made.append(name)
        self.supervise()
        return made

    def turn(self, *commands: c.Command) -> list[c.Answer]:
        sample = self.pi.hardware.sample()
        step = cycle(self.memory, sample, commands, CYCLE_S)
        self.pi.hardware.apply(step.outputs)
        if self.stand_in is not None:
            self.stand_in.look(self.pi.furnace, lamp=step.outputs.lamp, now_s=sample.monotonic_s)
        self.witnessed += [row.proved.proof for row in step.records if isinstance(row, ProofRow)]
        return list(step.answers)

    def refusal(self, profile: Profile, planned: Planned | None = None) -> str:
        """Why this profile is not started; empty: it was. planned: the charge as somebody weighed it."""
        by = c.By("id", "Ada", "page")
        for _ in range(8):
            self.turn()
        self.turn(c.Prepare(by, profile, None, planned))
        mass_kg = None if profile.charge is None else profile.charge.mass_kg
        allowance_wh = self.memory.firing.prepared_allowance_wh
        assert allowance_wh is not None  # nothing is learned: the data sheets say it at once
        echo = (profile.name, mass_kg, profile.top_c, profile.longest_s, allowance_wh, True)
        (answer,) = self.turn(c.Start(by, self.memory.epoch, *echo))
        if not answer.accepted:
            self.turn(c.Stop(by))
        return "" if answer.accepted else answer.sentence

    def fire(self, profile: Profile, *, trip_at_c: float | None = None) -> dict[str, Any]:
        """One firing to its end; the limiter is tripped at a reading."""
        before = len(self.witnessed)
        began_s, presses = self.pi.now_s, 0
        why = self.refusal(profile)
        if why:
            return {"firing": profile.name, "refused": why}
        pressed = False
        while self.memory.firing.state in LIVE:
            self.turn()
            button = self.pi.furnace.interlock.button_pressed
            presses += button and not pressed
            pressed = button
            reading_c = self.memory.belief.last_c or 0.0
            if trip_at_c is not None and reading_c >= trip_at_c:
                self.pi.furnace.trip_limiter()
                trip_at_c = None
        for _ in range(12):
            self.turn()
        state, run = self.memory.firing.state.value, self.memory.firing.run
        self._reset()
        return {
            "firing": profile.name,
            "ended": state,
            "minutes": round((self.pi.now_s - began_s) / 60.0, 1),
            "peak_c": None if run is None else round(run.peak_c),
            "presses": presses,
            "witnessed": self.witnessed[before:],
            "stage": self.stage,
        }

    def _reset(self) -> None:
        """After a trip: limiter reset by hand, what was found, the held press."""
        if self.memory.firing.state is not State.ABORTED:
            return
        self.pi.furnace.limiter_reset()
        self.turn(c.Reset(c.By("id", "Ada", "page"), "tripped on purpose"))
        for _ in range(80):
            self.turn()
        # What a trip was about is proved again: the limiter's line, seen to open and close.
        self.pi.furnace.trip_limiter()
        for _ in range(8):
            self.turn()
        self.pi.furnace.limiter_reset()
        for _ in range(8):
            self.turn()
        assert self.memory.sample is not None
        assert self.memory.sample.inputs.limiter is Level.CLOSED


def commission(name: str, seed: int) -> dict[str, Any]:
    """From no heat to melts; what happened."""
    site = Site(name, seed)
    melt = read_profile(EXAMPLES / "ingots-2kg.toml", site.furnace)
    trial = read_profile(EXAMPLES / "trial-30min.toml", site.furnace)
    found: dict[str, Any] = {"furnace": name, "seed": seed, "refused_at": {"0": site.refusal(trial)}}
    found["cold_proofs"], found["stage_after_cold"] = len(site.cold_proofs()), site.stage
    found["refused_at"]["1"] = site.refusal(melt)
    firings = [site.fire(trial, trip_at_c=150.0)]
    found["refused_at"]["2"] = site.refusal(melt)
    dry = replace(read_profile(EXAMPLES / "dry-out-6h.toml", site.furnace))
    firings.append(site.fire(dry))
    firings.append(site.fire(read_profile(EXAMPLES / "first-heat.toml", site.furnace)))
    found["firings"], found["stage"] = firings, site.stage
    # A melt at last: not with the mass that the profile's file names, but with one that was weighed and proved dry.
    found["refused_at"]["3"] = site.refusal(melt)
    assert melt.charge is not None
    assert melt.pour_c is not None
    found["planned_melt"] = site.refusal(melt, Planned(melt.charge, melt.pour_c, 12 * 3600.0)) or "started"
    return found


def main() -> int:
    """Run it, and say what happened."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--furnace", default="workshop", choices=sorted(PLANTS))
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    found = commission(asked.furnace, asked.seed)
    if asked.json:
        sys.stdout.write(json.dumps(found, ensure_ascii=False, indent=1) + "\n")
    else:
        say = sys.stdout.write
        say(f"Simulated {found['furnace']}, seed {found['seed']}: {found['cold_proofs']} cold proofs, then stage"
            f" {found['stage_after_cold']}.\n")  # fmt: skip
        for stage, why in found["refused_at"].items():
            say(f"Refused at stage {stage}: {why}\n")
        for each in found["firings"]:
            say(f"{each}\n")
        say(f"A melt that was weighed and planned: {found['planned_melt']}\n")
    return 0 if found["stage"] == 3 else 1


if __name__ == "__main__":
    sys.exit(main())
