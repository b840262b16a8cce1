"""Flights that judge the melt estimate: a simulated furnace, a plain loop on its reading, somebody who lifts the lid.

A furnace first melts a few times while nothing is known of it; the model is learned from these firings as from any log.
Then it melts once more, and the estimate is held against the plant's truth. The loop is none of the supervisor's.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from random import Random
from typing import Protocol

from hardware.ports import Plant, PlantState
from supervisor.furnace.description import FurnaceDescription
from supervisor.metal import alloys
from supervisor.metal.charge import Charge
from supervisor.model.estimate import Estimator
from supervisor.model.learn import learn
from supervisor.model.learned import Model
from supervisor.model.series import Addition, Dip, Row, Series, series

WINDOW_S = 5.0
_PLANT_STEP_S = 0.5
_STEPS = round(WINDOW_S / _PLANT_STEP_S)
_TARGET_OVER_POUR_K = 20.0
MOST_S = 4.0 * 3600.0
ALLOYS = ("6061", "6082", "A356.0", "380.0")


class Maker(Protocol):
    """A class of plants."""

    furnace_file: str

    def __call__(self, seed: int, spread: float = 0.0, start_c: float = 20.0) -> Plant: ...


@dataclass(frozen=True)
class Plan:
    """What is to happen in one firing. Times in s; `real` is the true mass over what was entered."""

    charge: Charge
    real: float = 1.0
    pour_c: float = 720.0
    mains: float = 1.0
    start_c: float = 20.0
    lids: tuple[tuple[float, float], ...] = ()  # when, for how long, while it is heating up
    skim_s: float = 0.0  # lid off for so long, some minutes after all is molten
    added_kg: float = 0.0  # entered; put in when most is molten, with the lid off for 40 s
    hold_s: float = 900.0  # goes on for so long after it is fit to pour
    dip_after_s: float | None = None  # a dip reading, so long after all is molten
    boost_k: float = 60.0  # how much hotter than its target the chamber may be while the metal is cold

    @property
    def target_c(self) -> float:
        """The top of the profile."""
        return self.pour_c + _TARGET_OVER_POUR_K


@dataclass
class Flight:
    """What came of it: rows as the log has them, and what the truth was."""

    rows: list[Row] = field(default_factory=list)
    additions: list[Addition] = field(default_factory=list)
    dips: list[Dip] = field(default_factory=list)
    ready_s: float | None = None  # coldest metal first at pour_c

    def series(self, furnace: FurnaceDescription, plan: Plan, number: int) -> Series:
        """The firing as the model learns from it."""
        return series(
            self.rows,
            furnace=furnace,
            charge=plan.charge,
            additions=self.additions,
            dips=self.dips,
            metered=True,
            firing_id=number,
            outcome="poured",
        )


Watch = Callable[[float, Estimator, PlantState], None]
"""Called each window with the time, s, the estimator and the truth."""


class _Loop:
    """PI on the reading, tuned by the furnace's step response."""

    def __init__(self, furnace: FurnaceDescription) -> None:
        lag_s = 2.4 * furnace.response.dead_time_s
        self._gain = 1.0 / (furnace.response.slope_c_per_s * lag_s)
        self._integral_s = 4.0 * lag_s
        self._integral = 0.0

    def duty(self, setpoint_c: float, reading_c: float) -> float:
        error_k = setpoint_c - reading_c
        wanted = self._gain * error_k + self._integral
        given = min(max(wanted, 0.0), 1.0)
        if given == wanted or (error_k > 0.0) != (wanted > 0.0):
            self._integral = min(max(self._integral + self._gain * error_k * WINDOW_S / self._integral_s, 0.0), 1.0)
        return given


class Meter:
    """Power as the supervisor reckons it: ordered, times metered over ordered energy of the last ten minutes."""

    def __init__(self, furnace: FurnaceDescription) -> None:
        self._full_w = furnace.full_power_w
        self._past: list[tuple[float, float]] = [(0.0, 0.0)]
        self.pulses = 0

    def power_w(self, duty: float, supplied_j: float) -> float:
        """Mean of the last window."""
        self.pulses = int(supplied_j / 3600.0)  # 1000 pulses per kWh
        ordered_wh = self._past[-1][0] + duty * self._full_w * WINDOW_S / 3600.0
        self._past.append((ordered_wh, float(self.pulses)))
        first = self._past[max(0, len(self._past) - 121)]
        ratio = (self.pulses - first[1] + 10.0) / (ordered_wh - first[0] + 10.0)
        return duty * self._full_w * ratio


