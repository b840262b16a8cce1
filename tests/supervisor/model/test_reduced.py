"""The model of the furnace by itself: conduction as in the textbook, no heat made or lost, no surprises.

Steady: Fourier's law q = -k A(x) dT/dx with the same Q through every section and A(x) = A0 + (A1 - A0) x / L gives
Q = k (T1 - T2) (A1 - A0) / (L ln(A(x2) / A(x1))) between two depths, k being its mean over the temperatures. The method
is that of Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, "An Alternative Conduction Analysis" (from
memory). Unsteady: a half-infinite solid with a constant flux q at its face, Carslaw and Jaeger, Conduction of Heat in
Solids, 2nd ed. 1959, section 2.9 (from memory): T - T0 = (2 q / k) (sqrt(at / pi) exp(-x² / 4at) - x / 2 erfc(x / 2
sqrt(at))).
"""

from dataclasses import replace
from math import erfc, exp, log, pi, sqrt
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.file import read_furnace
from supervisor.furnace.reckoning import ROOM_C
from supervisor.metal.alloys import charge
from supervisor.model.geometry import geometry
from supervisor.model.melting import melting
from supervisor.model.reduced import ELEMENT, FACTORS, LAYERS, LOWER, LOWER_SHARE, POT, SHEATH, STATES, UPPER, Reduced

Floats = NDArray[np.float64]

BENCH, WORKSHOP = read_furnace("bench"), read_furnace("workshop")
METAL = melting(charge(2.0, "6082", "off-cuts"))
KELVIN, STEFAN_BOLTZMANN = 273.15, 5.670374e-8
NONE = -30.0  # the logarithm of next to nothing


def factors(count: int = 1, **logs: float) -> Floats:
    found = np.zeros((len(FACTORS), count))
    for name, value in logs.items():
        found[FACTORS.index(name)] = value
    return found


def step(model: Reduced, x: Floats, by: Floats, **changes: Any) -> Floats:
    given_ = {"power_w": 0.0, "lid_open": False, "mass_kg": 0.0, "metal": None, "dt_s": 5.0, **changes}
    return model.step(x, by, **given_)


@pytest.mark.parametrize("furnace", [BENCH, WORKSHOP], ids=["bench", "workshop"])
def test_a_settled_wall_conducts_as_fourier_says(furnace: FurnaceDescription) -> None:
    model, by, power_w = Reduced(furnace), factors(leak=NONE, capacity=-1.0, pot_capacity=-0.5), 300.0
    x = model.settled(600.0, 1, soak=0.8)
    for _ in range(6000):
        x = step(model, x, by, power_w=power_w, dt_s=10.0)
    wall, of = furnace.wall, geometry(furnace)  # five coarse layers: within 2 %
    growth_m = (wall.outside_m2 - wall.inside_m2) / wall.thickness_m
    first_m2, last_m2 = (wall.inside_m2 + growth_m * wall.thickness_m * depth for depth in of.depth[[0, -1], 0])
    hot_c, cold_c = x[0, 0], x[LAYERS - 1, 0]
    mean_w_m_k = wall.conductivity_w_m_k + wall.conductivity_per_k * (hot_c + cold_c) / 2.0
    assert mean_w_m_k * (hot_c - cold_c) * growth_m / log(last_m2 / first_m2) == pytest.approx(power_w, rel=0.02)
    assert x[POT, 0] == pytest.approx(x[SHEATH, 0], abs=15.0)


def test_a_wall_warms_as_a_half_infinite_solid() -> None:
    # A thick wall whose conductivity does not change, alone in the world; the mean of its specific heat on the way.
    k, c = 0.15, 950.0
    wall = replace(BENCH.wall, thickness_m=0.2, outside_m2=BENCH.wall.inside_m2 * 1.001, conductivity_w_m_k=k)
    furnace = replace(BENCH, wall=replace(wall, conductivity_per_k=0.0))
    model = Reduced(furnace)
    by = factors(leak=NONE, wall_to_pot=NONE, element_to_pot=NONE)
    x = model.settled(440.0, 1, soak=0.0)
    flux_w_m2, seconds, depth_m = 600.0, 3600.0, 0.2 * 4.0 / 65.0 / 2.0
    for _ in range(round(seconds / 5.0)):
        x = step(model, x, by, power_w=flux_w_m2 * wall.inside_m2)
    spread_m2 = k / (wall.density_kg_m3 * c) * seconds
    waned = sqrt(spread_m2 / pi) * exp(-(depth_m**2) / (4.0 * spread_m2))
    rise_k = 2.0 * flux_w_m2 / k * (waned - depth_m / 2.0 * erfc(depth_m / (2.0 * sqrt(spread_m2))))
    assert x[0, 0] - 440.0 == pytest.approx(rise_k, rel=0.05)


