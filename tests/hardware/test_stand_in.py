"""The stand-in at the simulated furnace: answers the lamp after its time, and not while it is away."""

from hardware.simulated.furnace import Furnace
from hardware.simulated.stand_in import PRESS_S, StandIn
from tests.hardware.tiny import WIRING, TinyPlant


def presses(
    stand_in: StandIn, lit: tuple[float, float], until_s: float, *, blink: bool = False
) -> list[tuple[float, bool]]:
    """Edges of the button while the lamp is on from lit[0] to lit[1]."""
    furnace = Furnace(TinyPlant(), WIRING, seed=1, limiter_c=900.0)
    while furnace.time_s < until_s:
        furnace.step()
        lamp = lit[0] <= furnace.time_s < lit[1] and not (blink and furnace.time_s % 2.0 < 0.5)
        stand_in.look(furnace, lamp=lamp, now_s=furnace.time_s)
    return [(edge.time_s, edge.level) for edge in furnace.edges if edge.line == "reset_button"]


def test_it_presses_once_some_time_after_the_lamp_came_on() -> None:
    assert presses(StandIn(5.0), (10.0, 16.0), 40.0) == [(15.0, True), (15.0 + PRESS_S, False)]


def test_a_blinking_lamp_counts_as_lit() -> None:
    assert presses(StandIn(5.0), (10.5, 16.0), 40.0, blink=True)[0] == (15.5, True)


def test_it_presses_again_for_a_lamp_that_stays() -> None:
    edges = presses(StandIn(5.0), (10.0, 100.0), 30.0)
    assert [time_s for time_s, pressed in edges if pressed] == [15.0, 24.75]


def test_nobody_presses_while_away() -> None:
    assert presses(StandIn(5.0, ((0.0, 20.0),)), (10.0, 17.0), 40.0) == []
    back = presses(StandIn(5.0, ((0.0, 20.0),)), (10.0, 30.0), 40.0)
    assert back[0] == (20.0, True)
