"""The melt estimate on simulated furnaces, learned as a person's furnace is: from three ordinary melts."""

import copy
from math import inf, nan, sqrt

import pytest

from hardware.ports import Plant, PlantState
from hardware.simulated.plant import Bench
from supervisor.firing.governor import BoostFacts, govern
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.file import read_furnace
from supervisor.metal.alloys import charge
from supervisor.metal.charge import Charge
from supervisor.model.estimate import Estimate, Estimator
from supervisor.model.learned import Model
from tests.benchmarks.estimate_trials import Flight, Maker, Plan, fly, learned
from tests.plants.weak import WeakFurnace
from tests.supervisor.model.conftest import SEED

OFF_CUTS = charge(1.4, "6061", "off-cuts")
MELT = Plan(OFF_CUTS, lids=((1200.0, 45.0),), skim_s=30.0, added_kg=0.6, hold_s=900.0)


class Seen:
    """What the estimate said, each window, beside the truth."""

    def __init__(self) -> None:
        self.rows: list[tuple[float, Estimate, PlantState]] = []
        self.suspicions: tuple[str, ...] = ()

    def __call__(self, t_s: float, estimator: Estimator, state: PlantState) -> None:
        found = estimator.estimate()
        assert found is not None
        self.rows.append((t_s, found, state))
        self.suspicions = estimator.suspicions or self.suspicions

    def of(self, phase: str) -> list[tuple[float, Estimate, PlantState]]:
        """Rows of a phase by the truth."""
        shares = {"solid": (-inf, 0.0), "melting": (1e-9, 1.0 - 1e-9), "liquid": (1.0, inf)}
        low, high = shares[phase]
        return [row for row in self.rows if low <= row[2].share_molten <= high]


def rms_k(rows: list[tuple[float, Estimate, PlantState]]) -> float:
    return sqrt(sum((found.metal_c - state.metal_mean_c) ** 2 for _, found, state in rows) / len(rows))


def held(rows: list[tuple[float, Estimate, PlantState]]) -> float:
    return sum(found.low_c <= state.metal_mean_c <= found.high_c for _, found, state in rows) / len(rows)


def estimator_of(
    furnace: FurnaceDescription, model: Model | None, metal: Charge | None = OFF_CUTS, *, drained: bool = True
) -> Estimator:
    return Estimator(furnace, model, reading_c=20.0, charge=metal, drained=drained)


def flown(plant: Plant, furnace: FurnaceDescription, plan: Plan, estimator: Estimator) -> tuple[Seen, Flight]:
    seen = Seen()
    return seen, fly(plant, furnace, plan, estimator, seen)


@pytest.fixture(scope="module")
def melt(furnace: FurnaceDescription, model: Model) -> Seen:
    return flown(Bench(SEED, 0.2), furnace, MELT, estimator_of(furnace, model))[0]


def test_the_metal_is_known_through_lid_addition_and_skimming(melt: Seen) -> None:
    assert rms_k(melt.of("solid")) <= 25.0
    assert rms_k(melt.of("melting")) <= 12.0
    assert rms_k(melt.of("liquid")) <= 15.0


def test_the_band_holds_the_metal_most_of_the_time(melt: Seen) -> None:
    assert min(held(melt.of(phase)) for phase in ("solid", "melting", "liquid")) >= 0.75
    assert all(found.low_c < found.metal_c < found.high_c <= found.upper_c for _, found, _ in melt.rows)
    assert all(found.share_low <= found.share_molten <= found.share_high for _, found, _ in melt.rows)


def test_a_healthy_melt_raises_neither_doubt_nor_suspicion(melt: Seen) -> None:
    assert melt.suspicions == ()
    assert {found.doubt for _, found, _ in melt.rows} == {""}


def test_after_a_dip_reading_the_liquid_is_known_to_8_k(furnace: FurnaceDescription, model: Model) -> None:
    plan = Plan(OFF_CUTS, real=1.1, dip_after_s=180.0, hold_s=1200.0)
    seen, flight = flown(Bench(SEED, 0.2), furnace, plan, estimator_of(furnace, model))
    after = [row for row in seen.of("liquid") if row[0] > flight.dips[0].t_s + 5.0]
    before = [row for row in seen.of("liquid") if row[0] <= flight.dips[0].t_s]
    assert rms_k(after) <= 8.0
    assert after[0][1].sd_c < 0.7 * before[-1][1].sd_c


