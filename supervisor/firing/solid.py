"""Metal that an earlier heat left in the pot: is it certain that it is solid?

Only two things say so. The latest moment at which it can be liquid has passed; or the chamber has cooled so far that
nothing in it can be liquid, lid open or shut, and nothing speaks against the sensor that says so. In any doubt it may
be liquid.
"""

from hardware.ports import Level
from supervisor.firing import aftermath
from supervisor.firing.cooling import HOTTER_K
from supervisor.firing.firing import Firing
from supervisor.firing.states import HEATED
from supervisor.firing.turn import Turn
from supervisor.watches import DOUBTS_THE_SENSOR
from supervisor.watches.history import History

SOLID_BELOW_C = 120.0
"""A chamber that reads so little holds nothing liquid. Under an open lid the reading falls long before the metal: in
a small furnace it read 205 °C while the last of an alloy froze (simulated), and alloys freeze as low as 477 °C."""

TOO_HOT_C = 400.0
"""Nothing cools so slowly that its chamber still reads this much when the slowest cooling is over."""

BY_DATE_BELOW_C = 200.0
"""So cold it has to read where only dates say that the slowest cooling is over."""

BELIEVED_AFTER_S = 1200.0
"""So long after the last heat no reading says it: nothing freezes so fast, but a probe slips out in a moment."""

SLIPS_WINDOW_S = 10
SLIPS_FACTOR = 1.5
"""A reading that falls so many times as fast as under an open lid is no chamber that cools."""


def see(turn: Turn, second_c: float | None, history: History) -> None:
    """Take one second. second_c: the mean reading of it."""
    firing, run, cooling = turn.firing, turn.firing.run, turn.firing.cooling
    aftermath.see(turn)
    may_heat = firing.enable or turn.sample.inputs.mirror is not Level.CLOSED
    if turn.furnace.looks_only:  # no contactor of ours says anything: somebody may heat until the record ends
        may_heat = firing.state in HEATED
    if may_heat:
        cooling.heated_s = cooling.seen_s = turn.now_s
    if run is None and not firing.liquid_left:
        return
    _see_the_sensor(turn, second_c, history)
    if run is not None:
        _see_the_firing(turn)
    if firing.liquid_left and _certain(turn, second_c):
        firing.liquid_left = False
        _forget(firing)
        firing.change()
        turn.event("metal", {"solid": True, "reading_c": None if second_c is None else round(second_c, 1)})


def _see_the_sensor(turn: Turn, second_c: float | None, history: History) -> None:
    """A doubt stays with the metal: no later reading of the same probe takes it back."""
    cooling = turn.firing.cooling
    if any(name in DOUBTS_THE_SENSOR for name in turn.alarms.standing):
        cooling.doubted = True
    fell_k = history.rise_c(SLIPS_WINDOW_S)
    if fell_k is not None and -fell_k > SLIPS_FACTOR * SLIPS_WINDOW_S * turn.furnace.response.fastest_fall_c_per_s:
        cooling.doubted = True


def _see_the_firing(turn: Turn) -> None:
    firing, run, cooling = turn.firing, turn.firing.run, turn.firing.cooling
    assert run is not None  # checked by the caller
    if not run.closed:
        cooling.hottest_c = max(cooling.hottest_c, run.peak_c + HOTTER_K)
    elif run.poured:
        firing.liquid_left = False
        _forget(firing)
    elif not run.left_behind:
        run.left_behind = True
        firing.liquid_left = firing.liquid_left or run.gate.may_be_liquid


def _forget(firing: Firing) -> None:
    """What was known of that metal says nothing of the next."""
    firing.cooling.hottest_c, firing.cooling.doubted = 0.0, False


def _certain(turn: Turn, second_c: float | None) -> bool:
    firing, cooling, now_s = turn.firing, turn.firing.cooling, turn.now_s
    if firing.run is not None and not firing.run.closed:
        return False
    if cooling.doubted:
        cooling.hottest_c = max(cooling.hottest_c, turn.furnace.limiter_c + HOTTER_K)
    elif second_c is not None and second_c < SOLID_BELOW_C and now_s - cooling.heated_s >= BELIEVED_AFTER_S:
        return True
    if second_c is not None and second_c >= TOO_HOT_C:
        return False  # whatever a clock says of the time that has passed
    if now_s >= cooling.seen_s + cooling.slowest_s:
        return True
    # A date may be wrong by hours and not know it: the reading has to agree, under an open lid too.
    agrees = second_c is not None and second_c < BY_DATE_BELOW_C and not cooling.doubted
    return agrees and now_s >= cooling.solid_from_s
