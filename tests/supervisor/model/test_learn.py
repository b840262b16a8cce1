"""Learning from firings: of the model's own making, and of simulated furnaces of other structure."""

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from hardware.simulated.plant import Bench
from supervisor.furnace.file import read_furnace
from supervisor.metal.alloys import charge
from supervisor.model.learn import learn
from supervisor.model.learned import Model, objections, surprising, usable_for_boost
from supervisor.model.reduced import FACTORS, Reduced
from supervisor.model.series import STEP_S, Dip, Row, Series, mains_ratio, series
from supervisor.model.simulate import simulate
from tests.plants.weak import WeakFurnace
from tests.supervisor.model.melts import Melt, melt

BENCH = read_furnace("bench")
REDUCED = Reduced(BENCH)
ARRAYS = ("t_s", "reading_c", "power_w", "lid_open")  # of a series, one value a step


def of_the_models_own(log_factors: NDArray[np.float64], firing_id: int, mass_kg: float, seed: int = 1) -> Series:
    """A firing as the model itself would have it, read with noise: full power, less of it, the lid open once."""
    count = 80 * 12
    minutes = np.arange(count) / 12.0
    power_w = np.where(minutes < 35.0 + 8.0 * firing_id, 2500.0, 600.0)
    lid_open = (minutes >= 70.0) & (minutes < 71.0)
    power_w[lid_open] = 0.0
    blank = Series(
        STEP_S * np.arange(1, count + 1, dtype=np.float64),
        np.zeros(count),
        power_w,
        lid_open,
        20.0,
        charge(mass_kg, "6082", "off-cuts"),
        (),
        (),
        True,
        firing_id,
        firing_id * 86_400_000,
        0,
        "poured",
    )
    course = simulate(REDUCED, blank, log_factors[:, None], every=1, together=2)
    noise_k = np.random.default_rng(100 * seed + firing_id).normal(0.0, 0.3, count)
    return replace(blank, reading_c=course.reading_c[:, 0] + noise_k)


@cache
def melts(seed: int = 3) -> list[Melt]:
    """Four ordinary melts of one bench furnace of 20 % spread, metered, mains a few per cent off nominal."""
    kinds = ((2.0, 1.02, 90.0), (1.2, 0.97, 80.0), (2.7, 1.0, 95.0), (1.7, 0.98, 85.0))
    return [
        melt(
            Bench(seed=seed, spread=0.2),
            BENCH,
            mass_kg=mass_kg,
            mains=mains,
            minutes=minutes,
            lids=((minutes - 15.0, 45.0),),
            dips=(minutes - 5.0,),
            firing_id=number + 1,
        )
        for number, (mass_kg, mains, minutes) in enumerate(kinds)
    ]


@cache
def learned(seed: int = 3) -> Model:
    return learn(BENCH, [each.firing for each in melts(seed)[:3]])


def predicted(furnace: Any, model: Model, fresh: Melt) -> tuple[float, float]:
    """A melt that was not learned from, predicted from its power alone: rms of the reading, K; molten late by, min."""
    course = simulate(Reduced(furnace), fresh.firing, np.array(model.log_factors)[:, None], every=2)
    residuals_k = fresh.firing.reading_c[course.steps] - course.reading_c[:, 0]
    modelled = course.steps[np.flatnonzero(course.share_molten[:, 0] >= 0.99)[0]]
    true = np.flatnonzero(fresh.share_molten >= 0.99)[0]
    return float(np.sqrt(np.mean(residuals_k**2))), float(modelled - true) * STEP_S / 60.0