def test_it_is_the_same_every_time(furnace: FurnaceDescription, model: Model, melt: Seen) -> None:
    again, _ = flown(Bench(SEED, 0.2), furnace, MELT, estimator_of(furnace, model))
    assert [found for _, found, _ in again.rows] == [found for _, found, _ in melt.rows]


def test_what_is_learned_narrows_the_band(furnace: FurnaceDescription, model: Model, melt: Seen) -> None:
    blind, _ = flown(Bench(SEED, 0.2), furnace, MELT, estimator_of(furnace, None))
    wide, narrow = (sum(row[1].sd_c for row in seen.of("liquid")[-60:]) for seen in (blind, melt))
    assert wide > 1.5 * narrow


@pytest.mark.parametrize("maker", [WeakFurnace])
def test_a_furnace_of_other_make_gets_a_wider_band_that_holds(maker: Maker, melt: Seen) -> None:
    strange = read_furnace(maker.furnace_file)
    plan = Plan(charge(1.0, "A356.0", "ingot"), pour_c=690.0)
    estimator = estimator_of(strange, learned(maker, strange, SEED), plan.charge)
    seen, _ = flown(maker(SEED, 0.2), strange, plan, estimator)
    assert held(seen.rows) >= 0.75
    assert seen.of("liquid")[-1][1].sd_c > 1.5 * melt.of("liquid")[-1][1].sd_c


def half_molten(furnace: FurnaceDescription, model: Model) -> Estimator:
    """Heated blindly until it says that three quarters are molten."""
    estimator = estimator_of(furnace, model)
    while (found := estimator.estimate()) is not None and found.share_molten < 0.75:
        estimator.go_on(None, furnace.full_power_w, lid_open=False)
    return estimator


def test_all_molten_is_believed_and_never_makes_it_colder(furnace: FurnaceDescription, model: Model) -> None:
    estimator = half_molten(furnace, model)
    before = estimator.estimate()
    estimator.all_molten()
    after = estimator.estimate()
    assert before is not None
    assert after is not None
    assert after.share_molten > 0.95
    assert after.metal_c >= before.metal_c
    assert after.sd_c <= before.high_c - before.low_c


def setpoint_c(upper_c: float, found: Estimate) -> float:
    """The chamber's setpoint by the governor, with a boost that lacks nothing."""
    facts = BoostFacts(
        target_c=740.0, at_top=True, top_c=850.0, limiter_c=900.0, no_model="", mass_kg=1.4, capacity_kg=3.0,
        mass_checked=True, mass_doubted=False, charged_warm=False, drained=True, cut_short=False,
        lid_fitted=True, lid_moved=True, sensor_trusted=True, gate_answered=True, held=False, finding="",
        likely_c=found.metal_c, upper_c=upper_c,
        half_width_k=found.high_c - found.metal_c, liquid=found.phase == "liquid", energy_wh=0.0, forecast_wh=2000.0,
        minutes=1.0, forecast_minutes=60.0, duty=None, arrest_duty=None, lid_opened=False, dip_c=None,
    )  # fmt: skip
    return govern(740.0, facts, "").setpoint_c


@pytest.mark.parametrize("kind", ["sensor_slip_per_s", "sensor_drift_c_per_s", "sensor_slip"])
def test_a_sensor_on_its_way_out_never_hides_hot_metal(furnace: FurnaceDescription, model: Model, kind: str) -> None:
    """Up to its doubt, which ends a boost, the upper edge stays above the true metal: no more heat is asked for."""
    faulty = {"sensor_slip_per_s": 1.0 / 2400.0, "sensor_drift_c_per_s": -2.0 / 60.0, "sensor_slip": 0.3}
    plant = Bench(SEED, 0.2)
    seen = Seen()

    def watch(t_s: float, estimator: Estimator, state: PlantState) -> None:
        if t_s == 900.0:
            plant.disturb(kind, faulty[kind])
        seen(t_s, estimator, state)

    fly(plant, furnace, Plan(OFF_CUTS, hold_s=600.0), estimator_of(furnace, model), watch)
    believed = [(found, state) for t_s, found, state in seen.rows if t_s > 900.0 and not found.doubt]
    assert believed
    for found, state in believed:
        assert found.upper_c >= state.metal_mean_c
        assert setpoint_c(found.upper_c, found) <= setpoint_c(state.metal_mean_c, found)
    if kind != "sensor_drift_c_per_s":
        assert "below what the power gives" in seen.rows[-1][1].doubt


