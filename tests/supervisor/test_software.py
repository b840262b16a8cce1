"""Another software than the run before it: written down, and relay and contactor proved anew."""

from pathlib import Path

import pytest

from supervisor.firing.aftermath import START_TEST_PROVES
from supervisor.logbook.reading import open_log
from supervisor.software import EVENT, software
from tests.supervisor.restarted import Kept


@pytest.mark.parametrize(
    ("runs", "written", "proves"),
    [
        (("1 a",), ["1 a"], False),
        (("1 a", "1 a"), ["1 a"], False),
        (("1 a", "1 b"), ["1 a", "1 b"], True),
        (("1 a", "1 b", "1 b"), ["1 a", "1 b"], False),
    ],
)
def test_another_software_is_written_down_and_proves_relay_and_contactor_anew(
    tmp_path: Path, runs: tuple[str, ...], written: list[str], proves: bool
) -> None:
    kept = Kept(tmp_path)
    for what in runs:
        kept.kill()
        kept.software = what
        kept.begin()
    with open_log(tmp_path) as log:
        assert [event["detail"]["now"] for event in log.events_of(EVENT)] == written
    assert (kept.memory.firing.to_prove >= START_TEST_PROVES) is proves
    kept.close()


def test_the_same_files_are_the_same_software() -> None:
    assert software() == software()
    assert software().startswith("0.")
