"""What the log teaches of a furnace: which firings count, what is learned from them, and what is kept."""

import dataclasses
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from supervisor.furnace.description import Tariff
from supervisor.logbook.learning import models, series_of, was_drained, why_not
from supervisor.logbook.lesson import Lesson, NothingNew, lesson
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import ModelRow
from supervisor.model.series import Series
from supervisor.refusal import InputRefused
from tests.supervisor.logbook import scribe_of
from tests.supervisor.logbook_melts import FURNACE, keep_melt


def read(path: Path, firing_id: int = 1, *, meter: bool = True) -> Series:
    with open_log(path) as log:
        return series_of(log, log.firing(firing_id), FURNACE, meter=meter)


def taught(path: Path, **wishes: Any) -> Lesson:
    with open_log(path) as log:
        learned = lesson(log, FURNACE, **wishes)
    assert isinstance(learned, Lesson), learned
    return learned


def keep(path: Path, row: ModelRow) -> None:
    with scribe_of(path) as scribe:
        scribe.put([row])


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({}, ""),
        ({"state": "stopped"}, ""),
        ({"mass_kg": 0.0, "notes": ()}, ""),
        ({"state": "aborted"}, "it is aborted"),
        ({"minutes": 5.0}, "it lasted less than 10 min"),
        ({"alarm": "sensor-open"}, "watches spoke: sensor-open"),
        ({"notes": ()}, "nobody noted the pour, so its outcome is not confirmed"),
        ({"frozen": {"parts_digest": "another"}}, "element, sensor, lining or crucible were others then"),
        ({"events": [(900.0, "mass doubted", {})]}, "the charge's mass was doubted and nobody answered"),
        ({"events": [(900.0, "mass doubted", {}), (960.0, "press", {"answers": "mass"})]}, ""),
    ],
)
def test_a_firing_counts_when_nothing_about_it_is_in_doubt(
    tmp_path: Path, changes: Mapping[str, Any], why: str
) -> None:
    keep_melt(tmp_path, 1, **{"minutes": 11.0, **changes})
    with open_log(tmp_path) as log:
        assert why_not(log, log.firing(1), FURNACE) == why


def test_a_firing_becomes_a_series_of_what_was_measured(tmp_path: Path) -> None:
    dip = (1500.0, {"kind": "dip reading", "temperature_c": 655.0})
    slip = (1520.0, {"kind": "dip reading", "temperature_c": 65.0, "believed": False})
    added = (1200.0, {"kind": "addition", "mass_kg": 0.25})
    notes: list[tuple[float, Mapping[str, Any]]] = [added, dip, slip, (1740.0, {"kind": "pour"})]
    keep_melt(tmp_path, 1, minutes=30.0, lid_min=20.0, mains=0.95, notes=notes)
    made = read(tmp_path)
    assert (made.metered, made.findings, made.outcome, made.firing_id) == (True, 0, "poured", 1)
    assert made.charge is not None
    assert (made.charge.mass_kg, made.charge.solidus_c) == (2.0, 585.0)
    assert [(each.t_s, each.mass_kg) for each in made.additions] == [(1200.0, 0.25)]
    assert [tuple(each) for each in made.dips] == [(1500.0, 655.0)]
    assert made.t_s[-1] == 1740.0, "it ends at the pour"
    assert np.flatnonzero(made.lid_open).tolist() == list(range(240, 248))
    # At full power: the meter saw the mains, what was ordered knows nothing of them.
    assert made.power_w[20:100].mean() == pytest.approx(0.95**2 * FURNACE.full_power_w, rel=0.03)
    assert read(tmp_path, meter=False).power_w[20:100].mean() == pytest.approx(FURNACE.full_power_w, rel=1e-6)


def test_a_weighing_in_the_firing_counts_for_all_that_was_in_the_pot_by_then(tmp_path: Path) -> None:
    notes: list[tuple[float, Mapping[str, Any]]] = [
        (600.0, {"kind": "addition", "mass_kg": 0.5}),
        (640.0, {"kind": "mass", "mass_kg": 2.0}),
        (-1.0, {"kind": "pour"}),
    ]
    keep_melt(tmp_path, 1, minutes=12.0, notes=notes)
    put_in = read(tmp_path).charge
    assert put_in is not None
    assert put_in.mass_kg == 1.5


def test_a_meter_that_cannot_be_true_is_used_by_nobody(tmp_path: Path) -> None:
    keep_melt(tmp_path, 1, minutes=12.0, meter_factor=0.6)
    assert not read(tmp_path).metered


