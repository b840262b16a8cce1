"""Cases in which a reading says what is not so, by its own looks or beside the power that was given."""

from supervisor.firing.states import HEATED
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, furnace_at_hand, melt, running
from tests.supervisor.watches.at_work import heating
from tests.supervisor.watches.equipped import WITH_SECOND, WITHOUT_METER, started


def intermittent() -> FurnaceAtHand:
    """Every reading but none twice for the same reason: 3 of 5 never comes together, the age does."""
    hand = heating()
    for number in range(24):
        fault = ("sensor_open", "sensor_short_to_ground", "bus_all_zeros", "bus_half_frame")[number % 4]
        hand.inject(fault)
        hand.turn()
        hand.furnace.mend(fault)
        if hand.state not in HEATED:
            break
    return hand


def repeated() -> FurnaceAtHand:
    hand = heating()
    sample = hand.hardware.sample()
    for _ in range(5):
        hand.turn(sample=sample)
    return hand


def once_repeated() -> FurnaceAtHand:
    hand = heating()
    sample = hand.hardware.sample()
    hand.turn(sample=sample)
    hand.turn(sample=sample)
    return hand


def held(to_c: float, *, start_c: float, minutes: float) -> FurnaceAtHand:
    """No meter, and so long at a hold."""
    hand = started(WITHOUT_METER, bake(to_c=to_c), start_c=start_c)
    hand.answer_everything()
    hand.run_until(lambda: hand.reading_c > to_c - 3.0, 6000.0)
    hand.wait(60.0 * minutes)
    return hand


def nothing_arrives() -> FurnaceAtHand:
    hand = held(760.0, start_c=740.0, minutes=15.0)
    hand.inject("element_broken")
    return hand


def lid_that_nobody_sees() -> FurnaceAtHand:
    hand = held(760.0, start_c=740.0, minutes=15.0)
    hand.inject("lid_switch_stuck_closed")
    hand.furnace.lid(True)
    return hand


def creeping_reading() -> FurnaceAtHand:
    hand = held(700.0, start_c=400.0, minutes=40.0)
    hand.inject("sensor_drift", -4.0)
    return hand


def rising_reading() -> FurnaceAtHand:
    """So slowly that furnace and power might account for it."""
    hand = held(150.0, start_c=120.0, minutes=20.0)
    hand.inject("sensor_drift", 5.0)
    return hand


def wires_exchanged() -> FurnaceAtHand:
    hand = furnace_at_hand(start_c=20.0)
    hand.inject("sensor_reversed")
    hand.start(bake(to_c=400.0, rate_c_per_h=1200.0))
    hand.answer_everything()
    return hand


def drifting_apart() -> FurnaceAtHand:
    """Settled at a hold, the first drifts down: the furnace gets hotter, and the second says so."""
    hand = started(WITH_SECOND, bake(to_c=452.0))
    hand.wait(400.0)
    hand.inject("sensor_drift", -2.0)
    return hand


def pushed_out() -> FurnaceAtHand:
    """Full power, and the reading sinks: a sensor that creeps out of its place."""
    hand = running(melt(mass_kg=2.4, rate_c_per_h=1500.0), name="workshop", start_c=500.0)
    hand.answer_everything()
    hand.wait(600.0)  # cold metal in a warm pot
    hand.run_until(lambda: (hand.memory.history.mean_duty(60) or 0.0) >= 0.99, 3000.0)
    hand.inject("sensor_creep", 1.5)
    hand.memory.adviser.follow.end()  # the stiff filter has given up
    return hand


def slipped() -> FurnaceAtHand:
    hand = running(bake(to_c=780.0), start_c=750.0)
    hand.inject("sensor_slip", 1.0)
    return hand


def too_hot() -> FurnaceAtHand:
    """The profile's top is 470; the reading climbs past it by 25 K before slower watches have seen enough."""
    hand = running(bake(to_c=450.0), start_c=450.0)
    hand.inject("sensor_drift", 120.0)
    return hand
