"""The record of a melt is saved from its page as one file, without anybody's name."""

from pathlib import Path

import pytest

from supervisor.copies.importing import read_file
from tests.web.conftest import Browser
from tests.web.kept_melt import keep_a_melt
from tests.web.scripted import Scripted


@pytest.mark.parametrize("ending", ["html", "json"])
def test_the_record_of_a_melt_is_saved_as_one_file(
    looker: Browser, furnace: Scripted, data: Path, tmp_path: Path, ending: str
) -> None:
    keep_a_melt(data)
    assert 'href="/melts/1.html" download' in looker.get("/melts/1").text
    answer = looker.get(f"/melts/1.{ending}")
    assert answer.headers["Content-Disposition"].endswith(f'.{ending}"')
    file = tmp_path / f"record.{ending}"
    file.write_bytes(answer.data)
    assert read_file(file).firing == 1
    assert read_file(file).names == "replaced"
    assert looker.get(f"/melts/77.{ending}").status_code == 404