@pytest.mark.parametrize("backend", ["simulated", "pi"])
def test_the_pot_is_known_to_be_empty_when_the_last_pour_was_noted(tmp_path: Path, backend: str) -> None:
    def drained() -> bool:
        with open_log(tmp_path) as log:
            return was_drained(log)

    with scribe_of(tmp_path, backend=backend):
        pass
    assert drained() == (backend == "simulated"), "nobody knows of a real pot"
    keep_melt(tmp_path, 1, minutes=11.0, backend=backend)
    assert drained()
    keep_melt(tmp_path, 2, minutes=11.0, backend=backend, notes=())
    assert not drained()
    keep_melt(tmp_path, 3, minutes=11.0, backend=backend, mass_kg=0.0, notes=())
    assert not drained(), "a firing without metal says nothing of the one before"


@pytest.fixture(scope="module")
def school(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Lesson]:
    """Three ordinary melts of different charges, and what they teach. Only to be copied."""
    path = tmp_path_factory.mktemp("school")
    for firing_id, mass_kg in enumerate((2.0, 1.5, 2.5), start=1):
        keep_melt(path, firing_id, mass_kg=mass_kg)
    return path, taught(path)


@pytest.fixture
def three_melts(school: tuple[Path, Lesson], tmp_path: Path) -> Path:
    """The log of three melts, with nothing learned yet."""
    shutil.copytree(school[0], tmp_path, dirs_exist_ok=True)
    return tmp_path


@pytest.fixture
def learned(school: tuple[Path, Lesson]) -> Lesson:
    """What they teach."""
    return school[1]


def test_from_three_melts_a_model_is_learned_that_predicts_their_readings(three_melts: Path, learned: Lesson) -> None:
    assert (learned.model.learned_from, learned.objections, learned.left_out) == ((1, 2, 3), [], [])
    for phase in ("solid", "melting", "liquid"):
        assert learned.model.residual_k[phase].rms <= 10.0, phase  # goal of the project, K open loop
    series = learned.against["series"]
    assert [each["firing_id"] for each in series] == [1, 2, 3]
    for each in series:
        assert len(each["t_s"]) == len(each["measured_c"]) == len(each["predicted_c"]) <= 120
        off_k = np.array(each["measured_c"]) - np.array(each["predicted_c"])
        assert np.sqrt(np.mean(off_k**2)) <= 10.0
    keep(three_melts, learned.row(adopted=True, who="learner", where="a test"))
    with open_log(three_melts) as log:
        assert lesson(log, FURNACE) == NothingNew([])
        assert models(log, FURNACE).adopted == learned.model
        assert models(log, FURNACE).commissioning == learned.model


def test_later_firings_move_the_model_in_use(three_melts: Path, learned: Lesson) -> None:
    keep(three_melts, learned.row(adopted=True, who="learner", where="a test"))
    keep_melt(three_melts, 4, alarm="stuck-on")
    keep_melt(three_melts, 5, mass_kg=1.0)
    later = taught(three_melts)
    assert later.model.learned_from == (1, 2, 3, 5)
    assert [each.firing_id for each in later.firings] == [5]
    assert list(later.left_out) == [(4, "watches spoke: stuck-on")]


def test_one_may_learn_from_chosen_firings_alone_and_is_told_what_speaks_against_them(three_melts: Path) -> None:
    keep_melt(three_melts, 4, notes=(), alarm="stuck-on")
    chosen = taught(three_melts, chosen=(4, 2))
    assert chosen.model.learned_from == (2, 4)
    assert any("firing 4" in objection for objection in chosen.objections)
    with pytest.raises(InputRefused, match="There is no firing 9"):
        taught(three_melts, chosen=(9,))


def test_a_model_of_other_parts_is_not_this_furnaces(three_melts: Path, learned: Lesson) -> None:
    keep(three_melts, learned.row(adopted=True, who="learner", where="a test"))
    with open_log(three_melts) as log:
        rewound = dataclasses.replace(FURNACE, element_cold_ohm=0.9 * FURNACE.element_cold_ohm)
        assert models(log, rewound).adopted is None
        renamed = dataclasses.replace(FURNACE, title="Another name", tariff=Tariff(0.3, "EUR"), digest="another")
        assert models(log, renamed).adopted == learned.model


def test_a_model_that_waits_for_a_person_is_not_used_and_a_first_one_is_no_measure(
    three_melts: Path, learned: Lesson
) -> None:
    young = dataclasses.replace(learned, model=dataclasses.replace(learned.model, learned_from=(1,)))
    keep(three_melts, young.row(adopted=True, who="learner", where="a test"))
    keep(three_melts, learned.row(adopted=False, who="learner", where="a test"))
    with open_log(three_melts) as log:
        known = models(log, FURNACE)
    assert known.adopted == young.model
    assert known.commissioning is None
    assert [kept.row.adopted for kept in known.kept] == [False, True]


def test_a_model_that_cannot_be_read_is_left_alone(three_melts: Path, learned: Lesson) -> None:
    keep(three_melts, learned.row(adopted=True, who="learner", where="a test"))
    keep(three_melts, learned.row(adopted=True, who="learner", where="a test")._replace(model='{"factors": {}}'))
    with open_log(three_melts) as log:
        assert models(log, FURNACE).adopted == learned.model