class _Pilot:
    """One firing on its way."""

    def __init__(
        self, plant: Plant, furnace: FurnaceDescription, plan: Plan, estimator: Estimator | None, watch: Watch | None
    ) -> None:
        self._plant, self._plan, self._estimator, self._watch = plant, plan, estimator, watch
        self._loop, self._meter = _Loop(furnace), Meter(furnace)
        self.flight = Flight()
        self._setpoint_c, self._boost = plan.target_c, estimator is not None
        self._owed = self._lid_until_s = 0.0
        self._molten_s: float | None = None
        self._waiting_kg, self._lids = plan.added_kg, list(plan.lids)
        self._skimmed, self._dipped = plan.skim_s == 0.0, plan.dip_after_s is None
        plant.add_charge(plan.charge.mass_kg * plan.real, 20.0, plan.charge.alloy)
        self._state = plant.step(_PLANT_STEP_S, element_on=False, lid_open=False, mains_factor=plan.mains)

    def over(self, t_s: float) -> bool:
        ready_s = self.flight.ready_s
        return t_s >= MOST_S or (ready_s is not None and t_s >= ready_s + self._plan.hold_s)

    def go_on(self, t_s: float) -> None:
        """One window that ends at t_s."""
        self._lift_the_lid(t_s)
        self._add(t_s)
        if self._state.share_molten >= 1.0 and not self._waiting_kg:
            self._look_after(t_s)
        lid_open = t_s <= self._lid_until_s
        ordered = self._heat(lid_open)
        reading_c = _shown(self._state)
        power_w = self._meter.power_w(ordered, self._state.supplied_j)
        self.flight.rows.append(Row(t_s, reading_c, ordered, float(self._meter.pulses), lid_open))
        if self.flight.ready_s is None and not self._waiting_kg and self._state.metal_coldest_c >= self._plan.pour_c:
            self.flight.ready_s = t_s
        if self._estimator is not None:
            self._estimator.go_on(reading_c, power_w, lid_open=lid_open)
            self._govern(self._estimator)
            if self._watch is not None:
                self._watch(t_s, self._estimator, self._state)

    def _lift_the_lid(self, t_s: float) -> None:
        if self._lids and t_s >= self._lids[0][0]:
            self._lid_until_s = t_s + self._lids.pop(0)[1]

    def _add(self, t_s: float) -> None:
        if not self._waiting_kg or self._state.share_molten <= 0.8:
            return
        self._lid_until_s = t_s + 40.0
        self._plant.add_charge(self._waiting_kg * self._plan.real, 20.0, self._plan.charge.alloy)
        self.flight.additions.append(Addition(t_s - WINDOW_S, self._waiting_kg, None))
        if self._estimator is not None:
            self._estimator.put_in(self._waiting_kg, self._plan.charge)
        self._waiting_kg = 0.0

    def _look_after(self, t_s: float) -> None:
        """All is molten: somebody skims, and dips a probe that is right to 2 K."""
        self._molten_s = t_s if self._molten_s is None else self._molten_s
        if not self._skimmed and t_s > self._molten_s + 240.0:
            self._lid_until_s, self._skimmed = t_s + self._plan.skim_s, True
        if not self._dipped and t_s >= self._molten_s + (self._plan.dip_after_s or 0.0):
            self._dipped = True
            dip = Dip(t_s - WINDOW_S, self._state.metal_mean_c + Random(t_s).gauss(0.0, 2.0))
            self.flight.dips.append(dip)
            if self._estimator is not None:
                self._estimator.dip(dip.metal_c)

    def _heat(self, lid_open: bool) -> float:
        """Step the plant through a window; the duty that it had."""
        wanted = 0.0 if lid_open else self._loop.duty(self._setpoint_c, _shown(self._state)) * _STEPS
        on_steps = round(wanted + self._owed)
        self._owed += wanted - on_steps
        for i in range(_STEPS):
            self._state = self._plant.step(
                _PLANT_STEP_S, element_on=i < on_steps, lid_open=lid_open, mains_factor=self._plan.mains
            )
        return on_steps / _STEPS

    def _govern(self, estimator: Estimator) -> None:
        found, target_c = estimator.estimate(), self._plan.target_c
        upper_c = found.upper_c if found is not None and not found.doubt else target_c
        self._boost = self._boost and target_c - upper_c > 25.0
        over_k = min(max(5.0 * (target_c - upper_c), 0.0), self._plan.boost_k) if self._boost else 0.0
        self._setpoint_c = target_c + over_k


