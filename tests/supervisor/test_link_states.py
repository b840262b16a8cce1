"""Every state that the supervisor can be in has its own sentence, in its own tone: the table of them all, walked."""

from collections.abc import Callable
from copy import deepcopy
from functools import cache

import pytest

from hardware.ports import Level
from supervisor.alarms.standing import Standing
from supervisor.cycle import Memory
from supervisor.firing.aftermath import Aftermath, Ended
from supervisor.firing.firing import YOU, Held, MassDoubt, Run
from supervisor.firing.presses import Asked, Question
from supervisor.firing.states import State
from supervisor.link.snapshot import snapshot
from supervisor.logbook.records import FiringClosed
from supervisor.model.countdown import Minutes
from supervisor.watches.finding import TRIP, TRIP_KEEP_AWAY, Leave
from tests.supervisor.furnace_at_hand import FurnaceAtHand, furnace_at_hand, melt, running


@pytest.fixture(scope="module")
def solid() -> FurnaceAtHand:
    """Heating 2 kg, the gate ahead."""
    return running(melt())


@pytest.fixture(scope="module")
def prepared() -> FurnaceAtHand:
    hand = furnace_at_hand()
    hand.wait(2.0)
    hand.prepare(melt())
    return hand


@pytest.fixture(scope="module")
def rest() -> FurnaceAtHand:
    hand = furnace_at_hand()
    hand.wait(2.0)
    return hand


def said(memory: Memory) -> tuple[str, str]:
    shown = snapshot(memory)["headline"]
    return " ".join((shown["before"], shown["key"], shown["after"])).strip(), shown["tone"]


def held(memory: Memory, name: str, for_s: float = 0.0) -> None:
    memory.firing.state = State.HELD
    memory.firing.held = {name: Held(Leave.BY_A_PERSON, memory.belief.monotonic_s - for_s)}


def asked(memory: Memory, what: Asked) -> None:
    now_s = memory.belief.monotonic_s
    memory.firing.button.question = Question(what, now_s)


def tripped(memory: Memory, watch: str, *, keep_away: bool = False, proved: bool = True) -> None:
    memory.firing.state, memory.firing.enable = State.ABORTED, False
    memory.outputs = memory.outputs._replace(enable=False, relay=False)
    reaction = TRIP_KEEP_AWAY if keep_away else TRIP
    memory.alarms.standing[watch] = Standing(stands=True, number=1, first_out=True, reaction=reaction)
    memory.alarms.reaction = reaction
    mirror(memory, Level.CLOSED if proved else Level.OPEN)
    memory.firing.enable_off_s = memory.belief.monotonic_s - 20.0


def mirror(memory: Memory, level: Level) -> None:
    sample = memory.sample
    assert sample is not None
    memory.sample = sample._replace(inputs=sample.inputs._replace(mirror=level))


def of_heating() -> dict[str, tuple[Callable[[Memory], None], str, str]]:
    def proving(m: Memory) -> None:
        m.firing.proofs.pulse_since_s = m.belief.monotonic_s

    def no_leaving(m: Memory) -> None:
        m.firing.reach.heard = False

    def gate_asks(m: Memory) -> None:
        asked(m, Asked.GATE)

    def gate_missed(m: Memory) -> None:
        assert m.firing.run
        m.firing.run.gate.asks = True

    def mass(m: Memory) -> None:
        assert m.firing.run
        m.firing.run.mass_doubt = MassDoubt(2.4, 1.3, "It heats otherwise.")
        asked(m, Asked.MASS)

    def allowance(m: Memory) -> None:
        asked(m, Asked.ALLOWANCE)

    def by_you(m: Memory) -> None:
        held(m, YOU)

    def by_you_long(m: Memory) -> None:
        held(m, YOU, for_s=700.0)

    def by_watch(m: Memory) -> None:
        held(m, "sensor-noisy", for_s=720.0)

    def lid(m: Memory) -> None:
        held(m, "lid")
        m.firing.lid.opened_s = m.belief.monotonic_s

    def trip(m: Memory) -> None:
        tripped(m, "sensor-open")

    def not_proved(m: Memory) -> None:
        tripped(m, "sensor-open", proved=False)

    def keep_away(m: Memory) -> None:
        tripped(m, "tray-wet", keep_away=True)

    def stuck(m: Memory) -> None:
        tripped(m, "contactor-stuck", keep_away=True, proved=False)

    def limiter(m: Memory) -> None:
        tripped(m, "limiter")

    return {
        "relay proof": (proving, "Proving the relay:", "stay"),
        "no leaving": (no_leaving, "Heating, all solid. Stay.", "stay"),
        "gate asks": (gate_asks, "The gate asks: go and press. Until then nothing melts.", "wanted"),
        "gate missed": (gate_missed, "Nobody pressed: it waits solid at 555 °C. Heat ends {hour}.", "stay"),
        "mass doubt": (mass, "Weighed 2.40 kg, heats like 1.3 kg. What is in the pot?", "wanted"),
        "allowance": (allowance, "Its energy allowance is used: press to add a tenth.", "wanted"),
        "held by you": (by_you, "Held by you, all solid. Chamber", "calm"),
        "held by you, long": (by_you_long, "Going on needs the button.", "calm"),
        "held by a watch": (by_watch, "Held by a watch 12 min:", "wanted"),
        "lid open": (lid, "The lid is open: no heat is ordered; the contactor opens after 5 s.", "stay"),
        "tripped": (trip, "Tripped: heat is off, proved.", "act"),
        "not proved": (not_proved, "off was ordered not proved: switch off at the breaker.", "act"),
        "leak": (keep_away, "Keep away.", "act"),
        "contactor stuck": (stuck, "Keep away. The contactor did not open: switch off at the breaker.", "act"),
        "limiter": (limiter, "Tripped: heat is off, proved. The over-temperature limiter opened", "act"),
    }


