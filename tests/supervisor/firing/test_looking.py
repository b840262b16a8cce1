"""A furnace that another regulator heats: everything is seen, kept and told, and nothing is ever ordered."""

from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from hardware.lines import OUTPUT_LINES
from hardware.ports import OFF, FurnaceHardware, Level, OutputFault, Permit, Plant, only_looking
from hardware.simulated.furnace import Furnace
from hardware.simulated.in_process import InProcess
from hardware.simulated.plant import Bench
from supervisor.cycle import first_memory
from supervisor.firing import commands as c
from supervisor.firing.states import State
from supervisor.furnace.description import ONLY_LOOKING, FurnaceDescription
from supervisor.furnace.file import read_furnace
from supervisor.logbook.records import EstimateRow, FiringClosed, FiringOpened
from supervisor.refusal import InputRefused
from tests.hardware.mock_pi import MockPi
from tests.hardware.tiny import TinyPlant
from tests.supervisor.furnace_at_hand import FurnaceAtHand, melt

BENCH = read_furnace("bench")
LOOKED_AT = replace(
    BENCH,
    looks_only=True,
    wiring=only_looking(BENCH.wiring)._replace(
        emergency_stop=None, limiter=None, key=None, chain=None, permit_relay_1=None, permit_relay_2=None, mirror=None,
        reset_button=None,
    ),
)  # fmt: skip


def looked_at(
    start_c: float = 25.0,
    described: FurnaceDescription = LOOKED_AT,
    backend: str = "simulated",
    plant: Plant | None = None,
) -> FurnaceAtHand:
    furnace = Furnace(plant or TinyPlant(start_c), described.wiring, seed=1, limiter_c=2000.0)
    hardware: FurnaceHardware = InProcess(furnace) if backend == "simulated" else MockPi(furnace).hardware
    memory = first_memory(
        described, backend=hardware.name, monotonic_s=furnace.time_s, next_firing_id=1, left_open=None
    )
    return FurnaceAtHand(furnace, hardware, memory)  # type: ignore[arg-type]  # both are FurnaceHardware


@pytest.fixture(params=["simulated", "pi"])
def hand(request: pytest.FixtureRequest) -> Iterator[FurnaceAtHand]:
    """Cold, with somebody else's thermostat beside it; on both backends."""
    hand = looked_at(backend=request.param)
    yield hand
    assert not [edge for edge in hand.furnace.edges if edge.line in OUTPUT_LINES]
    assert hand.furnace.outputs == dict.fromkeys(OUTPUT_LINES, False)


def test_nothing_but_off_can_be_applied_and_no_output_is_opened(hand: FurnaceAtHand) -> None:
    hand.wait(2.0)
    with closing(hand.hardware):
        for wanted in (OFF._replace(relay=True), OFF._replace(enable=True), OFF._replace(permit=Permit.TOGGLE)):
            with pytest.raises(OutputFault, match="another regulator heats this furnace"):
                hand.hardware.apply(wanted)
    assert hand.outputs == OFF


def test_the_headline_and_the_heat_say_that_nothing_here_stops_it(hand: FurnaceAtHand) -> None:
    hand.wait(2.0)
    shown = hand.shown()
    headline = shown["headline"]
    said = f"{headline['before']} {headline['key']} {headline['after']}"
    assert said == "Only looking: another regulator heats; nothing here stops it."
    assert shown["heat"] == {"allowed": True, "off": None, "sentence": ONLY_LOOKING}
    assert shown["furnace"]["looks_only"] is True
    assert shown["question"] is None


def test_a_firing_begins_and_ends_by_the_reading_and_its_curve_is_kept(hand: FurnaceAtHand) -> None:
    hand.furnace.other_regulator_c = 150.0
    hand.run_until(lambda: hand.state is State.RUNNING, 300.0)
    assert hand.reading_c >= 100.0
    hand.wait(300.0)
    hand.furnace.other_regulator_c = None
    assert isinstance(hand.furnace.plant, TinyPlant)
    hand.furnace.plant.hot_c = 55.0
    hand.run_until(lambda: hand.state is State.COMPLETE, 120.0)
    assert hand.reading_c < 60.0
    (opened,) = [row for row in hand.records if isinstance(row, FiringOpened)]
    (closed,) = [row for row in hand.records if isinstance(row, FiringClosed)]
    assert opened.name == "Heated by another regulator"
    assert closed.state == "complete"
    assert closed.results["peak_c"] == pytest.approx(150.0, abs=15.0)
    assert len(hand.rows()) > 300
    assert max(row.duty for row in hand.rows()) == 0.0
    hand.wait(120.0)
    assert hand.state is State.COMPLETE  # the same heat begins no second record