def _shown(state: PlantState) -> float:
    """The reading in the steps of the chip."""
    return round(state.hot_junction_c * 4.0) / 4.0


def fly(
    plant: Plant,
    furnace: FurnaceDescription,
    plan: Plan,
    estimator: Estimator | None = None,
    watch: Watch | None = None,
) -> Flight:
    """Melt once. With an estimator the chamber is held hotter while its upper edge says that the metal is cold."""
    pilot, t_s = _Pilot(plant, furnace, plan, estimator, watch), 0.0
    while not pilot.over(t_s):
        t_s += WINDOW_S
        pilot.go_on(t_s)
    return pilot.flight


def drawn(random: Random, furnace: FurnaceDescription, alloy: str, *, dips: bool) -> Plan:
    """A firing as people have them: 35 to 100 % of the fill, weighed to 10 %, mains to 3 %, lids, additions, holds."""
    fill = furnace.crucible.capacity_kg * random.uniform(0.35, 1.0)
    added_kg = fill * random.uniform(0.2, 0.5) if random.random() < 0.25 else 0.0
    charge = alloys.charge(round(fill - added_kg, 2), alloy, "off-cuts")
    assert charge.liquidus_c is not None
    lids = ((random.uniform(300.0, 2400.0), random.uniform(20.0, 60.0)),) if random.random() < 0.5 else ()
    return Plan(
        charge,
        real=random.uniform(0.9, 1.1),
        pour_c=round(charge.liquidus_c + random.choice((50.0, 70.0, 90.0))),
        mains=min(max(random.gauss(1.0, 0.03), 0.94), 1.06),
        start_c=random.uniform(150.0, 500.0) if random.random() < 0.15 else 20.0,
        lids=lids,
        skim_s=random.uniform(20.0, 60.0) if random.random() < 0.6 else 0.0,
        added_kg=round(added_kg, 2),
        hold_s=random.uniform(300.0, 1500.0),
        dip_after_s=random.uniform(120.0, 600.0) if dips else None,
    )


def learned(maker: Maker, furnace: FurnaceDescription, seed: int, *, firings: int = 3, dips: bool = False) -> Model:
    """The model after so many ordinary melts of this furnace, the first of them cold."""
    kept = []
    for number in range(firings):
        random = Random(f"{seed} learning {number}")
        plan = drawn(random, furnace, random.choice(ALLOYS), dips=dips)
        start_c = plan.start_c if number else 20.0
        plan = replace(plan, boost_k=0.0, start_c=start_c)
        flight = fly(maker(seed, 0.2, start_c), furnace, plan)
        kept.append(flight.series(furnace, plan, number + 1))
    return learn(furnace, kept)


def judged(
    maker: Maker,
    furnace: FurnaceDescription,
    seed: int,
    model: Model | None,
    watch: Watch,
    *,
    dips: bool = False,
    made: Callable[..., Estimator] = Estimator,
) -> tuple[Plan, Flight]:
    """One more melt of this furnace, which the model has never seen, under the estimate."""
    random = Random(f"{seed} judged")
    plan = drawn(random, furnace, random.choice(ALLOYS), dips=dips)
    plant = maker(seed, 0.2, plan.start_c)
    started_c = _shown(plant.state)
    estimator = made(furnace, model, reading_c=started_c, charge=plan.charge, drained=True)
    return plan, fly(plant, furnace, plan, estimator, watch)
