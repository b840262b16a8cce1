"""Settings drawn from a seed: furnaces within 20 % of their description, profiles, and what people do meanwhile."""

from functools import partial
from random import Random

from hardware.simulated.plant import Bench, Workshop
from supervisor.firing import commands as c
from supervisor.firing.profile import Profile
from supervisor.firing.profile_file import profile_from_text
from supervisor.firing.states import HEATED, State
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.file import read_furnace
from supervisor.furnace.reckoning import fastest_ramp_c_per_h
from supervisor.metal.alloys import alloy
from tests.campaigns.trial import Acts, Happening, Setting, Trial

SPREAD = 0.2
ALLOYS = ("6082", "6061", "5083", "2024", "7075", "A356.0", "380.0")
PLANTS = {"bench": Bench, "workshop": Workshop}
_ASKS_AGAIN_S = 20.0


def setting(seed: int, *, happenings: bool = True, short: bool = False) -> Setting:
    """A firing drawn from the seed. short: some 25 min to 500 °C without metal, for trials of the campaign itself."""
    dice = Random(seed)
    name = dice.choice(tuple(PLANTS))
    furnace = read_furnace(name)
    profile = _short(dice, furnace) if short else _profile(dice, furnace)
    plant = partial(PLANTS[name], seed=seed, spread=SPREAD, start_c=round(dice.uniform(19.0, 21.0), 1))
    done = _happenings(dice, furnace, profile) if happenings else ()
    return Setting(furnace, plant, profile, seed, round(dice.uniform(2.0, 45.0), 1), done)


def _profile(dice: Random, furnace: FurnaceDescription) -> Profile:
    return _melt(dice, furnace) if dice.random() < 0.6 else _without_metal(dice, furnace)


def _melt(dice: Random, furnace: FurnaceDescription) -> Profile:
    metal = dice.choice(ALLOYS)
    liquidus_c = alloy(metal).liquidus_c or 660.0
    hot_c = round(min(liquidus_c + dice.uniform(60.0, 110.0), 780.0))
    charge = f'[charge]\nmass_kg = {dice.uniform(0.4, furnace.crucible.capacity_kg):.2f}\nalloy = "{metal}"\n'
    words = f'{charge}form = "off-cuts"\n'
    words += _ramp(dice, furnace, 20.0, hot_c, 300.0, 700.0)
    words += f'[[segment]]\nhold_min = {dice.randint(5, 25)}\nwait_within_c = 5\nuntil = "word"\n'
    words += f"[[segment]]\nhold_min = {dice.randint(3, 10)}\n"
    return _read(f"Melt of {metal}", min(hot_c + 20, 850), words, furnace)


def _without_metal(dice: Random, furnace: FurnaceDescription) -> Profile:
    words, at_c, top_c = "", 20.0, 0
    for _ in range(dice.randint(1, 3)):
        to_c = round(dice.uniform(max(at_c + 60.0, 90.0), min(at_c + 500.0, 820.0)))
        words += _ramp(dice, furnace, at_c, to_c, 60.0, 500.0)
        words += f"[[segment]]\nhold_min = {dice.randint(10, 75)}\nwait_within_c = 10\n"
        at_c, top_c = to_c, max(top_c, to_c)
        if at_c > 700:
            break
    return _read("Drying and baking", min(top_c + dice.randint(15, 30), 850), words, furnace)


def _short(dice: Random, furnace: FurnaceDescription) -> Profile:
    words = _ramp(dice, furnace, 20.0, 500.0, 1500.0, 3000.0) + "[[segment]]\nhold_min = 10\n"
    return _read("Quick", 560, words, furnace)


def _ramp(dice: Random, furnace: FurnaceDescription, at_c: float, to_c: float, low: float, high: float) -> str:
    most = 0.9 * fastest_ramp_c_per_h(furnace, to_c, at_c)
    rate = min(dice.uniform(low, high), most)
    return f"[[segment]]\nramp_to_c = {to_c}\nrate_c_per_h = {rate:.0f}\n"


def _read(name: str, top_c: float, words: str, furnace: FurnaceDescription) -> Profile:
    return profile_from_text(f'name = "{name}"\ntop_c = {top_c}\nlongest_h = 12\n{words}', name, furnace)


# --- what people do -----------------------------------------------------------------------------------------------


def _happenings(dice: Random, furnace: FurnaceDescription, profile: Profile) -> tuple[Happening, ...]:
    """Up to five; the moments are drawn over the first two hours in running."""
    found = []
    for _ in range(dice.randint(0, 5)):
        after_s = dice.uniform(120.0, 7200.0)
        kind = dice.choice(("peek", "look", "hold", "addition"))
        if kind == "peek":
            found.append(Happening("peek", after_s, partial(_open_lid, seconds=dice.uniform(1.0, 4.5))))
        elif kind == "look":
            found.append(Happening("look", after_s, partial(_open_lid, seconds=dice.uniform(6.0, 45.0))))
        elif kind == "hold":
            found.append(Happening("hold", after_s, partial(_hold, seconds=dice.uniform(30.0, 480.0))))
        elif profile.charge is not None:
            room_kg = furnace.crucible.capacity_kg - profile.charge.mass_kg
            mass_kg = round(min(dice.uniform(0.1, 0.4), 0.4 * room_kg), 3)
            if mass_kg >= 0.05:
                found.append(Happening("addition", after_s, partial(_add, mass_kg=mass_kg)))
    return tuple(found)


def _open_lid(trial: Trial, *, seconds: float) -> Acts:
    """Open the lid, look, shut it; where it needs the button the lamp says so."""
    trial.furnace.lid(True)
    yield from trial.wait(seconds)
    trial.furnace.lid(False)
    yield from _until_running(trial, ask=False)


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
    trial.furnace.plant.add_charge(mass_kg, 20.0, charge.alloy)
    yield [c.Note(_by(trial), c.NoteKind.ADDITION, trial.memory.epoch, mass_kg)]
    yield from trial.wait(5.0)
    trial.furnace.lid(False)
    yield from _until_running(trial, ask=True)


def _until_running(trial: Trial, *, ask: bool) -> Acts:
    """Wait until heat is back; where somebody asked for the hold, somebody asks to go on, again and again."""
    waited_s = 0.0
    while trial.state in HEATED and (trial.state is not State.RUNNING or waited_s < 1.0):
        due = ask and waited_s % _ASKS_AGAIN_S == 1.0 and not trial.memory.firing.asked_to_go_on
        yield [c.Resume(_by(trial), trial.memory.epoch)] if due else []
        waited_s += 0.25


def _by(trial: Trial) -> c.By:
    return c.By(f"happening-{trial.time_s:.2f}", "stand-in", "campaign")