def test_stop_says_that_nothing_here_stops_it_and_ends_the_record(hand: FurnaceAtHand) -> None:
    answer = hand.stop()
    assert answer.accepted
    assert answer.sentence.startswith(ONLY_LOOKING)
    hand.furnace.other_regulator_c = 150.0
    hand.run_until(lambda: hand.state is State.RUNNING, 300.0)
    answer = hand.stop()
    assert answer.accepted
    expected = f"{ONLY_LOOKING} Switch off at that regulator, or at the breaker. The record is closed."
    assert answer.sentence == expected
    assert hand.state is State.STOPPED
    hand.wait(300.0)
    assert hand.state is State.STOPPED  # it is still hot, and the person has ended the record
    assert hand.reading_c > 100.0


def test_prepare_and_start_say_so_and_need_no_press(hand: FurnaceAtHand) -> None:
    hand.wait(1.0)
    prepared = hand.send(c.Prepare(hand.by(), melt(), None))
    assert prepared.accepted
    assert prepared.sentence == f"Prepared: Melt for a test. {ONLY_LOOKING}"
    started = hand.send(hand.start_command())
    assert started.accepted
    assert started.sentence == f"The record runs. {ONLY_LOOKING}"
    assert hand.state is State.RUNNING
    assert hand.shown()["commands"]
    hand.wait(5.0)
    assert hand.state is State.RUNNING  # cold: whoever started it is believed


@pytest.mark.parametrize("name", ["hold", "resume", "raise"])
def test_what_means_heat_is_refused_with_that_sentence(name: str) -> None:
    hand = looked_at()
    hand.furnace.other_regulator_c = 150.0
    hand.run_until(lambda: hand.state is State.RUNNING, 300.0)
    (row,) = [row for row in hand.shown()["commands"] if row["name"] == name]
    assert row == {"name": name, "allowed": False, "why": ONLY_LOOKING}
    assert hand.send(c.Lower(hand.by(), 20.0)) == c.Answer(
        f"id-{hand._said}", True, f"{ONLY_LOOKING} Lower it at that regulator."
    )


def test_the_metal_is_reckoned_where_power_is_metered_and_notes_are_kept() -> None:
    hand = looked_at(plant=Bench(seed=1))
    hand.furnace.add_charge(2.0, 20.0, "6082")
    hand.wait(1.0)
    hand.prepare(melt())
    assert hand.send(hand.start_command(drained=True)).accepted
    hand.furnace.other_regulator_c = 740.0
    hand.run_until(lambda: hand.furnace.state.share_molten > 0.5, 3.0 * 3600.0)
    estimate = hand.memory.adviser.estimate
    assert estimate is not None
    assert estimate.metal_c == pytest.approx(hand.furnace.state.metal_mean_c, abs=30.0)
    assert any(isinstance(row, EstimateRow) and row.share_molten for row in hand.records)
    run = hand.memory.firing.run
    assert run is not None
    assert run.metered_wh == pytest.approx(hand.furnace.state.supplied_j / 3600.0, rel=0.01)
    assert hand.shown()["may_be_liquid"]
    assert hand.shown()["gate"]["state"] == "none"
    assert hand.note(c.NoteKind.SKIM).accepted
    poured = hand.note(c.NoteKind.POUR)
    assert poured.sentence == f"Noted. {ONLY_LOOKING}"
    assert hand.state is State.COMPLETE
    assert hand.asked is None


