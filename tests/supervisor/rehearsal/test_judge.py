"""A recorded firing judged again: by the same version it says the same, and it says what would differ."""

import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from hardware.simulated.plant import Bench
from supervisor import cycle as core
from supervisor.cli import main
from supervisor.firing.profile import Profile
from supervisor.firing.profile_file import read_profile
from supervisor.firing.states import State
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.file import read_furnace
from supervisor.logbook.directory import open_directory
from supervisor.logbook.reading import open_log
from supervisor.logbook.scribe import Scribe
from supervisor.refusal import InputRefused
from supervisor.rehearsal.again import Spoke
from supervisor.rehearsal.judge import NOT_IN_THE_LOG, Judgement, compare, judge_again
from supervisor.rehearsal.rehearse import Wish, rehearse
from supervisor.watches import WATCHES, Watch
from supervisor.watches.sensor import ReadingFrozen
from tests.supervisor.logbook import closed, event, opened, samples

BENCH = read_furnace("bench")

Change = Callable[[Sequence[Watch]], None]


def profile(repository: Path) -> Profile:
    return read_profile(repository / "docs" / "examples" / "ingots-2kg.toml", BENCH)


def judged(
    repository: Path,
    where: Path,
    *,
    faults: tuple[tuple[str, float], ...] = (),
    for_s: float = 600.0,
    furnace: FurnaceDescription = BENCH,
    today: FurnaceDescription | None = None,
    seed: int = 1,
) -> Judgement:
    """Rehearse in `where`, and judge it again."""
    rehearse(Wish(profile(repository), furnace, Bench, faults=faults, at_most_s=for_s, seed=seed), where)
    with open_log(where) as log:
        return judge_again(log, 1, today or furnace)


def verdicts(judgement: Judgement) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for said in judgement.said:
        found.setdefault(said.watch, set()).add(said.verdict)
    return found