def test_its_own_factors_are_found_within_three_standard_errors() -> None:
    _, sd = REDUCED.prior()
    random = np.random.default_rng(7)
    true = np.clip(random.normal(0.0, 0.6, len(FACTORS)), -1.0, 1.0) * sd
    firings = [of_the_models_own(true, number, mass_kg) for number, mass_kg in ((1, 2.0), (2, 1.2))]
    found = learn(BENCH, firings)
    off = (np.array(found.log_factors) - true) / np.array(found.log_sd)
    assert np.abs(off).max() < 3.0, dict(zip(FACTORS, off.round(1), strict=True))
    assert np.sqrt(np.mean(off**2)) < 1.5
    assert found.residual_k["solid"].rms < 1.0
    assert (np.array(found.log_sd) < sd).all()
    assert found.log_sd[FACTORS.index("sheath")] < 0.3 * sd[FACTORS.index("sheath")]


def test_a_fresh_melt_is_predicted_from_its_power_alone() -> None:
    rms_k, late_min = predicted(BENCH, learned(), melts()[3])
    assert rms_k <= 10.0
    assert abs(late_min) <= 1.5


def test_a_furnace_of_another_build_is_predicted_better_than_by_its_file() -> None:
    furnace = read_furnace(WeakFurnace.furnace_file)
    made = [
        melt(WeakFurnace(seed=1, spread=0.2), furnace, mass_kg=kg, alloy="356.0", to_c=700.0, firing_id=number)
        for number, kg in ((1, 0.9), (2, 0.5), (3, 0.7))
    ]
    model = learn(furnace, [each.firing for each in made[:2]])
    unlearned = replace(model, log_factors=(0.0,) * len(FACTORS))
    rms_k, late_min = predicted(furnace, model, made[2])
    assert rms_k <= 20.0
    assert rms_k < 0.2 * predicted(furnace, unlearned, made[2])[0]
    assert abs(late_min) <= 3.0


def test_residuals_are_kept_by_what_the_metal_does() -> None:
    model = learned()
    assert set(model.residual_k) == {"solid", "melting", "liquid", "dip"}
    assert model.residual_k["dip"].n == 3
    assert all(found.rms >= abs(found.bias) for found in model.residual_k.values())
    minutes_and_dips = 90 + 80 + 95 + 3
    assert sum(found.n for phase, found in model.residual_k.items() if phase != "dip") == minutes_and_dips


def test_the_share_of_its_power_that_a_furnace_usually_takes_is_the_mean_of_all_its_melts() -> None:
    shares = [each.firing.power_share for each in melts()]
    assert min(shares) < 0.98 < max(shares)  # mains of 97 to 102 %, an element of its own
    assert learned().power_share == pytest.approx(np.mean(shares[:3]))
    assert learn(BENCH, [melts()[2].firing, melts()[3].firing], learned()).power_share == pytest.approx(np.mean(shares))


def test_what_was_learned_says_where_it_holds() -> None:
    model = learned()
    assert model.low_c == pytest.approx(20.0, abs=2.0)
    assert 735.0 < model.high_c < 780.0
    assert model.learned_from == (1, 2, 3)
    assert model.metered
    assert model.made_utc_ms == melts()[2].firing.started_utc_ms + 95 * 60_000


def test_an_ordinary_fourth_melt_is_adopted_and_a_suspect_one_refused() -> None:
    adopted, fourth = learned(), melts()[3].firing
    model = learn(BENCH, [each.firing for each in melts()[1:]], adopted)
    assert model.learned_from == (1, 2, 3, 4)
    assert objections(model, adopted, adopted, fourth) == []
    assert surprising(model, adopted) == []
    assert usable_for_boost(model, BENCH) is None
    assert len(objections(model, adopted, adopted, replace(fourth, findings=2))) == 1
    assert len(objections(model, adopted, adopted, replace(fourth, outcome=""))) == 1


def test_a_melt_with_half_the_mass_that_was_entered_is_not_adopted() -> None:
    adopted = learned()
    wrong = melt(Bench(seed=3, spread=0.2), BENCH, mass_kg=1.0, entered=2.0, minutes=80.0, firing_id=4)
    model = learn(BENCH, [melts()[2].firing, wrong.firing], adopted)
    assert any("since the last model" in sentence for sentence in objections(model, adopted, adopted, wrong.firing))


