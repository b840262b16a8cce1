"""What the log keeps of the equipment: proofs and changed parts in an order without a clock; what teaches no more."""

import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest

from supervisor.begin import begin
from supervisor.furnace.file import read_furnace
from supervisor.furnace.proofs import of
from supervisor.furnace.stages import Changed, Proved, Stage
from supervisor.logbook.commissioning import unlocking, worn
from supervisor.logbook.learning import models, why_not
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import FiringClosed, PartRow, ProofRow
from tests.supervisor.firing.knowing import as_described
from tests.supervisor.furnace_at_hand import furnace_at_hand
from tests.supervisor.logbook import UTC_MS, model, opened, query, sample, scribe_of
from tests.supervisor.logbook_melts import FURNACE, keep_melt

BENCH = read_furnace("bench")


def every_proof(after_part: int = 0) -> list[ProofRow]:
    return [
        ProofRow(
            Proved(name, "proved", not kind.stated, kind.about(BENCH), "seen", "Ada", UTC_MS, after_part), None, "check"
        )
        for name, kind in of(BENCH).items()
    ]


def part(name: str, after_firing: int = 0) -> PartRow:
    return PartRow(Changed(name, "a new one", "Ada", UTC_MS, after_firing), "check")


def stage(path: Path) -> Stage:
    with open_log(path) as log:
        return unlocking(log, counted=True, today_ms=UTC_MS).stage(BENCH)


def test_a_change_after_a_proof_takes_it_back_and_one_before_does_not_whatever_the_clock_says(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.put([part("lid-switch")])
        scribe.put(every_proof(after_part=1))
    assert stage(tmp_path) is Stage.MELTS
    with scribe_of(tmp_path) as scribe:
        scribe.put([part("lid-switch")])  # of the same moment, by its date
    assert stage(tmp_path) is Stage.NONE


@pytest.mark.parametrize("table", ["proof", "part"])
def test_proofs_and_parts_are_never_changed_or_deleted(tmp_path: Path, table: str) -> None:
    with scribe_of(tmp_path) as scribe:
        scribe.put([*every_proof(), part("relay")])
    with sqlite3.connect(tmp_path / "furnace.db") as connection:
        for sql in (f"DELETE FROM {table}", f"UPDATE {table} SET who = 'Ben'"):
            with pytest.raises(sqlite3.IntegrityError, match="never"):
                connection.execute(sql)
    said = dict(query(tmp_path, "SELECT proof, how FROM proofs"))
    assert (said["lid"], said["earth-bond"]) == ("witnessed", "stated by Ada")


def test_a_part_counts_firings_melts_hours_and_peak_since_it_was_fitted_and_no_paper(tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        for number, (metal, peak_c) in enumerate([(True, 750.0), (False, 910.0), (True, 760.0)], start=1):
            opening = opened(number)
            frozen = {**opening.frozen, "charge": {"mass_kg": 2.0} if metal else None}
            scribe.put([opening._replace(frozen=frozen), sample(0, number)])
            scribe.put([FiringClosed(number, 3_600_000, "complete", None, {"peak_c": peak_c})])
            if number == 1:
                scribe.put([part("crucible", after_firing=1)])
        scribe.put([opened(4)._replace(backend="paper"), FiringClosed(4, 0, "complete", None, {"peak_c": 990.0})])
    with open_log(tmp_path) as log:
        found = {each.part: each for each in worn(log)}
    pot, wire = found["crucible"], found["element"]
    assert (pot.firings, pot.melts, pot.hours, pot.peak_c, pot.note) == (2, 1, 2.0, 910.0, "a new one")
    assert (wire.firings, wire.melts, wire.hours, wire.since_utc_ms) == (3, 2, 3.0, None)


@pytest.mark.parametrize(("changed", "counts"), [("lining", False), ("element", False), ("relay", True)])
def test_what_was_learned_before_a_part_of_the_model_was_changed_counts_no_more(
    tmp_path: Path, changed: str, counts: bool
) -> None:
    keep_melt(tmp_path, 3, minutes=11.0)
    known = replace(as_described(FURNACE), learned_from=(1, 2, 3))
    with scribe_of(tmp_path) as scribe:
        scribe.put([model(3)._replace(model=known.to_json())])
        scribe.put([part(changed, after_firing=3)])
    keep_melt(tmp_path, 4, minutes=11.0)
    with open_log(tmp_path) as log:
        assert (models(log, FURNACE).adopted is not None) is counts
        assert (models(log, FURNACE).commissioning is not None) is counts
        why = why_not(log, log.firing(3), FURNACE)
        assert why == ("" if counts else "element, sensor, lining or crucible was changed since then")
        assert why_not(log, log.firing(4), FURNACE) == ""


@pytest.mark.parametrize(
    ("backend", "from_stage", "proved", "number"),
    [
        ("simulated", None, False, 3),
        ("simulated", 0, False, 0),
        ("simulated", 0, True, 3),
        ("pi", None, False, 0),
        ("pi", None, True, 3),
    ],
)
def test_a_supervisor_begins_with_the_stage_that_its_own_log_proves(
    tmp_path: Path, backend: str, from_stage: int | None, proved: bool, number: int
) -> None:
    with scribe_of(tmp_path, backend=backend) as scribe:
        scribe.put(every_proof() if proved else [])
    hand = furnace_at_hand()
    with open_log(tmp_path) as log:
        begun = begin(
            log, BENCH, hand.hardware.sample(), backend=backend, boot_id="b", utc_ms=UTC_MS, from_stage=from_stage
        )
    assert begun.memory.firing.unlocking.stage(BENCH) == number


def test_proofs_hold_by_the_latest_date_ever_known_where_no_clock_is_trusted(tmp_path: Path) -> None:
    with scribe_of(tmp_path, backend="pi") as scribe:
        scribe.put(every_proof())
    hand = furnace_at_hand()
    sample_ = hand.hardware.sample()
    untrusted = sample_._replace(board=sample_.board._replace(clock_trusted=False))
    with open_log(tmp_path) as log:
        far = begin(log, BENCH, untrusted, backend="pi", boot_id="b", utc_ms=10 * UTC_MS)
        assert far.memory.firing.unlocking.stage(BENCH) is Stage.MELTS  # a clock that is wrong overdues nothing
        at_1970 = begin(log, BENCH, untrusted, backend="pi", boot_id="b", utc_ms=0)
        assert at_1970.memory.firing.unlocking.today_ms <= UTC_MS
