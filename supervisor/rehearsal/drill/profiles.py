"""Profiles drawn by dice: melts, drying and baking; each within what the furnace can follow."""

from collections.abc import Sequence
from random import Random

from supervisor.firing.profile import Profile
from supervisor.firing.profile_file import profile_from_text
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.reckoning import fastest_ramp_c_per_h
from supervisor.metal.alloys import alloy

ALLOYS = ("6082", "6061", "5083", "2024", "7075", "A356.0", "380.0")
POUR_UNDER_K = 20.0
OVER_TARGET_K = 60.0
"""So much the top of a boosted melt lies above its target."""

FASTEST = 0.5
"""So many of the melts are heated as fast as the furnace can, as most people would; the rest by a rate."""


def any_profile(dice: Random, furnace: FurnaceDescription, alloys: Sequence[str]) -> Profile:
    """Three melts in five; the rest without metal."""
    return melt(dice, furnace, alloys) if dice.random() < 0.6 else without_metal(dice, furnace)


def melt(
    dice: Random, furnace: FurnaceDescription, alloys: Sequence[str], *, last_hold_min: int | None = None
) -> Profile:
    """Some are boosted, skimmed and poured, some held until a word alone. last_hold_min: of the hold after the word."""
    metal = dice.choice(alloys)
    liquidus_c = alloy(metal).liquidus_c or 660.0
    hot_c = round(min(liquidus_c + dice.uniform(60.0, 110.0), 780.0))
    words = f'[charge]\nmass_kg = {dice.uniform(0.4, furnace.crucible.capacity_kg):.2f}\nalloy = "{metal}"\n'
    words += 'form = "off-cuts"\n'
    by_rate = _ramp(dice, furnace, 20.0, hot_c, 300.0, 700.0)
    words += f"[[segment]]\nramp_to_c = {hot_c}\nfastest = true\n" if dice.random() < FASTEST else by_rate
    words += f'[[segment]]\nhold_min = {dice.randint(5, 25)}\nwait_within_c = 5\nuntil = "word"\n'
    words += f"[[segment]]\nhold_min = {dice.randint(3, 10) if last_hold_min is None else last_hold_min}\n"
    poured = dice.random() < 0.6
    top_c = min(hot_c + OVER_TARGET_K, furnace.top_c) if poured else min(hot_c + 20, furnace.top_c)
    pour_c = f"pour_c = {hot_c - POUR_UNDER_K}\n" if poured else ""
    return _read(f"Melt of {metal}", top_c, pour_c + words, furnace)


def ordinary_melt(dice: Random, furnace: FurnaceDescription, metal: str) -> Profile:
    """A melt to learn from: most of the pot's fill, heated at nine tenths of what the furnace can, poured."""
    mass_kg = round(dice.uniform(0.5, 0.9) * furnace.crucible.capacity_kg, 2)
    rate = min(dice.uniform(450.0, 700.0), 0.9 * fastest_ramp_c_per_h(furnace, 740.0, 20.0))
    words = f'pour_c = 720\n[charge]\nmass_kg = {mass_kg}\nalloy = "{metal}"\nform = "off-cuts"\n'
    words += f"[[segment]]\nramp_to_c = 740\nrate_c_per_h = {rate:.0f}\n"
    words += '[[segment]]\nhold_min = 10\nwait_within_c = 5\nuntil = "word"\n'
    return _read("Ordinary melt", min(740.0 + OVER_TARGET_K, furnace.top_c), words, furnace)


def without_metal(dice: Random, furnace: FurnaceDescription) -> Profile:
    """One to three steps, dried or baked at each."""
    words, at_c, top_c = "", 20.0, 0
    for _ in range(dice.randint(1, 3)):
        to_c = round(dice.uniform(max(at_c + 60.0, 90.0), min(at_c + 500.0, 820.0)))
        words += _ramp(dice, furnace, at_c, to_c, 60.0, 500.0)
        words += f"[[segment]]\nhold_min = {dice.randint(10, 75)}\nwait_within_c = 10\n"
        at_c, top_c = to_c, max(top_c, to_c)
        if at_c > 700:
            break
    return _read("Drying and baking", min(top_c + dice.randint(15, 30), furnace.top_c), words, furnace)


def quick(dice: Random, furnace: FurnaceDescription) -> Profile:
    """Some 25 min to 500 °C without metal: to try a campaign itself."""
    words = _ramp(dice, furnace, 20.0, 500.0, 1500.0, 3000.0) + "[[segment]]\nhold_min = 10\n"
    return _read("Quick", 560.0, words, furnace)


def _ramp(dice: Random, furnace: FurnaceDescription, at_c: float, to_c: float, low: float, high: float) -> str:
    most = 0.9 * fastest_ramp_c_per_h(furnace, to_c, at_c)
    rate = min(dice.uniform(low, high), most)
    return f"[[segment]]\nramp_to_c = {to_c}\nrate_c_per_h = {rate:.0f}\n"


def _read(name: str, top_c: float, words: str, furnace: FurnaceDescription) -> Profile:
    return profile_from_text(f'name = "{name}"\ntop_c = {top_c}\nlongest_h = 12\n{words}', name, furnace)