def stored_j(furnace: FurnaceDescription, x: Floats, mass_kg: float) -> float:
    """What everything holds over 0 °C (metal over 20 °C), from the furnace's geometry."""
    of, lining_c = geometry(furnace), x[:LAYERS, :1]
    lining = float((of.brick_j_k * lining_c + of.brick_j_k2 / 2.0 * lining_c**2).sum())
    pot_c, element_c, lower, upper = (float(x[row, 0]) for row in (POT, ELEMENT, LOWER, UPPER))
    pot = of.pot_kg * (800.0 + 0.325 * pot_c) * pot_c
    return lining + pot + of.element_j_k * element_c + mass_kg * (LOWER_SHARE * lower + (1 - LOWER_SHARE) * upper)


def lost_w(furnace: FurnaceDescription, x: Floats) -> float:
    """What goes to the room through a shut furnace's outer face and leaks."""
    of, face_c, outer_c = geometry(furnace), float(x[0, 0]), float(x[LAYERS - 1, 0])
    half_k_w = float(of.outer_per_m[-1, 0]) / (of.brick_w_m_k + of.brick_w_m_k2 * outer_c)
    fourth = (face_c + KELVIN) ** 4 - (ROOM_C + KELVIN) ** 4
    leaks_w = of.leak_m2 * STEFAN_BOLTZMANN * fourth + of.leak_w_k * (face_c - ROOM_C)
    return (outer_c - ROOM_C) / (half_k_w + of.film_k_w) + leaks_w


@pytest.mark.parametrize("furnace", [BENCH, WORKSHOP], ids=["bench", "workshop"])
def test_what_is_supplied_is_stored_or_lost(furnace: FurnaceDescription) -> None:
    model, by, mass_kg = Reduced(furnace), factors(), 2.0
    x = model.add(model.settled(20.0, 1), 0.0, mass_kg, 20.0, METAL)
    began_j, supplied_j, lost_j = stored_j(furnace, x, mass_kg), 0.0, 0.0
    for number in range(3200):
        power_w = 2400.0 if number < 2700 else 400.0
        before_w = lost_w(furnace, x)
        x = step(model, x, by, power_w=power_w, mass_kg=mass_kg, metal=METAL, dt_s=2.0)
        supplied_j += power_w * 2.0
        lost_j += (before_w + lost_w(furnace, x)) / 2.0 * 2.0
    assert float(model.share_molten(x, METAL)[0]) == 1.0
    assert stored_j(furnace, x, mass_kg) - began_j + lost_j == pytest.approx(supplied_j, rel=1e-3)


def test_a_cold_furnace_without_power_stays_as_it_is() -> None:
    model = Reduced(BENCH)
    x = model.settled(ROOM_C, 3)
    assert step(model, x, factors(3), lid_open=True) == pytest.approx(x, abs=1e-9)


@settings(max_examples=40)
@given(
    start_c=st.floats(20.0, 850.0),
    power_w=st.floats(0.0, 2400.0),
    more_w=st.floats(1.0, 500.0),
    logs=st.lists(st.floats(-0.7, 0.7), min_size=len(FACTORS), max_size=len(FACTORS)),
)
def test_more_power_is_never_a_colder_reading(start_c: float, power_w: float, more_w: float, logs: list[float]) -> None:
    model, by = Reduced(BENCH), np.repeat(np.array(logs)[:, None], 2, axis=1)
    x = model.add(model.settled(start_c, 2), 0.0, 1.5, 20.0, METAL)
    for _ in range(60):
        x = step(model, x, by, power_w=np.array([power_w, power_w + more_w]), mass_kg=1.5, metal=METAL)
        less_c, more_c = model.reading_c(x)
        assert more_c >= less_c - 1e-9


