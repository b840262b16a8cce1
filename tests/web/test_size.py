"""The page Size: both ways round, refusals in sentences, cautions, and no more than one who looks may do."""

from html import unescape

import pytest

from tests.web.conftest import Browser
from tests.web.looking import said
from tests.web.scripted import Scripted
from web import sizing

ELEMENT = {
    "asked": "yes", "volts": "230", "breaker": "16", "place": "eu-fixed", "shape": "octagon", "across": "190",
    "depth": "230", "wall": ["114", "23", "", "23"], "metal": "2,0", "power": "2400",
}  # fmt: skip
COIL = {
    "asked": "yes", "way": "coil", "alloy": "fecral-5.8", "wire": "1.4", "length": "22.5 m", "outside": "12",
    "volts": "230", "breaker": "16", "place": "eu-fixed",
}  # fmt: skip


def shown(phone: Browser, **typed: object) -> str:
    answer = phone.get("/size", query_string=typed)
    assert answer.status_code == 200
    return " ".join(unescape(said(answer.text)).split())  # a unit does not break from its number


def test_an_element_for_a_circuit(looker: Browser, furnace: Scripted) -> None:
    page = looker.get("/size", query_string=ELEMENT).text
    words = " ".join(unescape(said(page)).split())
    assert "22.5 m of 1.4 mm FeCrAl 22Cr-5.8Al, 21.2 ohm cold: 2.40 kW, 10.4 A." in words
    assert "16 A for hours on 16 A, 230 V, Europe, fixed wiring. IEC 60364-4-43 (433.1):" in words
    assert "A licensed person decides what this circuit may carry" in words
    assert "Mains kills." in words
    assert "Refused: drawn out" in words
    assert '<svg xmlns="http://www.w3.org/2000/svg"' in page
    assert "style=" not in page.partition("<svg xmlns")[2].partition("</svg>")[0]
    assert "cold_ohm = 21.2" in words
    assert "'--wall=114: 23'" in words  # the same by command
    assert 'value="2,0"' in page  # what was typed stays


def test_a_coil_that_is_there(phone: Browser, furnace: Scripted) -> None:
    words = shown(phone, **COIL)
    assert "22.50 m of 1.4 mm, 21.2 ohm cold: 2.40 kW, 10.4 A hot." in words
    assert "675 turns of 12 mm" in words


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({**ELEMENT, "across": "1"}, "Not done. across is '1'; allowed: 20 to 2000 mm"),
        ({**COIL, "volts": "--help"}, "Not done. volts is '--help'; allowed: a voltage of 12 to 480 V"),
    ],
)  # fmt: skip
def test_what_cannot_be_sized_gets_a_sentence(
    phone: Browser, furnace: Scripted, typed: dict[str, object], says: str
) -> None:
    assert says in shown(phone, **typed)


def test_a_bare_temperature_is_in_the_readers_unit() -> None:
    found = sizing.coil({**{name: value for name, value in COIL.items() if name in sizing.COIL}, "target": "1470"}, "F")
    assert "--target=1470 F" in found.words
    assert found.answer is not None
    assert found.answer["furnace_c"] == pytest.approx(798.9, abs=0.1)


def test_who_is_not_paired_does_not_make_it_reckon(stranger: Browser, furnace: Scripted) -> None:
    assert stranger.get("/size", query_string=ELEMENT).status_code == 403


def test_an_empty_form_asks_what_is_there(phone: Browser, furnace: Scripted) -> None:
    assert "Which element for this circuit?" in shown(phone)
    assert "What does this coil give?" in shown(phone, way="coil")
