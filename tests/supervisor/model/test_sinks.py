"""How far a reading sinks against what the power alone gives, over eight minutes of a hold. Simulated."""

from dataclasses import replace

import pytest

from hardware.ports import PlantState
from hardware.simulated.plant import Bench
from supervisor.furnace.description import FurnaceDescription
from supervisor.metal.alloys import charge
from supervisor.model.estimate import Estimator
from supervisor.model.learned import Model
from supervisor.model.stiff import QUIET
from supervisor.watches.hold import JUST_S, SANK_K
from tests.benchmarks.estimate_trials import Plan, fly
from tests.supervisor.model.conftest import SEED

OFF_CUTS = charge(1.4, "6061", "off-cuts")
BEGINS_S = 900.0  # after all is molten


def sunk(
    furnace: FurnaceDescription, model: Model, plan: Plan, drift_c_per_s: float = 0.0
) -> list[tuple[float, float | None, float | None]]:
    """Time, s; seconds since all was molten, or None; what was said, K."""
    plant, rows = Bench(SEED, 0.2), []
    molten_s: list[float] = []

    def watch(t_s: float, estimator: Estimator, state: PlantState) -> None:
        if state.share_molten >= 1.0 and not molten_s:
            molten_s.append(t_s)
        since_s = t_s - molten_s[0] if molten_s else None
        if since_s == BEGINS_S:
            plant.disturb("sensor_drift_c_per_s", drift_c_per_s)
        found = estimator.estimate()
        assert found is not None
        rows.append((t_s, since_s, found.sank_k))

    estimator = Estimator(furnace, model, reading_c=20.0, charge=plan.charge, drained=True)
    fly(plant, furnace, plan, estimator, watch)
    return rows


@pytest.mark.parametrize("mass", [0.9, 1.0, 1.1])
def test_a_healthy_hold_stays_still_whatever_a_kitchen_scale_says(
    furnace: FurnaceDescription, model: Model, mass: float
) -> None:
    rows = sunk(furnace, model, Plan(OFF_CUTS, real=mass, hold_s=1800.0))
    said = [k for _, since_s, k in rows if since_s is not None and since_s > JUST_S and k is not None]
    assert len(said) > 200
    assert min(said) > -0.8 * SANK_K


def test_a_drift_of_2_k_a_minute_is_told_in_eight_minutes(furnace: FurnaceDescription, model: Model) -> None:
    rows = sunk(furnace, model, Plan(OFF_CUTS, hold_s=1800.0), drift_c_per_s=-2.0 / 60.0)
    told_s = next(since_s for _, since_s, k in rows if since_s and since_s > JUST_S and k is not None and k < -SANK_K)
    assert BEGINS_S + 300.0 < told_s < BEGINS_S + 500.0


def test_nothing_is_said_of_it_for_long_after_a_lid(furnace: FurnaceDescription, model: Model) -> None:
    opened_s, open_s = 1200.0, 45.0
    rows = sunk(furnace, model, Plan(OFF_CUTS, lids=((opened_s, open_s),), hold_s=0.0))
    after_s = opened_s + open_s + QUIET.lid_s + 450.0
    assert {k for t_s, _, k in rows if opened_s + 5.0 < t_s < after_s} == {None}
    assert any(k is not None for t_s, _, k in rows if t_s < opened_s)


def test_nor_by_power_that_nobody_meters(furnace: FurnaceDescription, model: Model) -> None:
    rows = sunk(furnace, replace(model, metered=False), Plan(OFF_CUTS, hold_s=0.0))
    assert {k for _, _, k in rows} == {None}