def test_a_fit_of_two_firings_is_forgotten_by_the_third() -> None:
    brief = replace(melts()[0].firing, **{name: getattr(melts()[0].firing, name)[:240] for name in ARRAYS}, dips=())
    two = replace(learned(), learned_from=(7, 8), log_factors=(0.3,) * len(FACTORS))
    assert learn(BENCH, [brief], two) == learn(BENCH, [brief])


def test_a_dip_reading_pulls_the_metal_towards_it() -> None:
    firing = replace(melts()[0].firing, dips=())
    end_s = float(firing.t_s[-1])
    metal_c = last_metal_c(learned(), firing)
    dips = (Dip(end_s, metal_c + 40.0), Dip(end_s - 600.0, metal_c + 40.0))
    assert last_metal_c(learn(BENCH, [replace(firing, dips=dips)], learned()), firing) > metal_c + 2.0


def last_metal_c(model: Model, firing: Series) -> float:
    return float(simulate(REDUCED, firing, np.array(model.log_factors)[:, None]).metal_c[-1, 0])


def test_nothing_is_learned_from_nothing() -> None:
    with pytest.raises(ValueError, match="firings are 0"):
        learn(BENCH, [])
    mute = replace(melts()[0].firing, reading_c=np.full_like(melts()[0].firing.reading_c, np.nan))
    with pytest.raises(ValueError, match="1 without a minute of readings"):
        learn(BENCH, [mute])


# -- what a firing looks like to the model -------------------------------------------------------------------------


def rows(duty: float, mains: float, minutes: float) -> list[Row]:
    """A row a second; the meter gives whole pulses."""
    power_w = duty * BENCH.full_power_w * mains
    return [
        Row(float(second), 100.0 + second, duty, float(int(power_w * second / 3600.0)), second % 100 == 0)
        for second in range(1, round(minutes * 60.0) + 1)
    ]


@pytest.mark.parametrize("duty", [1.0, 0.12])
def test_pulses_give_the_power_though_each_is_coarse(duty: float) -> None:
    made = series(rows(duty, 0.9, 60.0), furnace=BENCH, charge=None, metered=True)
    expected_w = duty * 0.9 * BENCH.full_power_w
    assert made.power_w == pytest.approx(np.full(720, expected_w), rel=0.04)
    assert made.power_w.mean() == pytest.approx(expected_w, rel=0.01)


def test_without_a_meter_the_power_is_what_was_ordered() -> None:
    made = series(rows(0.5, 0.9, 10.0), furnace=BENCH, charge=None, metered=False)
    assert made.power_w == pytest.approx(np.full(120, 0.5 * BENCH.full_power_w))


def test_a_firing_without_power_has_no_ratio_of_its_own() -> None:
    nothing = np.zeros(5)
    assert mains_ratio(nothing, nothing) == pytest.approx(np.ones(5))


def test_a_series_ends_at_the_pour_and_keeps_readings_at_the_ends_of_steps() -> None:
    made = series(
        rows(0.5, 1.0, 10.0), furnace=BENCH, charge=None, poured_s=300.0, dips=[Dip(100.0, 600.0), Dip(400.0, 600.0)],
        metered=False,
    )  # fmt: skip
    assert len(made.t_s) == 60
    assert made.start_c == 101.0
    assert made.reading_c == pytest.approx(100.0 + made.t_s)
    assert made.lid_open.sum() == 3
    assert made.dips == (Dip(100.0, 600.0),)


def test_a_step_without_a_reading_has_none() -> None:
    gone = [row._replace(hot_junction_c=None) if 20 < row.t_s <= 25 else row for row in rows(0.5, 1.0, 1.0)]
    made = series(gone, furnace=BENCH, charge=None, metered=False)
    assert np.flatnonzero(np.isnan(made.reading_c)).tolist() == [4]
    with pytest.raises(ValueError, match="no reading"):
        series([row._replace(hot_junction_c=None) for row in gone], furnace=BENCH, charge=None, metered=False)
