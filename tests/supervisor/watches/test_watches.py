"""Every watch is first to speak in some case, and all are silent in a healthy firing."""

from collections.abc import Callable

import pytest

from supervisor.alarms.texts import TEXTS
from supervisor.firing import commands as c
from supervisor.firing.presses import Asked
from supervisor.firing.proofs import Proof, Result
from supervisor.firing.states import HEATED, LIVE, State
from supervisor.logbook.records import AlarmRow, EventRow
from supervisor.watches import DOUBTS_THE_SENSOR, WATCHES
from tests.supervisor.firing.knowing import boosted_melt, charged, knowing
from tests.supervisor.firing.telling import report_contacts
from tests.supervisor.firing.watched import SHORT, may_go_away, pages_go, tap
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake, furnace_at_hand, melt, running
from tests.supervisor.watches.equipped import WITH_CURRENT, WITH_SECOND, WITH_TRAY, WITHOUT_METER, broken, started


def heating(**made: object) -> FurnaceAtHand:
    return running(bake(to_c=600.0), start_c=450.0, **made)


def after(fault: str, *, value: float | None = None) -> Callable[[], FurnaceAtHand]:
    def case() -> FurnaceAtHand:
        hand = heating()
        hand.inject(fault, value)
        return hand

    return case


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


def stalled() -> FurnaceAtHand:
    hand = heating()
    for _ in range(4):
        hand.hardware.furnace.step()  # the furnace went on for a second without us
    return hand


def lighter_than_entered() -> FurnaceAtHand:
    hand = knowing()
    charged(hand, boosted_melt(mass_kg=2.0), really_kg=1.0)
    return hand


def less_than_entered_and_confirmed() -> FurnaceAtHand:
    """Half of it is in the pot, and somebody presses that all is as entered."""
    hand = lighter_than_entered()
    hand.run_until(lambda: "mass-doubted" in hand.alarms(), 1500.0)
    hand.answer_everything()
    hand.run_until(lambda: "mass-doubted" in hand.alarms("returned"), 600.0)
    hand.records.clear()
    return hand


def of_a_bad_lot() -> FurnaceAtHand:
    hand = running(melt(), start_c=300.0)
    hand.note(c.NoteKind.QUARANTINE, text="L-31: lead found")
    return hand


def stuck_without_meter() -> FurnaceAtHand:
    hand = started(WITHOUT_METER, bake(to_c=460.0))
    hand.wait(600.0)
    hand.inject("relay_stuck_on")
    return hand


def stuck_and_nothing_reckons() -> FurnaceAtHand:
    """The stiff filter has given up in this firing: the plain rule is what is left."""
    hand = stuck_without_meter()
    hand.memory.adviser.follow.end()
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


def stuck_under_an_open_lid() -> FurnaceAtHand:
    hand = heating()
    hand.inject("relay_stuck_on")
    hand.furnace.lid(True)
    return hand


def stuck_and_welded() -> FurnaceAtHand:
    """Everything off, relay and contactor both shorted, and the mirror contact lies as well."""
    hand = furnace_at_hand(start_c=300.0)
    hand.inject("relay_stuck_on")
    interlock, inputs = hand.furnace.interlock, hand.furnace.interlock.inputs
    interlock.coil = interlock.poles_closed = interlock.contactor_welds = True
    interlock.inputs = lambda: (*inputs()[:6], True, *inputs()[7:])  # type: ignore[method-assign]
    interlock.settle()
    return hand


def broken_element() -> FurnaceAtHand:
    hand = heating()
    hand.inject("element_broken")
    hand.run_until(lambda: "meter-disagrees" in hand.alarms(), 200.0)
    hand.records.clear()
    return hand


def shorted_turns() -> FurnaceAtHand:
    hand = started(BENCH, bake(to_c=800.0, rate_c_per_h=3000.0), start_c=20.0)
    hand.wait(300.0)
    hand.inject("element_shorted", 0.75)
    return hand


def drifting_apart() -> FurnaceAtHand:
    """Settled at a hold, the first drifts down: the furnace gets hotter, and the second says so."""
    hand = started(WITH_SECOND, bake(to_c=452.0))
    hand.wait(400.0)
    hand.inject("sensor_drift", -2.0)
    return hand


