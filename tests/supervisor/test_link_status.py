"""`meltkeeper status`, as the words for a person: metal, boost, and what is not known."""

from typing import Any

import pytest

from supervisor.cli.status import lines
from tests.web.melting import DOUBT, MELTING, NEARLY
from tests.web.snapshots import HEATING, STOPPED
from tests.web.snapshots_trouble import CAME_BACK


def said(snapshot: dict[str, Any]) -> str:
    return "\n".join(lines({**snapshot, "age_s": 0.2}))


def test_chamber_and_metal_are_two_temperatures_and_a_hotter_chamber_is_meant() -> None:
    text = said(MELTING)
    metal = MELTING["metal"]
    assert f"likely {metal['about_c']} °C, give or take {metal['band_k']} K" in text
    assert metal["words"] in text
    assert f"fit to pour: {metal['minutes']['words']}." in text
    assert MELTING["boost"]["on"]
    assert f"up to {MELTING['boost']['cap_c']:.0f} °C: the metal is still cold" in text


def test_with_a_doubt_no_number_is_said_of_the_metal() -> None:
    text = said(DOUBT)
    line = next(each for each in text.splitlines() if each.startswith("Metal"))
    assert line == f"Metal: not known. {DOUBT['metal']['doubt']}"


@pytest.mark.parametrize("snapshot", [STOPPED, HEATING, NEARLY])
def test_every_state_is_said_without_an_empty_line(snapshot: dict[str, Any]) -> None:
    assert all(lines({**snapshot, "age_s": 0.2}))


def test_after_an_outage_status_says_what_happened_and_what_not_to_do() -> None:
    told = lines({**CAME_BACK, "age_s": 0.2})
    assert (
        "The computer lost its supply, or was started anew. It was away 42 min."
        " Metal may be liquid inside, for another 4 h 10 min at the latest."
    ) in told
    assert any(line.startswith("Do not add charge") for line in told)
    assert told[-1] == "A-087 ended without its closing record."
