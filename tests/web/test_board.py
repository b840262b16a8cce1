"""The page Board: the computer's own health, and the one thing to do about each."""

import pytest

from hardware.ports import UNKNOWN_BOARD, BoardHealth
from hardware.simulated.fault import HEALTHY_BOARD
from supervisor.link.board import rows
from tests.web.conftest import Browser
from tests.web.scripted import Scripted
from tests.web.snapshot_parts import made
from tests.web.snapshots import HEATING, STOPPED
from tests.web.test_equipment import said


def shown(board: BoardHealth, free_mb: float | None = 9000.0) -> dict[str, object]:
    return made(STOPPED, board=[row._asdict() for row in rows(board, free_mb)])


def test_a_healthy_computer_wants_nothing(phone: Browser, furnace: Scripted) -> None:
    furnace.show(shown(HEALTHY_BOARD))
    page = said(phone.get("/board").text)
    assert "Nothing of the computer wants looking at." in page
    assert "To do" not in page


@pytest.mark.parametrize(
    ("changed", "says", "do"),
    [
        ({"under_voltage": True}, "supply sags now", "Use the supply that is made for this Pi"),
        ({"under_voltage_before": True}, "has sagged", "Use the supply that is made for this Pi"),
        ({"throttled": True}, "The processor slows itself. It is at 45 °C.", "Give it air"),
        ({"processor_c": 82.0}, "The processor is hot. It is at 82 °C.", "Give it air"),
        ({"card_failing": True}, "counted errors", "Copy the data directory"),
        ({"clock_trusted": False}, "no date is counted on", "Let it reach the network"),
        ({"wifi_saves_power": True}, "Wi-Fi saves power", "wifi.powersave = 2"),
        ({"keeps_outputs": True}, "its pins stay as they were", "dtparam=strict_gpiod"),
    ],
)
def test_each_trouble_has_one_thing_to_do(
    phone: Browser, furnace: Scripted, changed: dict[str, object], says: str, do: str
) -> None:
    furnace.show(shown(HEALTHY_BOARD._replace(**changed)))  # type: ignore[arg-type]  # fields of the row above
    page = said(phone.get("/board").text)
    assert "1 thing of the computer wants looking at." in page
    assert says in page
    assert f"To do: {do}" in page or do in page
    assert page.count("To do: ") == 1


def test_a_full_card_is_told(phone: Browser, furnace: Scripted) -> None:
    furnace.show(shown(HEALTHY_BOARD, 120.0))
    assert "The card is nearly full. 0.1 GB are free." in said(phone.get("/board").text)


def test_what_a_computer_cannot_tell_is_unknown_and_not_well(phone: Browser, furnace: Scripted) -> None:
    furnace.show(shown(UNKNOWN_BOARD, None))
    page = said(phone.get("/board").text)
    assert "Nothing of the computer wants looking at." in page
    for name in ("Supply", "Processor", "Card", "Date", "Wi-Fi", "Pins after a crash"):
        assert f"{name}: unknown" in page


def test_a_phone_that_only_looks_may_read_it_and_a_stranger_not(looker: Browser, stranger: Browser) -> None:
    assert looker.get("/board").status_code == 200
    assert stranger.get("/board").status_code != 200


def test_a_simulated_furnace_beside_a_real_one_says_which_is_not_watched(phone: Browser, furnace: Scripted) -> None:
    furnace.show(made(STOPPED, unwatched="The one by the door"))
    for path in ("/", "/equipment", "/board", "/settings"):
        assert "Not watching The one by the door" in said(phone.get(path).text)
    furnace.show(made(STOPPED))
    assert "Not watching" not in said(phone.get("/").text)


def test_where_another_regulator_heats_no_button_promises_to_stop_it(phone: Browser, furnace: Scripted) -> None:
    looked_at = {**HEATING["furnace"], "looks_only": True}
    furnace.show(made(HEATING, furnace=looked_at))
    page = said(phone.get("/").text)
    assert "End the record nothing here stops the heat" in page
    assert "heat off at once" not in page
    assert "The firing ends, whatever else" not in page
    assert " Duty " not in page
    furnace.show(HEATING)
    assert "Stop heating heat off at once" in said(phone.get("/").text)