@pytest.mark.parametrize("state", of_heating())
def test_a_firing_says_its_state(solid: FurnaceAtHand, state: str) -> None:
    memory = deepcopy(solid.memory)
    make, words, tone = of_heating()[state]
    make(memory)
    sentence, found = said(memory)
    assert words in sentence
    assert found == tone
    assert len(sentence.split()) <= 26
    assert "ready" not in sentence


@cache
def solid_run() -> Run:
    """A firing with metal."""
    run = running(melt()).memory.firing.run
    assert run is not None
    return run


def of_rest() -> dict[str, tuple[Callable[[Memory], None], str, str]]:
    def idle(m: Memory) -> None:
        return

    def frozen(m: Memory) -> None:
        m.firing.cut_short, m.firing.drained = True, False
        m.firing.run = run = deepcopy(solid_run())
        run.gate.may_be_liquid = run.left_behind = run.closed = True

    def stopped_liquid(m: Memory) -> None:
        m.firing.liquid_left, m.firing.window.freezes = True, Minutes(20.0, 15.0, 25.0)

    def power(m: Memory) -> None:
        m.firing.left_open, m.firing.liquid_left = "A-087 ended without its closing record.", True
        m.firing.aftermath = Aftermath(
            Ended.POWER,
            "A-087",
            was="running",
            before_c=700.0,
            had_metal=True,
            back_s=m.belief.monotonic_s,
            lasted_s=1860.0,
        )

    def off_not_proved(m: Memory) -> None:
        mirror(m, Level.OPEN)
        m.firing.enable_off_s = m.belief.monotonic_s - 20.0

    return {
        "idle": (idle, "The furnace is stopped, 20 °C. Choose a profile.", "calm"),
        "pot full": (
            frozen,
            "Metal froze in the pot: look for cracks, empty and cold. The next",
            "wanted",
        ),
        "stopped, liquid": (
            stopped_liquid,
            "At rest: off, proved; may be liquid. Decide by {hour} Freezing may crack the pot.",
            "wanted",
        ),
        "power return": (power, "Power is back: heat is off, proved. Out for 31 min: may be liquid inside.", "wanted"),
        "off, not proved": (off_not_proved, "At rest: off was ordered not proved: switch off at the breaker.", "act"),
    }


@pytest.mark.parametrize("state", of_rest())
def test_a_furnace_at_rest_says_its_state(rest: FurnaceAtHand, state: str) -> None:
    memory = deepcopy(rest.memory)
    make, words, tone = of_rest()[state]
    make(memory)
    assert words in said(memory)[0]
    assert said(memory)[1] == tone


def test_one_missing_condition_is_named_and_several_are_counted(prepared: FurnaceAtHand) -> None:
    memory = deepcopy(prepared.memory)
    assert said(memory)[0].startswith("All conditions hold. Start it here, then hold its button 3 s.")
    sample = memory.sample
    assert sample is not None
    memory.sample = sample._replace(inputs=sample.inputs._replace(lid=Level.OPEN))
    assert said(memory) == ("Not yet: 1 condition missing: The lid is open.", "calm")
    memory.firing.cold_checked = False
    assert said(memory) == ("Not yet: 2 conditions missing.", "calm")


def test_a_hot_furnace_with_a_profile_chosen_is_still_not_to_be_touched() -> None:
    hand = furnace_at_hand(start_c=420.0)
    hand.wait(2.0)
    hand.prepare(melt())
    assert said(hand.memory)[0].endswith("then hold its button 3 s. Hot: 419 °C. Do not touch.")
    hand.memory.firing.cold_checked = False
    words, _ = said(hand.memory)
    assert words.startswith("Not yet: 1 condition missing")
    assert words.endswith("Hot: 419 °C. Do not touch.")


def test_while_it_is_held_what_only_a_start_asks_for_is_not_called_missing(solid: FurnaceAtHand) -> None:
    memory = deepcopy(solid.memory)
    held(memory, YOU)
    shown = snapshot(memory)
    assert [each for each in shown["permissives"] if not each["met"]] == []
    assert "permit relays open" not in {each["name"] for each in shown["permissives"]}  # they read closed, as they must
    assert shown["doing"] == "Held by you."


def test_what_held_it_and_is_over_is_not_said_as_if_it_still_were(solid: FurnaceAtHand) -> None:
    memory = deepcopy(solid.memory)
    held(memory, "lid")
    assert snapshot(memory)["doing"] == "The lid is open."
    memory.firing.held["lid"].standing = False
    assert snapshot(memory)["doing"] == "Lid shut again: still held."


def test_the_gate_that_asks_is_said_in_a_hold_too(solid: FurnaceAtHand) -> None:
    memory = deepcopy(solid.memory)
    held(memory, YOU)
    asked(memory, Asked.GATE)
    words, _ = said(memory)
    assert words.startswith("Held by you, all solid.")
    assert words.endswith("The gate asks for a press.")


def test_a_start_that_nobody_held_the_button_for_says_so_for_a_quarter_hour() -> None:
    hand = furnace_at_hand()
    hand.wait(2.0)
    hand.prepare(melt())
    assert hand.send(hand.start_command()).accepted
    hand.run_until(lambda: hand.state is State.STOPPED, 120.0)
    hand.wait(5.0)
    assert said(hand.memory) == (
        "Not started: no heat came, nobody held the button within 60 s. Prepare it again.",
        "wanted",
    )
    hand.wait(900.0)
    assert not said(hand.memory)[0].startswith("Not started")
    (closed,) = (row for row in hand.records if isinstance(row, FiringClosed))
    assert closed.results["peak_c"] == pytest.approx(20.0, abs=1.0)  # it was as warm as that, though it never heated
