"""One dated correction of a sensor: bounded, in the furnace file, told beside the number; the log keeps it raw."""

from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from supervisor.cli import main
from supervisor.furnace.description import Correction
from supervisor.furnace.file import SHIPPED, read_furnace
from supervisor.logbook.records import SampleRow
from supervisor.refusal import InputRefused
from tests.supervisor.furnace_at_hand import BENCH, furnace_at_hand, melt

SIX_LESS = Correction(-6.0, 660.0, "2026-11-27", "Ada", "three dips")


def shipped(name: str) -> str:
    import supervisor.furnace.files as files

    return (Path(files.__file__).parent / f"{name}.toml").read_text(encoding="utf-8")


def test_it_is_in_the_number_and_told_and_the_word_stays_as_it_came() -> None:
    hand, plain = furnace_at_hand(start_c=300.0), furnace_at_hand(start_c=300.0)
    hand.memory.furnace = replace(BENCH, correction=SIX_LESS)
    hand.wait(2.0)
    plain.wait(2.0)
    assert hand.memory.belief.reading is not None
    assert plain.memory.belief.reading is not None
    off_k = hand.memory.belief.reading.hot_junction_c - plain.memory.belief.reading.hot_junction_c
    assert off_k == pytest.approx(-6.0 * 280.0 / 640.0, abs=0.3)  # in proportion to hot less cold junction
    assert hand.memory.belief.reading.word == plain.memory.belief.reading.word
    assert hand.shown()["hot_junction"]["correction"]["k"] == -6.0
    assert plain.shown()["hot_junction"]["correction"] is None


def test_cold_it_changes_nothing() -> None:
    assert SIX_LESS.at(21.0, 20.5) == pytest.approx(0.0, abs=0.01)
    assert SIX_LESS.at(660.0, 20.0) == pytest.approx(-6.0)


def test_each_firing_freezes_it_and_its_rows_keep_the_raw_word() -> None:
    hand = furnace_at_hand()
    hand.memory.furnace = replace(BENCH, correction=SIX_LESS)
    hand.wait(1.0)
    hand.prepare(melt())
    hand.send(hand.start_command())
    hand.wait(2.0)
    opened = next(row for row in hand.records if type(row).__name__ == "FiringOpened")
    assert opened.frozen["sensor_correction"]["by"] == "Ada"  # type: ignore[union-attr]
    assert all(row.raw_word for row in hand.records if isinstance(row, SampleRow))


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("k = -11", "sensor_correction.k is -11"),
        ("k = 2", ""),
        ('on = "yesterday"', 'sensor_correction.on is "yesterday"'),
    ],
)
def test_the_file_bounds_it(tmp_path: Path, line: str, said: str) -> None:
    lines = {"k": "k = -6", "at_c": "at_c = 660", "on": 'on = "2026-11-27"', "by": 'by = "Ada"', "why": 'why = "dips"'}
    lines[line.split(" ")[0]] = line
    file = tmp_path / "shed.toml"
    file.write_text(
        shipped("workshop") + "\n[sensor_correction]\n" + "\n".join(lines.values()) + "\n", encoding="utf-8"
    )
    if said:
        with pytest.raises(InputRefused) as refused:
            read_furnace(str(file))
        assert said in str(refused.value)
    else:
        assert read_furnace(str(file)).correction == Correction(2.0, 660.0, "2026-11-27", "Ada", "dips")


def test_the_command_writes_it_keeps_the_old_file_and_takes_it_away_again(tmp_path: Path) -> None:
    file = tmp_path / "shed.toml"
    file.write_text(shipped("workshop"), encoding="utf-8")

    def correct(by_k: str) -> str:
        args = ["correct", "--furnace", str(file), "--data", str(tmp_path), f"--by-k={by_k}", "--at=660"]
        done = CliRunner().invoke(main, ["care", *args, "--who=Ada", "--why=three dips"], standalone_mode=False)
        return done.output if done.exception is None else str(done.exception)

    assert "Corrected by -6 K at 660 °C." in correct("-6")
    found = read_furnace(str(file)).correction
    assert found is not None
    assert (found.k, found.by) == (-6.0, "Ada")
    assert "sensor_correction.k is -12" in correct("-12")
    assert read_furnace(str(file)).correction == found  # refused: as it was
    correct("3")
    assert file.read_text(encoding="utf-8").count("[sensor_correction]") == 1
    correct("0")
    assert read_furnace(str(file)).correction is None
    assert [each.name for each in tmp_path.glob("*-before-*")]
    assert not list(tmp_path.glob("*.new.toml"))


def test_a_shipped_file_is_not_corrected(tmp_path: Path) -> None:
    args = ["correct", "--furnace", SHIPPED[0], "--by-k=1", "--at=660", "--who=x", "--why=y"]
    done = CliRunner().invoke(main, ["care", *args], standalone_mode=False)
    assert "allowed: a furnace file of your own" in str(done.exception)