def proof_failed() -> FurnaceAtHand:
    hand = heating()
    hand.memory.firing.proofs.last = Proof(Result.FAILED, hand.now_s, "pulse", "no fall")
    return hand


def proof_undecided() -> FurnaceAtHand:
    hand = heating()
    hand.memory.firing.proofs.doubt = "undecided twice"
    return hand


def forgotten_lid() -> FurnaceAtHand:
    hand = opened_lid()
    hand.answer_everything()
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


def beneath_an_open_lid() -> FurnaceAtHand:
    """The lid's switch reads open, and the lid is shut: whatever heats there, nothing cools as it should."""
    hand = running(bake(to_c=700.0), start_c=650.0)
    step = hand.furnace.plant.step
    hand.furnace.plant.step = lambda dt_s, **levels: step(dt_s, **{**levels, "lid_open": False})  # type: ignore[method-assign]
    hand.furnace.lid(True)
    return hand


def beneath_an_open_lid_at_500() -> FurnaceAtHand:
    hand = running(bake(to_c=520.0), start_c=500.0)
    step = hand.furnace.plant.step
    hand.furnace.plant.step = lambda dt_s, **levels: step(dt_s, **{**levels, "lid_open": False})  # type: ignore[method-assign]
    hand.furnace.lid(True)
    return hand


def welded() -> FurnaceAtHand:
    hand = heating()
    hand.inject("contactor_welded")
    hand.stop()
    return hand


def mains_gone() -> FurnaceAtHand:
    hand = heating()
    hand.furnace.mains(False)
    return hand


def chain_opened() -> FurnaceAtHand:
    """The contactor lets go with everything in front of it made."""
    hand = heating()
    interlock = hand.furnace.interlock
    interlock.mains = False
    interlock.settle()
    interlock.mains = True
    interlock.settle()
    return hand


def start_without_contactor() -> FurnaceAtHand:
    hand = furnace_at_hand(start_c=450.0)
    hand.wait(1.0)
    hand.inject("relay_stuck_on")
    hand.prepare(bake(to_c=600.0))
    hand.send(hand.start_command())
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.hold_button()
    return hand


def liquid_and_alone() -> FurnaceAtHand:
    hand = running(melt(), start_c=620.0)
    hand.run_until(lambda: hand.asked is Asked.GATE, 60.0)
    hand.press()
    return hand


def liquid_and_not_answered() -> FurnaceAtHand:
    hand = liquid_and_alone()
    hand.run_until(lambda: "sign-due" in hand.alarms(), 1000.0)
    hand.send(c.Acknowledge(hand.by(), None))
    hand.records.clear()
    return hand


def watched_by_a_page_that_goes() -> FurnaceAtHand:
    hand = may_go_away(running(bake(to_c=400.0), start_c=300.0, described=SHORT))
    hand.run_until(lambda: hand.memory.firing.attendance.task is not None, 400.0)
    assert tap(hand).accepted
    pages_go(hand)
    return hand


def liquid_and_alone_for_long() -> FurnaceAtHand:
    hand = liquid_and_alone()
    hand.run_until(lambda: "sign-missed" in hand.alarms(), 1800.0)
    hand.send(c.Acknowledge(hand.by(), None))
    hand.records.clear()
    return hand


def used_up() -> FurnaceAtHand:
    hand = heating()
    run = hand.memory.firing.run
    assert run is not None
    run.allowance_wh = run.energy_wh + 5.0
    return hand


def disk_behind() -> FurnaceAtHand:
    hand = heating()
    hand.memory = hand.memory.with_log(2.5, None)
    return hand


def disk_lost() -> FurnaceAtHand:
    hand = heating()
    hand.memory.log.trouble_for_s = 601.0
    return hand


def disk_nearly_full() -> FurnaceAtHand:
    hand = heating()
    hand.memory.log.free_mb = 49.0
    return hand


def out_of_time() -> FurnaceAtHand:
    return running(bake(to_c=500.0, longest_h=0.1), start_c=450.0)


def opened_lid() -> FurnaceAtHand:
    hand = heating()
    hand.furnace.lid(True)
    return hand


def taped_button() -> FurnaceAtHand:
    hand = heating()
    hand.inject("button_stuck")
    return hand


def key_turned() -> FurnaceAtHand:
    hand = heating()
    hand.furnace.key(False)
    return hand


