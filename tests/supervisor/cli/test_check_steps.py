"""The steps of `check` on both backends: the simulated furnace, and the Pi's backend whole on mock pins."""

from collections.abc import Callable
from dataclasses import dataclass, field

import pytest

from hardware.ports import FurnaceHardware, Permit, Sample
from hardware.simulated.furnace import Furnace
from hardware.simulated.in_process import InProcess
from hardware.simulated.plant import Workshop
from supervisor.cli import check_steps
from supervisor.cli.check_going import Answer
from supervisor.cli.check_held import hold_in
from supervisor.cli.check_rig import Failed, Given, NotProved, Rig
from supervisor.cli.check_steps import ASKS, STEPS
from supervisor.firing.witness import LINES
from supervisor.furnace.file import read_furnace
from tests.hardware.mock_pi import MockPi

WORKSHOP = read_furnace("workshop")


@dataclass
class Somebody:
    """Who does what is asked, unless told to leave it."""

    furnace: Furnace
    leaves: tuple[str, ...] = ()
    says: str = ""
    told: list[str] = field(default_factory=list)

    def tell(self, sentence: str) -> None:
        self.told.append(sentence)
        for part, act in {
            "Hold the button": lambda: self.furnace.press(3.75),
            "Press the emergency stop": lambda: self.furnace.emergency_stop(True),
            "Pull the emergency stop": lambda: self.furnace.emergency_stop(False),
            LINES["lid"].away: lambda: self.furnace.lid(True),
            LINES["lid"].back: lambda: self.furnace.lid(False),
            LINES["key"].away: lambda: self.furnace.key(False),
            LINES["key"].back: lambda: self.furnace.key(True),
            LINES["button"].away: lambda: self.furnace.press(1.0),
            LINES["limiter-sensor"].away: self.furnace.trip_limiter,
            "Plug it in": self.furnace.limiter_reset,
        }.items():
            if part in sentence and part not in self.leaves:
                act()

    def ask(self, question: str) -> str:
        self.told.append(question)
        return self.says

    def ready(self) -> Answer:
        return Answer.GO


@dataclass
class Place:
    furnace: Furnace
    hardware: FurnaceHardware

    @property
    def rig(self) -> Rig:
        return Rig(self.hardware, WORKSHOP)

    def relay_ever_on(self) -> bool:
        return any(edge.line == "relay" and edge.level for edge in self.furnace.edges)


def made() -> Furnace:
    return Furnace(Workshop(seed=1), WORKSHOP.wiring, seed=1, limiter_c=900.0)


def in_process() -> Place:
    furnace = made()
    return Place(furnace, InProcess(furnace))


def on_mock_pins() -> Place:
    pi = MockPi(made())
    return Place(pi.furnace, pi.hardware)


@pytest.fixture(params=[in_process, on_mock_pins], ids=["simulated", "pi"])
def place(request: pytest.FixtureRequest) -> Place:
    make: Callable[[], Place] = request.param
    return make()


@pytest.mark.parametrize("name", ["key", "button", "lid", "limiter-sensor", "permit", "contactor", "emergency-stop"])
def test_a_sound_furnace_passes_and_its_relay_is_never_ordered(place: Place, name: str) -> None:
    came = STEPS[name](place.rig, Somebody(place.furnace))
    assert came.witnessed
    assert came.evidence
    assert not place.relay_ever_on()
    assert not any(place.furnace.outputs[line] for line in ("relay", "enable"))
    place.hardware.sample()
    assert not place.furnace.interlock.poles_closed


@pytest.mark.parametrize("name", ["key", "button", "lid", "limiter-sensor"])
def test_an_input_that_nobody_moves_is_not_proved(place: Place, name: str) -> None:
    with pytest.raises(NotProved, match="not seen within 180 s"):
        STEPS[name](place.rig, Somebody(place.furnace, leaves=(LINES[name].away,)))


def test_a_lid_that_stays_open_is_not_proved() -> None:
    place = in_process()
    with pytest.raises(NotProved, match=r"Shut the lid"):
        STEPS["lid"](place.rig, Somebody(place.furnace, leaves=(LINES["lid"].back,)))


@pytest.mark.parametrize(
    ("fault", "name", "why"),
    [
        ("contactor_welded", "contactor", "breaker"),
        ("contactor_welded", "emergency-stop", "breaker"),
        ("relay_stuck_on", "contactor", "does not let go"),
        ("permit_relay_welded", "permit", "closed with the permit still"),
    ],
)
def test_a_faulty_furnace_fails_by_name(place: Place, fault: str, name: str, why: str) -> None:
    place.furnace.inject(fault)
    with pytest.raises(Failed, match=why):
        STEPS[name](place.rig, Somebody(place.furnace))
    assert not any(place.furnace.outputs[line] for line in ("relay", "enable"))


