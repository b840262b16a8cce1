from tests.web.conftest import Browser
from tests.web.scripted import Scripted


def test_first_look(phone: Browser, furnace: Scripted) -> None:
    page = phone.get("/")
    assert page.status_code == 200
    print(page.text)