@settings(max_examples=40)
@given(
    mass_kg=st.sampled_from([0.0, 1e-3, 0.05, 0.5, 3.0]),
    lid_open=st.booleans(),
    logs=st.lists(st.sampled_from([-0.7, 0.0, 0.7]), min_size=len(FACTORS), max_size=len(FACTORS)),
)
def test_steps_of_five_seconds_are_stable_for_any_factors(mass_kg: float, lid_open: bool, logs: list[float]) -> None:
    # From hot with power that the factors at most double to 2.6 kW, until what would grow has grown: it neither swings
    # nor leaves what that can do.
    model, by = Reduced(BENCH), np.array(logs)[:, None]
    x = model.add(model.settled(900.0, 1), 0.0, mass_kg or 1e-3, 20.0, METAL)
    turns = 0
    before, way = x, np.zeros(LAYERS)
    for _ in range(120):
        x = step(model, before, by, power_w=1300.0, lid_open=lid_open, mass_kg=mass_kg, metal=METAL)
        moved = (x - before)[:LAYERS, 0]
        turns += int(((moved * way) < -1e-3).sum())
        before, way = x, moved
    assert np.isfinite(x).all()
    assert -40.0 < x[: ELEMENT + 1].min() <= x[: ELEMENT + 1].max() < 2500.0
    assert turns <= 10


@pytest.mark.parametrize("log_factor", [12.0, 700.0, float("inf"), float("nan")])
def test_factors_that_have_run_away_are_refused_instead_of_stepped_for_hours(log_factor: float) -> None:
    model = Reduced(BENCH)
    with np.errstate(all="ignore"), pytest.raises(ArithmeticError):
        step(model, model.settled(500.0, 1), factors(loss=log_factor, leak=log_factor, element_to_pot=log_factor))


def test_points_do_not_know_of_each_other() -> None:
    model, random = Reduced(BENCH), np.random.default_rng(1)
    by = random.normal(0.0, 0.2, (len(FACTORS), 4))
    power_w, mass_kg = np.array([0.0, 800.0, 1600.0, 2500.0]), np.array([0.5, 1.0, 2.0, 3.0])
    x = model.add(model.settled(500.0, 4, soak=np.array([0.0, 0.3, 0.6, 0.9])), 0.0, mass_kg, 20.0, METAL)
    together = step(model, x, by, power_w=power_w, mass_kg=mass_kg, metal=METAL)
    for n in range(4):
        alone = step(
            model, x[:, n : n + 1], by[:, n : n + 1], power_w=power_w[n], mass_kg=mass_kg[n : n + 1], metal=METAL
        )
        assert alone[:, 0] == pytest.approx(together[:, n], rel=1e-12)


def test_an_open_lid_cools_the_reading_and_more_so_the_hot_face() -> None:
    model, by = Reduced(BENCH), factors()
    x = shut = model.settled(740.0, 1)
    for _ in range(12):
        x, shut = step(model, x, by, lid_open=True), step(model, shut, by)
    assert 20.0 < shut[SHEATH, 0] - x[SHEATH, 0] < shut[0, 0] - x[0, 0]


def test_metal_that_is_put_in_mixes_its_heat_with_what_is_there() -> None:
    model = Reduced(BENCH)
    x = model.add(model.settled(700.0, 1), 0.0, 1.0, 700.0, METAL)
    held_j = 1.0 * float(model.heat_j_kg(x)[0])
    x = model.add(x, 1.0, 0.6, 20.0, METAL)
    assert 1.6 * float(model.heat_j_kg(x)[0]) == pytest.approx(held_j, rel=1e-12)
    assert x[UPPER, 0] < x[LOWER, 0]  # most of the cold lies on top
    assert model.coldest_c(x, METAL)[0] < model.metal_c(x, METAL)[0]


def test_every_row_of_a_state_has_a_name() -> None:
    assert Reduced(BENCH).settled(20.0, 7).shape == (len(STATES), 7)