@pytest.mark.parametrize("name", ["contactor", "emergency-stop"])
def test_no_contactor_stays_in_over_a_sensor_that_does_not_read(place: Place, name: str) -> None:
    """A relay that conducts would heat, and neither a rise nor a proof of the relay by the reading would show it."""
    place.furnace.inject("sensor_open")
    with pytest.raises(NotProved, match="the sensor does not read"):
        STEPS[name](place.rig, Somebody(place.furnace))
    assert not place.furnace.outputs["enable"]


def test_a_reading_that_is_missing_now_and_then_hides_no_rise() -> None:
    place = in_process()
    rig, in_ = place.rig, Given(enable=True, permit=Permit.TOGGLE)
    place.furnace.press(3.75)
    rig.wait_for(lambda sample: False, 4.0, in_)
    assert place.furnace.interlock.poles_closed
    place.furnace.inject("relay_stuck_on")

    def blink(sample: Sample) -> bool:
        place.furnace.mend("sensor_open") if rig.reading is None else place.furnace.inject("sensor_open")
        return False

    with pytest.raises(Failed, match="the relay does not let go"):
        rig.wait_for(blink, 300.0, in_)


def test_without_a_held_press_the_contactor_never_goes_in(place: Place) -> None:
    with pytest.raises(NotProved, match="nobody held the button"):
        STEPS["contactor"](place.rig, Somebody(place.furnace, leaves=("Hold the button",)))
    assert not [edge for edge in place.furnace.edges if edge.line == "contactor" and edge.level]


def test_a_sensor_apart_from_its_board_fails_cold_and_is_not_told_warm() -> None:
    assert STEPS["cold-check"](in_process().rig, Somebody(made())).witnessed
    for start_c, ends in ((30.0, Failed), (60.0, NotProved)):
        furnace = Furnace(Workshop(seed=1, start_c=start_c), WORKSHOP.wiring, seed=1, limiter_c=900.0)
        with pytest.raises(ends):
            STEPS["cold-check"](Rig(InProcess(furnace), WORKSHOP), Somebody(furnace))


@pytest.mark.parametrize("line", ["lamp", "sounder"])
def test_what_flashes_is_stated_and_a_wrong_count_is_not_taken(line: str, monkeypatch: pytest.MonkeyPatch) -> None:
    class Four:
        def randint(self, least: int, most: int) -> int:
            return 4

    monkeypatch.setattr(check_steps, "SystemRandom", Four)
    place = in_process()
    came = STEPS[line](place.rig, Somebody(place.furnace, says="4"))
    assert not came.witnessed
    assert len([edge for edge in place.furnace.edges if edge.line == line and edge.level]) == 4
    for wrong in ("3", "", "4 or so"):
        with pytest.raises(NotProved):
            STEPS[line](place.rig, Somebody(place.furnace, says=wrong))


def test_a_pulled_supply_is_what_somebody_says_afterwards() -> None:
    place = in_process()
    came = STEPS["unplugged"](place.rig, Somebody(place.furnace, says="out after 2 s, stayed out"))
    assert (came.evidence, came.witnessed) == ("out after 2 s, stayed out", False)
    with pytest.raises(NotProved, match="not pulled within 60 s"):
        STEPS["unplugged"](place.rig, Somebody(place.furnace))


def test_statements_are_asked_for_in_words() -> None:
    somebody = Somebody(made(), says="0.2 ohm")
    assert check_steps.stated("earth-bond", somebody).evidence == "0.2 ohm"
    check_steps.stated("limiter-setting", somebody)
    assert somebody.told == ["What was seen, measured or read, and by whom?", ASKS["limiter-setting"]]
    with pytest.raises(NotProved):
        check_steps.stated("earth-bond", Somebody(made()))


@pytest.mark.parametrize("welded", [False, True])
def test_a_halted_program_looks_before_it_moves_a_line(welded: bool) -> None:
    pi = MockPi(made())
    said: list[tuple[str, dict[str, float | bool]]] = []

    def say(word: str, what: dict[str, float | bool]) -> None:
        said.append((word, what))
        if word == "in":
            if welded:
                pi.furnace.inject("contactor_welded")
            pi.late_s = 2.6

    hold_in(Rig(pi.hardware, WORKSHOP), Somebody(pi.furnace), say)
    assert [word for word, _ in said] == ["in", "saw"]
    seen = said[1][1]
    assert seen["after_s"] >= 2.5
    assert seen["open"] is not welded
    off_s = [edge.time_s for edge in pi.furnace.edges if edge.line == "enable" and not edge.level][-1]
    opened_s = [edge.time_s for edge in pi.furnace.edges if edge.line == "contactor" and not edge.level]
    assert welded or opened_s[-1] < off_s  # the permit had run out before anything was switched off