def not_delivered() -> FurnaceAtHand:
    hand = heating()
    report_contacts(hand)
    hand.send(c.Told(hand.by("messenger"), c.Telling.FAILED, contact="Ada", note="an alarm: no answer within 10 s"))
    return hand


CASES: dict[str, tuple[Callable[[], FurnaceAtHand], float]] = {
    "mass-doubted": (lighter_than_entered, 1500.0),
    "quarantined-metal": (of_a_bad_lot, 5.0),
    "metal-missing": (less_than_entered_and_confirmed, 3000.0),
    "no-reading": (after("bus_silent"), 0.5),
    "sensor-open": (after("sensor_open"), 2.0),
    "sensor-shorted": (after("sensor_short_to_supply"), 2.0),
    "sensor-silent": (after("bus_all_zeros"), 2.0),
    "sensor-corrupt": (after("bus_half_frame"), 2.0),
    "reading-old": (intermittent, 2.0),
    "sample-repeated": (once_repeated, 0.5),
    "samples-stale": (repeated, 2.0),
    "reading-frozen": (after("sensor_frozen"), 80.0),
    "rate-impossible": (slipped, 20.0),
    "sensor-reversed": (wires_exchanged, 400.0),
    "sensor-noisy": (after("sensor_noisy", value=3.0), 120.0),
    "cold-junction-hot": (after("board_warm", value=6.0), 900.0),
    "warmer-than-power": (stuck_without_meter, 600.0),
    "colder-than-power": (nothing_arrives, 600.0),
    "breaks-away": (lid_that_nobody_sees, 20.0),
    "lid-unseen": (lid_that_nobody_sees, 60.0),
    "needs-more-power": (creeping_reading, 600.0),
    "over-setpoint": (rising_reading, 900.0),
    "heat-without-command": (stuck_and_nothing_reckons, 1500.0),
    "pulse-when-off": (after("relay_stuck_on"), 600.0),
    "power-when-off": (after("relay_stuck_on"), 600.0),
    "power-without-command": (stuck_under_an_open_lid, 6.0),
    "power-at-rest": (stuck_and_welded, 300.0),
    "current-when-off": (broken(WITH_CURRENT, "relay_stuck_on"), 600.0),
    "no-current": (broken(WITH_CURRENT, "element_broken"), 10.0),
    "no-power": (broken_element, 240.0),
    "relay-proof": (proof_failed, 2.0),
    "relay-undecided": (proof_undecided, 2.0),
    "meter-disagrees": (after("meter_stuck"), 120.0),
    "mains-low": (broken(BENCH, "mains_low", 0.9), 900.0),
    "element-shorted": (shorted_turns, 120.0),
    "sensors-disagree": (broken(WITH_SECOND, "second_sensor_open"), 60.0),
    "tray-wet": (broken(WITH_TRAY, "tray_wet"), 2.0),
    "supply-weak": (after("supply_weak"), 15.0),
    "processor-hot": (after("processor_hot"), 60.0),
    "clock-untrusted": (after("clock_untrusted"), 15.0),
    "contactor-chatters": (broken(BENCH, "contactor_chatters", 12.0), 60.0),
    "heat-without-rise": (pushed_out, 900.0),
    "hard-cap": (too_hot, 60.0),
    "supply-lost": (mains_gone, 2.0),
    "emergency-stop": (after("emergency_stop"), 1.0),
    "limiter": (after("limiter_trip"), 1.0),
    "key-off": (key_turned, 1.0),
    "chain-lost": (chain_opened, 2.0),
    "contactor-stuck": (welded, 3.0),
    "loop-late": (stalled, 1.0),
    "start-test": (start_without_contactor, 20.0),
    "lid": (opened_lid, 1.0),
    "lid-cools-little": (beneath_an_open_lid_at_500, 90.0),
    "lid-left-open": (forgotten_lid, 610.0),
    "lid-not-cooling": (beneath_an_open_lid, 60.0),
    "button-stuck": (taped_button, 15.0),
    "sign-due": (liquid_and_alone, 1000.0),
    "signs-lost": (watched_by_a_page_that_goes, 65.0),
    "sign-missed": (liquid_and_not_answered, 400.0),
    "nobody-there": (liquid_and_alone_for_long, 1500.0),
    "longest-duration": (out_of_time, 500.0),
    "energy-allowance": (used_up, 300.0),
    "log-behind": (disk_behind, 1.0),
    "log-lost": (disk_lost, 2.0),
    "log-space-low": (disk_nearly_full, 5.0),
    "messages-fail": (not_delivered, 2.0),
}