def test_half_the_metal_is_missed_with_numbers(furnace: FurnaceDescription, model: Model) -> None:
    plan = Plan(charge(2.4, "6061", "off-cuts"), real=0.5)
    seen, _ = flown(Bench(SEED, 0.2), furnace, plan, estimator_of(furnace, model, plan.charge))
    assert len(seen.suspicions) == 1
    assert "K above what the power gives with 2.40 kg" in seen.suspicions[0]


def test_the_expected_reading_falls_with_the_mass(furnace: FurnaceDescription, model: Model) -> None:
    estimator = estimator_of(furnace, model)
    for _ in range(150):
        estimator.go_on(None, furnace.full_power_w, lid_open=False)
    half_c, entered_c, double_c = (estimator.expected_reading_c(kg) for kg in (0.7, 1.4, 2.8))
    assert half_c > entered_c + 10.0
    assert entered_c > double_c + 10.0
    for mass_kg in (0.6, 3.0, nan):
        with pytest.raises(ValueError, match="mass_kg"):
            estimator.expected_reading_c(mass_kg)


def test_a_pot_that_was_not_drained_is_a_doubt_until_it_is_poured(furnace: FurnaceDescription) -> None:
    estimator = estimator_of(furnace, None, drained=False)
    found = estimator.estimate()
    assert found is not None
    assert "drained" in found.doubt
    estimator.pour()
    assert estimator.estimate() is None
    estimator.put_in(1.0, OFF_CUTS)
    found = estimator.estimate()
    assert found is not None
    assert found.doubt == ""


def test_a_minute_without_a_reading_is_a_doubt(furnace: FurnaceDescription, model: Model) -> None:
    estimator = estimator_of(furnace, model)
    for _ in range(13):
        estimator.go_on(None, 0.0, lid_open=False)
    found = estimator.estimate()
    assert found is not None
    assert found.doubt == "There has been no reading for 65 s."


def test_once_frozen_a_reading_moves_nothing(furnace: FurnaceDescription, model: Model) -> None:
    frozen = estimator_of(furnace, model)
    frozen.freeze()
    blind = copy.deepcopy(frozen)
    for _ in range(60):
        frozen.go_on(500.0, 1000.0, lid_open=False)
        blind.go_on(None, 1000.0, lid_open=False)
    found, other = frozen.estimate(), blind.estimate()
    assert found is not None
    assert other is not None
    assert found.metal_c == other.metal_c
    assert "sensor" in found.doubt


def test_a_copy_goes_its_own_way(furnace: FurnaceDescription, model: Model) -> None:
    estimator = estimator_of(furnace, model)
    before, ahead = estimator.estimate(), copy.deepcopy(estimator)
    for _ in range(20):
        ahead.go_on(None, 2500.0, lid_open=False)
    assert estimator.estimate() == before != ahead.estimate()


@pytest.mark.parametrize(("reading_c", "power_w", "dt_s"), [(nan, 0.0, 5.0), (20.0, inf, 5.0), (20.0, 0.0, 0.0)])
def test_what_is_no_number_is_refused(
    furnace: FurnaceDescription, reading_c: float, power_w: float, dt_s: float
) -> None:
    with pytest.raises(ValueError, match="was given"):
        estimator_of(furnace, None).go_on(reading_c, power_w, lid_open=False, dt_s=dt_s)


@pytest.mark.parametrize("mass_kg", [0.0, -1.0, nan])
def test_metal_without_a_mass_is_refused(furnace: FurnaceDescription, mass_kg: float) -> None:
    with pytest.raises(ValueError, match="mass_kg"):
        estimator_of(furnace, None).put_in(mass_kg, OFF_CUTS)


@pytest.mark.parametrize("metal_c", [-1.0, 2000.0, nan])
def test_a_dip_reading_that_cannot_be_is_refused(furnace: FurnaceDescription, metal_c: float) -> None:
    with pytest.raises(ValueError, match="metal_c"):
        estimator_of(furnace, None).dip(metal_c)


def test_without_metal_there_is_no_estimate(furnace: FurnaceDescription) -> None:
    assert estimator_of(furnace, None, None).estimate() is None
