"""A stop from a page that is flooded, on real processes; other ways of sending one are in tests/web/test_access.py."""

from pathlib import Path

import pytest

from tests.end_to_end.page_stops import measure

pytestmark = pytest.mark.processes


def test_a_stop_from_nobody_comes_through_a_flood_and_the_furnace_goes_cold(tmp_path: Path) -> None:
    told, flood = measure(1, 1, 200.0, tmp_path)
    assert [each.taken for each in told] == [True]
    assert flood["200"] > 0