def heard(hand: FurnaceAtHand, *, but: set[str]) -> list[str]:
    """The watches that spoke, in order, quiet ones included."""
    found = []
    for row in hand.records:
        if isinstance(row, AlarmRow) and row.step == "raised":
            found.append(row.watch)
        elif isinstance(row, EventRow) and row.kind == "finding" and row.detail["step"] == "raised":
            found.append(str(row.detail["watch"]))
    return [watch for watch in found if watch not in but]


def test_every_watch_has_a_case() -> None:
    assert set(CASES) == {watch.id for watch in WATCHES}


@pytest.mark.parametrize("watch", CASES)
def test_each_watch_is_first_to_speak_in_its_case(watch: str) -> None:
    make, within_s = CASES[watch]
    hand = make()
    quiet = {"no-reading", "sample-repeated", "pulse-when-off", "breaks-away", "lid"} - {watch}
    hand.run_until(lambda: bool(heard(hand, but=quiet)), within_s)
    assert heard(hand, but=quiet)[0] == watch, hand.describe()


@pytest.mark.parametrize("watch", WATCHES, ids=lambda watch: watch.id)
def test_every_watch_has_its_words_and_every_alarm_an_act(watch: object) -> None:
    text = TEXTS[watch.id]  # type: ignore[attr-defined]
    assert text.title
    assert text.sentence
    assert text.priority in (0, 1, 2, 3)
    if text.priority:
        assert text.act
        assert text.consequence


def test_what_doubts_the_sensor_is_a_watch() -> None:
    assert {watch.id for watch in WATCHES} >= DOUBTS_THE_SENSOR


@pytest.mark.parametrize("name", ["bench", "workshop"])
def test_all_are_silent_in_a_healthy_melt_with_lid_and_addition(name: str) -> None:
    hand = furnace_at_hand(name)
    hand.start(melt(word=False, mass_kg=1.5))
    hand.answer_everything()
    hand.run_until(lambda: hand.reading_c > 600.0, 6000.0)
    hand.furnace.lid(True)
    hand.wait(20.0)
    hand.furnace.add_charge(0.5, 20.0, "6082")
    assert hand.note(c.NoteKind.ADDITION, mass_kg=0.5).accepted
    hand.furnace.lid(False)
    hand.run_until(lambda: hand.state not in LIVE, 9000.0)
    assert hand.state in (State.COMPLETING, State.COMPLETE)
    assert hand.alarms() == []


def test_a_first_sensor_that_drifts_at_a_hold_is_seen_by_the_second_before_it_is_30_kelvin_off() -> None:
    hand = drifting_apart()
    took_s = hand.run_until(lambda: "sensors-disagree" in hand.alarms(), 900.0)
    assert took_s <= 720.0


@pytest.mark.parametrize("rate_c_per_h", [300.0, 900.0])
def test_a_second_sensor_that_slips_out_is_told_on_a_ramp_too(rate_c_per_h: float) -> None:
    hand = started(WITH_SECOND, bake(to_c=600.0, rate_c_per_h=rate_c_per_h), start_c=150.0)
    hand.wait(300.0)
    assert hand.alarms() == []
    hand.inject("second_sensor_slip", 0.5)
    hand.run_until(lambda: "sensors-disagree" in hand.alarms(), 120.0)
    assert hand.state in HEATED


def test_two_places_that_come_together_are_no_fault() -> None:
    hand = started(WITH_SECOND, bake(to_c=452.0))
    hand.memory.firing.pair.minutes_k.extend([31.0, 24.0, 15.0, 6.0, 1.0])
    hand.wait(90.0)
    assert hand.alarms() == []


def test_a_tenth_of_voltage_less_is_told_from_what_it_was_wherever_the_furnace_stood() -> None:
    hand = started(BENCH, bake(to_c=800.0, rate_c_per_h=3000.0), start_c=20.0)
    hand.inject("mains_low", 1.04)
    hand.wait(300.0)
    assert hand.alarms() == []
    hand.inject("mains_step", 0.9)
    hand.run_until(lambda: "mains-low" in hand.alarms(), 120.0)
