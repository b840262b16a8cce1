"""What people do in the middle of a firing: open the lid, hold it, add cold metal, stop, go away."""

from functools import partial
from random import Random

from supervisor.firing import commands as c
from supervisor.firing.profile import Profile
from supervisor.firing.states import HEATED, State
from supervisor.furnace.description import FurnaceDescription
from supervisor.rehearsal.drill.trial import Acts, Happening, Trial

ASKS_AGAIN_S = 20.0
AWAY_S = 7200.0
UNSEEN_LID_S = 120.0


def happenings(dice: Random, furnace: FurnaceDescription, profile: Profile) -> tuple[Happening, ...]:
    """Up to five; the moments are drawn over the first two hours in running."""
    found = []
    for _ in range(dice.randint(0, 5)):
        after_s = dice.uniform(120.0, 7200.0)
        kind = dice.choice(("peek", "look", "hold", "addition"))
        if kind == "peek":
            found.append(Happening("peek", after_s, partial(open_lid, seconds=dice.uniform(1.0, 4.5))))
        elif kind == "look":
            found.append(Happening("look", after_s, partial(open_lid, seconds=dice.uniform(6.0, 45.0))))
        elif kind == "hold":
            found.append(Happening("hold", after_s, partial(_hold, seconds=dice.uniform(30.0, 480.0))))
        elif profile.charge is not None:
            room_kg = furnace.crucible.capacity_kg - profile.charge.mass_kg
            mass_kg = round(min(dice.uniform(0.1, 0.4), 0.4 * room_kg), 3)
            if mass_kg >= 0.05:
                found.append(Happening("addition", after_s, partial(_add, mass_kg=mass_kg)))
    return tuple(found)


def open_lid(trial: Trial, *, seconds: float) -> Acts:
    """Open the lid, look, shut it; where it needs the button the lamp says so."""
    trial.furnace.lid(True)
    yield from trial.wait(seconds)
    trial.furnace.lid(False)
    yield from _until_running(trial, ask=False)


def leave_lid_open(trial: Trial) -> Acts:
    """Open it, and look for longer than anybody should."""
    trial.furnace.lid(True)
    yield from trial.wait(UNSEEN_LID_S)


def stop(trial: Trial) -> Acts:
    """Stop the firing."""
    yield [c.Stop(_by(trial))]


def go_away(trial: Trial) -> Acts:
    """Answer nothing any more."""
    trial.stand_in.absent = (*trial.stand_in.absent, (trial.time_s, trial.time_s + AWAY_S))
    yield []


THEN = {"open the lid": leave_lid_open, "stop": stop, "go away": go_away}
"""What people do next, where a fault shows only then."""


def _hold(trial: Trial, *, seconds: float) -> Acts:
    yield [c.Hold(_by(trial))]
    yield from trial.wait(seconds)
    yield from _until_running(trial, ask=True)


def _add(trial: Trial, *, mass_kg: float) -> Acts:
    """Hold, lid, cold metal, note, lid, go on."""
    charge = trial.setting.profile.charge
    assert charge is not None  # drawn for profiles with a charge only
    yield [c.Hold(_by(trial))]
    yield from trial.wait(2.0)
    trial.furnace.lid(True)
    yield from trial.wait(5.0)
    trial.furnace.add_charge(mass_kg * trial.setting.true_mass, 20.0, charge.alloy)
    yield [c.Note(_by(trial), c.NoteKind.ADDITION, trial.memory.epoch, mass_kg)]
    yield from trial.wait(5.0)
    trial.furnace.lid(False)
    yield from _until_running(trial, ask=True)


def _until_running(trial: Trial, *, ask: bool) -> Acts:
    """Wait until heat is back; where somebody asked for the hold, somebody asks to go on, again and again."""
    waited_s = 0.0
    while trial.state in HEATED and (trial.state is not State.RUNNING or waited_s < 1.0):
        due = ask and waited_s % ASKS_AGAIN_S == 1.0 and not trial.memory.firing.asked_to_go_on
        yield [c.Resume(_by(trial), trial.memory.epoch)] if due else []
        waited_s += 0.25


def _by(trial: Trial) -> c.By:
    return c.By(f"happening-{trial.time_s:.2f}", "stand-in", "drill")