@pytest.fixture(scope="module")
def sensor_opened(repository: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The log of a firing whose sensor opened, only to be read."""
    where = tmp_path_factory.mktemp("opened") / "data"
    rehearse(Wish(profile(repository), BENCH, Bench, faults=(("sensor_open", 300.0),), at_most_s=600.0), where)
    return where


FAULTS = ["sensor_open", "sensor_frozen", "sensor_intermittent", "element_broken", "relay_stuck_on", "mains_off"]


@pytest.mark.parametrize("fault", FAULTS)
def test_a_firing_judged_by_the_version_that_ran_it_says_the_same(fault: str, repository: Path, tmp_path: Path) -> None:
    judgement = judged(repository, tmp_path / "data", faults=((fault, 300.0),))
    assert judgement.said
    assert not judgement.differs, verdicts(judgement)
    alarms = [said for said in judgement.said if said.watch not in ("lid", "no-reading")]
    assert alarms
    for said in judgement.said:
        if said.verdict == "same":
            assert said.then_s is not None
            assert said.today_s == pytest.approx(said.then_s, abs=1.0)


def test_a_clean_firing_says_nothing_today_either(repository: Path, tmp_path: Path) -> None:
    judgement = judged(repository, tmp_path / "data")
    assert judgement.said == ()
    assert judgement.remarks == ()


@pytest.fixture
def without(monkeypatch: pytest.MonkeyPatch) -> Change:
    """Change today's table of watches."""

    def change(watches: Sequence[Watch]) -> None:
        asked = {state: tuple(watch for watch in watches if state in watch.states) for state in State}
        between = {state: tuple(watch for watch in each if not watch.each_second) for state, each in asked.items()}
        monkeypatch.setattr(core, "ASKED", asked)
        monkeypatch.setattr(core, "ASKED_BETWEEN", between)

    return change


def test_a_watch_that_was_taken_out_is_no_longer_heard(sensor_opened: Path, without: Change) -> None:
    without([watch for watch in WATCHES if watch.id != "sensor-open"])
    with open_log(sensor_opened) as log:
        judgement = judge_again(log, 1, BENCH)
    assert judgement.differs
    assert verdicts(judgement)["sensor-open"] == {"no longer"}


def test_a_limit_that_was_changed_says_the_difference_with_both_times(
    repository: Path, tmp_path: Path, without: Change
) -> None:
    judged(repository, tmp_path / "data", faults=(("sensor_frozen", 300.0),))
    tighter = replace(ReadingFrozen(), limit_s=ReadingFrozen().limit_s - 15)
    without([tighter if watch.id == tighter.id else watch for watch in WATCHES])
    with open_log(tmp_path / "data") as log:
        judgement = judge_again(log, 1, BENCH)
    (said,) = [said for said in judgement.said if said.watch == "reading-frozen"]
    assert said.verdict == "earlier"
    assert said.then_s is not None
    assert said.today_s == pytest.approx(said.then_s - 15.0, abs=1.0)


def test_what_the_log_does_not_hold_is_said_and_not_guessed(repository: Path, tmp_path: Path) -> None:
    judgement = judged(repository, tmp_path / "data", for_s=120.0)
    ids = {watch.id for watch in WATCHES}
    assert judgement.not_judged == {name: why for name, why in NOT_IN_THE_LOG.items() if name in ids}
    late = Spoke("loop-late", 10.0, "1.00 s since the last rising edge")
    (said,) = compare([late], [], NOT_IN_THE_LOG)
    assert said.verdict == "not judged"


def test_a_changed_furnace_file_is_remarked_upon(repository: Path, tmp_path: Path) -> None:
    changed = replace(BENCH, digest="another")
    judgement = judged(repository, tmp_path / "data", for_s=120.0, today=changed)
    assert "furnace file has changed" in judgement.remarks[0]


def test_a_firing_of_another_furnace_is_refused(repository: Path, tmp_path: Path) -> None:
    with pytest.raises(InputRefused, match="was on the furnace 'bench'"):
        judged(repository, tmp_path / "data", for_s=60.0, today=replace(BENCH, name="other"))


def test_a_firing_cut_short_is_judged_up_to_its_last_row(repository: Path, tmp_path: Path) -> None:
    """A rehearsal that is left in the middle has no closing record: as after a power cut."""
    judgement = judged(repository, tmp_path / "data", for_s=300.0)
    assert judgement.firing.state == "interrupted"
    assert not judgement.differs


def test_rows_that_no_program_wrote_are_refused_in_one_sentence(tmp_path: Path) -> None:
    """A state that nobody knows, and inputs that mean nothing."""
    with (
        open_directory(tmp_path, backend="simulated", furnace="bench") as data,
        Scribe(data, boot_id="test", utc_ms=lambda: 1_767_225_600_000, threaded=False) as scribe,
    ):
        odd = [row._replace(state="simmering", raw_word=0x0190_1700) for row in samples(5)]
        scribe.put([opened(1), *odd, event(1000, 1), closed(5_000)])
        scribe.put([opened(2), *samples(5, 2), closed(5_000)._replace(firing_id=2)])
    with open_log(tmp_path) as log:
        with pytest.raises(InputRefused, match="cannot be judged"):
            judge_again(log, 1, BENCH)
        with pytest.raises(InputRefused, match="no reading"):
            judge_again(log, 2, BENCH)


# --- the command ----------------------------------------------------------------------------------------------------


def meltkeeper(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words], env={"COLUMNS": "160"})


def test_the_command_says_it_in_words_and_ends_with_0_when_nothing_differs(sensor_opened: Path) -> None:
    result = meltkeeper("melts", "judge", "1", "--furnace", "bench", "--data", sensor_opened)
    assert result.exit_code == 0, result.output
    for words in ("Simulated firing 1", "nothing learned", "sensor-open", "same", "Not judged again", "Today the same"):
        assert words in result.stdout, words


def test_the_command_ends_with_5_when_something_differs(sensor_opened: Path, without: Change) -> None:
    without([watch for watch in WATCHES if watch.id != "sensor-open"])
    result = meltkeeper("melts", "judge", "1", "--furnace", "bench", "--data", sensor_opened)
    assert result.exit_code == 5, result.output
    assert "no longer" in result.stdout


def test_the_command_as_json_has_the_documented_names(repository: Path, sensor_opened: Path) -> None:
    result = meltkeeper("melts", "judge", "1", "--furnace", "bench", "--data", sensor_opened, "--json")
    told = json.loads(result.stdout)
    manual = (repository / "docs" / "logbook.md").read_text(encoding="utf-8")
    for name in (*told, *told["said"][0], *told["not_judged"][0]):
        assert f"`{name}`" in manual, name
    assert told["simulated"] is True


def test_the_command_refuses_what_is_not_there(tmp_path: Path) -> None:
    result = meltkeeper("melts", "judge", "1", "--furnace", "bench", "--data", tmp_path)
    assert result.exit_code == 2
    assert "no log" in result.stderr