def test_without_a_meter_the_metal_is_not_reckoned() -> None:
    bare = replace(LOOKED_AT, pulses_per_kwh=None, wiring=LOOKED_AT.wiring._replace(energy_pulse=None))
    hand = looked_at(described=bare)
    hand.furnace.other_regulator_c = 150.0
    hand.run_until(lambda: hand.state is State.RUNNING, 300.0)
    hand.wait(120.0)
    assert hand.memory.adviser.estimate is None
    assert hand.shown()["metal"] is None


@pytest.mark.parametrize(
    ("fault", "watch"), [("sensor_open", "sensor-open"), ("tray_wet", "tray-wet"), ("supply_weak", "supply-weak")]
)
def test_alarms_are_told_and_order_nothing(fault: str, watch: str) -> None:
    wiring = LOOKED_AT.wiring._replace(tray_probe=4)
    hand = looked_at(start_c=400.0, described=replace(LOOKED_AT, wiring=wiring))
    hand.run_until(lambda: hand.state is State.RUNNING, 120.0)
    hand.inject(fault)
    hand.wait(30.0)
    (alarm,) = [alarm for alarm in hand.shown()["alarms"] if alarm["watch"] == watch]
    assert alarm["consequence"] == ONLY_LOOKING
    assert not alarm["latched"]
    assert hand.state is State.RUNNING


def test_hotter_than_the_furnace_may_be_is_an_alarm() -> None:
    hand = looked_at(start_c=400.0)
    hand.furnace.other_regulator_c = BENCH.top_c + 60.0
    hand.run_until(lambda: "hard-cap" in hand.alarms(), 3.0 * 3600.0)
    (alarm,) = [alarm for alarm in hand.shown()["alarms"] if alarm["watch"] == "hard-cap"]
    assert alarm["act"].startswith("Switch off at that regulator, or at the breaker.")
    assert hand.state is State.RUNNING
    assert hand.memory.firing.run is not None


def test_no_watch_of_the_chain_and_no_sign_is_asked_for() -> None:
    hand = looked_at(start_c=650.0)
    hand.furnace.chips[0].noise_k = 0.5
    hand.wait(1900.0)  # longer than any sign would wait
    assert hand.state is State.RUNNING
    assert hand.alarms() == []
    assert hand.asked is None
    assert hand.memory.sample is not None
    assert hand.memory.sample.inputs.mirror is Level.NOT_FITTED


# --- the file ----------------------------------------------------------------------------------------------------


@pytest.fixture
def text() -> str:
    lines = Path("supervisor/furnace/files/workshop.toml").read_text(encoding="utf-8").splitlines()
    pins = lines.index("[pins]")
    outputs = tuple(f"{line} = " for line in OUTPUT_LINES)
    kept = [line for number, line in enumerate(lines) if number < pins or not line.startswith(outputs)]
    return "\n".join(kept).replace('letter = "A"', 'letter = "A"\nanother_regulator_heats = true')


def test_a_file_may_say_that_another_regulator_heats(text: str, tmp_path: Path) -> None:
    file = tmp_path / "shed.toml"
    file.write_text(text, encoding="utf-8")
    furnace = read_furnace(str(file))
    assert furnace.looks_only
    assert [getattr(furnace.wiring, line) for line in OUTPUT_LINES] == [None] * 5
    pins = text.index("[pins]")
    bare = text[:pins].replace("[energy_meter]\npulses_per_kwh = 1000", "")
    file.write_text(f"{bare}[pins]\nsensor_chip_selects = [0]\n", encoding="utf-8")
    assert read_furnace(str(file)).wiring.lid is None  # the cheapest first evening: a thermocouple


def test_an_output_in_such_a_file_is_refused(text: str, tmp_path: Path) -> None:
    file = tmp_path / "shed.toml"
    file.write_text(text.replace("[pins]", "[pins]\nrelay = 27"), encoding="utf-8")
    with pytest.raises(InputRefused, match=r"pins\.relay is 27; allowed: nothing: another regulator heats"):
        read_furnace(str(file))


def test_without_that_word_no_output_may_be_missing(text: str, tmp_path: Path) -> None:
    file = tmp_path / "shed.toml"
    file.write_text(text.replace("another_regulator_heats = true", ""), encoding="utf-8")
    with pytest.raises(InputRefused, match=r"pins\.relay is missing"):
        read_furnace(str(file))
