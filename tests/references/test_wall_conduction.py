"""The lining's own code against analytic solutions of the heat equation.

Steady: Fourier's law q = -k A(x) dT/dx with the same Q through every section and A(x) = A0 + (A1 - A0) x / L gives
Q = k (T1 - T2) (A1 - A0) / (L ln(A(x2) / A(x1))) between two depths; with k = k0 + k1 T, k becomes its mean over the
temperatures, k0 + k1 (T1 + T2) / 2. Derived here; the method is that of Incropera and DeWitt, Fundamentals of Heat
and Mass Transfer, "An Alternative Conduction Analysis" (from memory).

Unsteady: a half-infinite solid with a constant flux q at its face, Carslaw and Jaeger, Conduction of Heat in Solids,
2nd ed. 1959, section 2.9 (from memory): T - T0 = (2 q / k) (sqrt(at / pi) exp(-x² / 4at) - x / 2 erfc(x / 2 sqrt(at))).
"""

from itertools import accumulate
from math import erfc, exp, log, pi, sqrt

import pytest

from hardware.simulated.plant_furnaces import BENCH, WORKSHOP
from hardware.simulated.plant_lining import Brick, Lining, Slab, growing_layers

AMBIENT_C = 20.0
WALLS = {"bench": BENCH.wall, "bench lid": BENCH.lid, "workshop": WORKSHOP.wall}


def centres_m(slab: Slab) -> list[float]:
    return [end - layer / 2.0 for end, layer in zip(accumulate(slab.layers_m), slab.layers_m, strict=True)]


def steady(slab: Slab, brick: Brick, inflow_w: float) -> tuple[Lining, float]:
    """Hold a constant inflow until nothing changes; the lining and the outflow, W."""
    lining = Lining(slab, brick, AMBIENT_C)
    outflow_w = 0.0
    for _ in range(60_000):
        outflow_w = lining.step(inflow_w, AMBIENT_C, 4.0)
    return lining, outflow_w


@pytest.mark.parametrize("conductivity_per_k", [0.0, 1.3e-4])
@pytest.mark.parametrize("name", WALLS)
def test_steady_wall_conducts_as_fourier_says(name: str, conductivity_per_k: float) -> None:
    slab, k0 = WALLS[name], 0.15
    inflow_w = 2000.0 * slab.inside_m2
    lining, outflow_w = steady(slab, Brick(500.0, k0, conductivity_per_k, 900.0, 0.0), inflow_w)
    assert outflow_w == pytest.approx(inflow_w, rel=1e-4)

    thickness_m = sum(slab.layers_m)
    area_m2 = [slab.inside_m2 + (slab.outside_m2 - slab.inside_m2) * x / thickness_m for x in centres_m(slab)]
    hot_c, cold_c = lining.layers_c[0], lining.layers_c[-1]
    mean_k = k0 + conductivity_per_k * (hot_c + cold_c) / 2.0
    growth_m = (slab.outside_m2 - slab.inside_m2) / thickness_m
    analytic_w = mean_k * (hot_c - cold_c) * growth_m / log(area_m2[-1] / area_m2[0])
    assert inflow_w == pytest.approx(analytic_w, rel=0.005)

    # Newton's law of cooling at the outer face, and Fourier's from there to the last centre.
    film_w = slab.film_w_m2_k * slab.outside_m2 * (lining.outer_face_c(AMBIENT_C) - AMBIENT_C)
    assert film_w == pytest.approx(inflow_w, rel=0.005)


def test_unsteady_wall_warms_as_a_half_infinite_solid() -> None:
    flux_w_m2, k, rho, c = 2000.0, 0.15, 500.0, 900.0
    slab = Slab(growing_layers(0.20, 0.001, 40), inside_m2=1.0, outside_m2=1.0, film_w_m2_k=10.0)
    lining = Lining(slab, Brick(rho, k, 0.0, c, 0.0), AMBIENT_C)
    for _ in range(3600):
        lining.step(flux_w_m2, AMBIENT_C, 0.25)
    spread_m2 = k / (rho * c) * 900.0  # diffusivity x time
    for depth_m, layer_c in list(zip(centres_m(slab), lining.layers_c, strict=True))[:12]:
        waned = sqrt(spread_m2 / pi) * exp(-(depth_m**2) / (4.0 * spread_m2))
        rise_c = 2.0 * flux_w_m2 / k * (waned - depth_m / 2.0 * erfc(depth_m / (2.0 * sqrt(spread_m2))))
        assert layer_c - AMBIENT_C == pytest.approx(rise_c, rel=0.01)
