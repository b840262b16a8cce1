"""Every watch is first to speak in some case, and all are silent in a healthy firing."""

from collections.abc import Callable

import pytest

from supervisor.alarms.texts import TEXTS
from supervisor.firing import commands as c
from supervisor.firing.states import HEATED, LIVE, State
from supervisor.logbook.records import AlarmRow, EventRow
from supervisor.watches import DOUBTS_THE_SENSOR, WATCHES
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake, furnace_at_hand, melt
from tests.supervisor.watches import cases_of_firing as firing
from tests.supervisor.watches import cases_of_power as power
from tests.supervisor.watches import cases_of_reading as reading
from tests.supervisor.watches.at_work import after
from tests.supervisor.watches.equipped import WITH_CURRENT, WITH_SECOND, WITH_TRAY, broken, started

CASES: dict[str, tuple[Callable[[], FurnaceAtHand], float]] = {
    "mass-doubted": (firing.lighter_than_entered, 1500.0),
    "quarantined-metal": (firing.of_a_bad_lot, 5.0),
    "metal-missing": (firing.less_than_entered_and_confirmed, 3000.0),
    "no-reading": (after("bus_silent"), 0.5),
    "sensor-open": (after("sensor_open"), 2.0),
    "sensor-shorted": (after("sensor_short_to_supply"), 2.0),
    "sensor-silent": (after("bus_all_zeros"), 2.0),
    "sensor-corrupt": (after("bus_half_frame"), 2.0),
    "reading-old": (reading.intermittent, 2.0),
    "sample-repeated": (reading.once_repeated, 0.5),
    "samples-stale": (reading.repeated, 2.0),
    "reading-frozen": (after("sensor_frozen"), 80.0),
    "rate-impossible": (reading.slipped, 20.0),
    "sensor-reversed": (reading.wires_exchanged, 400.0),
    "sensor-noisy": (after("sensor_noisy", value=3.0), 120.0),
    "cold-junction-hot": (after("board_warm", value=6.0), 900.0),
    "warmer-than-power": (power.stuck_without_meter, 600.0),
    "colder-than-power": (reading.nothing_arrives, 600.0),
    "breaks-away": (reading.lid_that_nobody_sees, 20.0),
    "lid-unseen": (reading.lid_that_nobody_sees, 60.0),
    "needs-more-power": (reading.creeping_reading, 600.0),
    "over-setpoint": (reading.rising_reading, 900.0),
    "heat-without-command": (power.stuck_and_nothing_reckons, 1500.0),
    "pulse-when-off": (after("relay_stuck_on"), 600.0),
    "power-when-off": (after("relay_stuck_on"), 600.0),
    "power-without-command": (power.stuck_under_an_open_lid, 6.0),
    "power-at-rest": (power.stuck_and_welded, 300.0),
    "current-when-off": (broken(WITH_CURRENT, "relay_stuck_on"), 600.0),
    "no-current": (broken(WITH_CURRENT, "element_broken"), 10.0),
    "no-power": (power.broken_element, 240.0),
    "relay-proof": (power.proof_failed, 2.0),
    "relay-undecided": (power.proof_undecided, 2.0),
    "meter-disagrees": (after("meter_stuck"), 120.0),
    "mains-low": (broken(BENCH, "mains_low", 0.9), 900.0),
    "element-shorted": (power.shorted_turns, 120.0),
    "sensors-disagree": (broken(WITH_SECOND, "second_sensor_open"), 60.0),
    "tray-wet": (broken(WITH_TRAY, "tray_wet"), 2.0),
    "supply-weak": (after("supply_weak"), 15.0),
    "processor-hot": (after("processor_hot"), 60.0),
    "clock-untrusted": (after("clock_untrusted"), 15.0),
    "contactor-chatters": (broken(BENCH, "contactor_chatters", 12.0), 60.0),
    "heat-without-rise": (reading.pushed_out, 900.0),
    "hard-cap": (reading.too_hot, 60.0),
    "supply-lost": (power.mains_gone, 2.0),
    "emergency-stop": (after("emergency_stop"), 1.0),
    "limiter": (after("limiter_trip"), 1.0),
    "key-off": (firing.key_turned, 1.0),
    "chain-lost": (power.chain_opened, 2.0),
    "contactor-stuck": (power.welded, 3.0),
    "loop-late": (firing.stalled, 1.0),
    "start-test": (power.start_without_contactor, 20.0),
    "lid": (firing.opened_lid, 1.0),
    "lid-cools-little": (power.beneath_an_open_lid_at_500, 90.0),
    "lid-left-open": (firing.forgotten_lid, 610.0),
    "lid-not-cooling": (power.beneath_an_open_lid, 60.0),
    "button-stuck": (firing.taped_button, 15.0),
    "sign-due": (firing.liquid_and_alone, 1000.0),
    "signs-lost": (firing.watched_by_a_page_that_goes, 65.0),
    "sign-missed": (firing.liquid_and_not_answered, 400.0),
    "nobody-there": (firing.liquid_and_alone_for_long, 1500.0),
    "longest-duration": (firing.out_of_time, 500.0),
    "energy-allowance": (firing.used_up, 300.0),
    "log-behind": (firing.disk_behind, 1.0),
    "log-lost": (firing.disk_lost, 2.0),
    "log-space-low": (firing.disk_nearly_full, 5.0),
    "messages-fail": (firing.not_delivered, 2.0),
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
    hand = reading.drifting_apart()
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
