"""A phone acknowledges while somebody stands at the furnace whom its sounder alone warns: the sounder goes on."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from hardware.clock import monotonic_s, utc_ms
from hardware.ports import CYCLE_S
from tests.browser.at_work import AtWork
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, furnace_at_hand
from tests.web.conftest import Browser, pair, parts
from tests.web.looking import JSON
from web.app import create_app
from web.config import WebConfig

TWO_MINUTES_S = 120.0


def tripped() -> FurnaceAtHand:
    """A furnace whose sensor wire broke in a firing, two seconds ago."""
    hand = furnace_at_hand("workshop", seed=1)
    hand.start(bake(to_c=300.0))
    hand.wait(30.0)
    hand.inject("sensor_open")
    hand.run_until(lambda: bool(hand.alarms()), 60.0)
    return hand


@pytest.fixture
def work(data: Path) -> Iterator[AtWork]:
    work = AtWork(tripped, data, turn_s=0.02, publish_every=10)
    yield work
    work.close()


@pytest.fixture
def runs(work: AtWork, data: Path) -> Iterator[Browser]:
    """A phone that runs this furnace."""
    app = create_app(WebConfig(data, 8080, monotonic_s, utc_ms))
    client = Browser(app)
    pair(client, parts(app).book, utc_ms())
    yield client
    parts(app).feed.close()
    parts(app).audit.close()


def heard_s(work: AtWork, seconds: float) -> float:
    """How long the furnace's sounder is on in so many seconds."""
    on = 0.0

    def listen(hand: FurnaceAtHand) -> None:
        nonlocal on
        for _ in range(round(seconds / CYCLE_S)):
            hand.turn()
            assert hand.outputs is not None
            on += CYCLE_S * hand.outputs.sounder

    work.do(listen)
    return on


def test_no_acknowledgement_from_a_phone_quiets_a_trip_at_the_furnace_for_two_minutes(
    work: AtWork, runs: Browser
) -> None:
    before_s = heard_s(work, 20.0)
    assert before_s > 0.0
    for path in ("/acknowledge", "/silence", "/acknowledge", "/silence", "/acknowledge"):
        runs.post(path, headers=JSON)
    assert work.hand.alarms("acknowledged")
    assert heard_s(work, 20.0) == pytest.approx(before_s, abs=2.0)
    assert heard_s(work, 20.0) > 0.0
    heard_s(work, TWO_MINUTES_S - 60.0)
    assert heard_s(work, 20.0) == 0.0


def test_a_press_there_quiets_it(work: AtWork, runs: Browser) -> None:
    assert heard_s(work, 20.0) > 0.0
    work.press()
    runs.post("/acknowledge", headers=JSON)
    assert heard_s(work, 20.0) == 0.0


def test_a_phone_that_may_not_acknowledges_nothing(work: AtWork, runs: Browser) -> None:
    stranger = Browser(runs.application)
    assert stranger.post("/acknowledge", headers=JSON).status_code == 403
    assert not work.hand.alarms("acknowledged")
