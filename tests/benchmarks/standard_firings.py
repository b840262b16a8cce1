"""The firings that control is judged on: what is charged, how warm the furnace is, what happens on the way.

Masses are shares of what the pot holds: 1, 2 and 3 kg in the bench furnace. What the supervisor is told and what is
true differ: mass within 10 %, mains within 3 %, and the furnace's constants by the plant's own spread.
"""

from collections.abc import Callable
from math import floor
from random import Random
from typing import NamedTuple

from hardware.ports import Plant
from hardware.simulated.furnace import Furnace
from supervisor.firing.profile import Hold, Profile, Ramp
from supervisor.firing.profile_file import profile_from_text
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.reckoning import fastest_ramp_c_per_h
from supervisor.metal.alloys import alloy, charge

MASS_WITHIN, MAINS_WITHIN = 0.10, 0.03
OVER_POUR_LOW_K = 30.0  # the target; 740 °C for 6061
POUR_UNDER_K = 20.0
WARM_C = 550.0
MAINS_FALL_S, MAINS_FALL_TO = 900.0, 0.9  # of nominal
_PREPARE_STEP_S = 0.5


class Kind(NamedTuple):
    """One standard firing."""

    name: str
    share: float = 0.0  # of the pot's fill that is entered; 0: no metal
    warm: str = ""  # '', 'warm': an hour at 550 °C, empty; 'poured': just emptied of a full melt
    on_the_way: str = ""  # 'mains': 10 % under nominal from minute 15; 'addition': a third of a fill once ready
    true_mass: float | None = None  # over the entered one; None: drawn within 10 %
    fault: str = ""


STANDARD = (
    Kind("dry_out"),
    Kind("empty"),
    Kind("cold_1", 1 / 3),
    Kind("cold_2", 2 / 3),
    Kind("cold_3", 1.0),
    Kind("warm", 2 / 3, warm="warm"),
    Kind("poured", 2 / 3, warm="poured"),
    Kind("addition", 1 / 3, on_the_way="addition"),
    Kind("mains", 2 / 3, on_the_way="mains"),
)
"""`empty` is not one of a founder's: a step to the target without metal, for overshoot, hold and relay."""

FAULTY = (
    Kind("mass_half", 2 / 3, true_mass=0.5),
    Kind("mass_double", 1 / 3, true_mass=2.0),
    Kind("mass_half_warm", 2 / 3, warm="warm", true_mass=0.5),
    Kind("creep", 2 / 3, fault="creep"),
    Kind("roof", 2 / 3, fault="roof"),
    Kind("leak", 2 / 3, fault="leak"),
)

LEARNED_FROM = (1 / 3, 0.6, 0.9)
"""Shares of the pot's fill of the three ordinary melts that the model is learned from."""


_MELT = """
name = "{name}"
top_c = {top_c}
pour_c = {pour_c}
longest_h = 8
charge = {{ mass_kg = {mass_kg}, alloy = "{alloy}", form = "off-cuts" }}
segment = [
    {{ ramp_to_c = {target_c}, fastest = true }},
    {{ hold_min = 15, wait_within_c = 5, until = "word" }},
]
"""


class Setting(NamedTuple):
    """A furnace, what is known of it, and what it melts."""

    make: Callable[..., Plant]
    described: FurnaceDescription
    alloy: str

    @property
    def target_c(self) -> float:
        """Of the metal."""
        return alloy(self.alloy).pour_low_c + OVER_POUR_LOW_K

    @property
    def pour_c(self) -> float:
        """From where on the coldest metal is ready."""
        return self.target_c - POUR_UNDER_K


class Drawn(NamedTuple):
    """What nobody tells the supervisor."""

    mass_factor: float
    mains_factor: float
    fault_s: float  # after the start of heating


def drawn(kind: Kind, seed: int, name: str = "") -> Drawn:
    """Draw a firing's own deviations: the same for every controller."""
    random = Random(f"{seed} {name or kind.name}")
    mass_factor = random.uniform(1.0 - MASS_WITHIN, 1.0 + MASS_WITHIN)
    mains_factor = random.uniform(1.0 - MAINS_WITHIN, 1.0 + MAINS_WITHIN)
    if kind.true_mass is not None:
        mass_factor = kind.true_mass
    return Drawn(mass_factor, mains_factor, random.uniform(300.0, 1800.0))


def profile(setting: Setting, kind: Kind, *, cap_over_target_k: float) -> Profile:
    """What is asked for: to the target as fast as the furnace can, held until somebody's word."""
    described, target_c = setting.described, setting.target_c
    if kind.name == "dry_out":  # the holds of docs/examples/dry-out-6h.toml, shortened
        segments = (Ramp(110.0, 100.0, None), Hold(1800.0, None, False), Ramp(340.0, 100.0, None))
        return Profile("Dry-out", (*segments, Hold(1800.0, None, False)), 360.0, None, 12 * 3600.0, None, "")
    if kind.name == "empty":
        segments = (Ramp(target_c - 200.0, 600.0, None), Hold(900.0, None, False), Ramp(target_c, 600.0, None))
        return Profile("Empty", (*segments, Hold(3600.0, None, False)), target_c + 20.0, None, 12 * 3600.0, None, "")
    entered_kg = round(kind.share * described.crucible.capacity_kg, 3)
    text = _MELT.format(
        name=kind.name,
        top_c=min(target_c + cap_over_target_k, described.top_c),
        pour_c=setting.pour_c,
        mass_kg=entered_kg,
        alloy=setting.alloy,
        target_c=target_c,
    )
    return profile_from_text(text, kind.name, described)


def ordinary_melt(setting: Setting, number: int) -> tuple[Kind, Profile]:
    """One of the melts that the model is learned from: a ramp of 600 °C/h, a quarter of an hour held."""
    kind = Kind(f"ordinary_{number}", LEARNED_FROM[number])
    metal = charge(round(kind.share * setting.described.crucible.capacity_kg, 3), setting.alloy, "off-cuts")
    rate_c_per_h = min(600.0, floor(fastest_ramp_c_per_h(setting.described, setting.target_c) / 10.0) * 10.0)
    steps = (Ramp(setting.target_c, rate_c_per_h, None), Hold(900.0, 5.0, True))
    top_c = setting.target_c + 20.0
    return kind, Profile(kind.name, steps, top_c, setting.pour_c, 8 * 3600.0, metal, "")


def make_ready(furnace: Furnace, setting: Setting, kind: Kind, charge_kg: float) -> None:
    """Bring the plant to where the firing starts, by hand, and charge it."""
    plant = furnace.plant
    if kind.warm == "warm":
        _keep(plant, WARM_C, 3600.0)
    elif kind.warm == "poured":
        plant.add_charge(setting.described.crucible.capacity_kg, 20.0, setting.alloy)
        while plant.state.metal_coldest_c < setting.pour_c:
            _keep(plant, setting.target_c, 60.0)
        _keep(plant, setting.target_c, 1200.0)
        _keep(plant, 0.0, 30.0, lid_open=True)
        plant.pour()
    if charge_kg:
        if kind.warm:
            _keep(plant, 0.0, 15.0, lid_open=True)
        furnace.add_charge(charge_kg, 20.0, setting.alloy)
    if kind.fault == "roof":
        plant.disturb("hung_up", 0.85)


def _keep(plant: Plant, at_c: float, seconds: float, *, lid_open: bool = False) -> None:
    for _ in range(round(seconds / _PREPARE_STEP_S)):
        on = not lid_open and plant.state.hot_junction_c < at_c
        plant.step(_PREPARE_STEP_S, element_on=on, lid_open=lid_open, mains_factor=1.0)
