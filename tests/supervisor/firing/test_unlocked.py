"""How far a furnace is unlocked binds in the core: its caps, what a trial witnesses, proofs and parts by command."""

from dataclasses import replace

import pytest

from supervisor.firing import commands as c
from supervisor.firing.presses import Asked
from supervisor.firing.profile import Hold, Profile, Ramp
from supervisor.firing.states import State
from supervisor.furnace.proofs import KINDS
from supervisor.furnace.stages import Stage
from supervisor.logbook.records import PartRow, ProofRow
from tests.supervisor.firing.knowing import as_described
from tests.supervisor.firing.unlocked import at_stage
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake, furnace_at_hand, melt


def trial(to_c: float = 180.0, top_c: float = 200.0, longest_s: float = 1800.0) -> Profile:
    segments = (Ramp(to_c, 1200.0, None), Hold(600.0, None, False))
    return Profile("Trial for a test", segments, top_c, None, longest_s, None, "")


def proved(hand: FurnaceAtHand) -> list[str]:
    return [row.proved.proof for row in hand.records if isinstance(row, ProofRow)]


# --- caps ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stage", "profile", "said"),
    [
        (0, trial(), "No heat yet: proofs are missing."),
        (1, melt(), "this profile goes to 760 °C"),
        (1, trial(top_c=201.0), "this profile goes to 201 °C"),
        (1, trial(longest_s=1860.0), "this profile may take 31 min"),
        (2, melt(), "this profile has a charge"),
        (1, trial(), ""),
        (2, bake(to_c=700.0), ""),
        (3, melt(), ""),
    ],
)
def test_a_stage_allows_what_its_proofs_have_opened(stage: int, profile: Profile, said: str) -> None:
    hand = at_stage(stage)
    hand.prepare(profile)
    answer = hand.send(hand.start_command())
    assert answer.accepted is (said == ""), answer
    assert said in answer.sentence
    if said:
        assert "Next: " in answer.sentence  # never without a way on
        assert hand.state is State.IDLE


def test_a_trial_asks_for_a_press_every_five_minutes_and_ends_without_one() -> None:
    hand = at_stage(1)
    hand.start(trial())
    assert hand.run_until(lambda: hand.asked is Asked.SIGN, 400.0) <= 301.0
    attendance = hand.memory.firing.attendance
    assert attendance.phone_left == 0
    assert attendance.why_no_phone
    hand.press()
    assert hand.run_until(lambda: hand.asked is Asked.SIGN, 400.0) <= 301.0  # and again
    hand.run_until(lambda: hand.state is State.STOPPED, 900.0)  # nobody came
    assert hand.shown()["attendance"]["stage"] == "none"


def test_the_setpoint_of_a_trial_stays_below_what_the_stage_allows() -> None:
    hand = at_stage(1)
    hand.start(trial(to_c=200.0))
    run = hand.memory.firing.run
    assert run is not None
    run.walk.setpoint_c = 300.0  # whatever the profile came to say
    hand.wait(2.0)
    assert hand.memory.firing.setpoint_c is not None
    assert hand.memory.firing.setpoint_c <= 200.0


# --- what a trial witnesses ----------------------------------------------------------------------------------------


def test_a_trial_witnesses_direction_relay_meter_and_the_limiters_hot_trip_and_unlocks_first_heats() -> None:
    hand = at_stage(1)
    hand.answer_everything()
    hand.start(trial())
    hand.run_until(lambda: hand.reading_c > 150.0, 1500.0)
    assert set(proved(hand)) == {"direction", "relay-off", "meter"}
    hand.inject("limiter_trip")
    hand.run_until(lambda: hand.state is State.ABORTED, 5.0)
    hand.wait(2.0)
    assert proved(hand)[-1] == "limiter-trip"
    assert hand.memory.firing.unlocking.stage(BENCH) is Stage.FIRST_HEATS
    assert all(row.proved.witnessed and row.firing_id == 1 for row in hand.records if isinstance(row, ProofRow))


def test_a_limiter_that_trips_cold_is_no_hot_trip() -> None:
    hand = at_stage(1)
    hand.start(trial())
    hand.wait(20.0)
    hand.inject("limiter_trip")
    hand.run_until(lambda: hand.state is State.ABORTED, 5.0)
    hand.wait(2.0)
    assert "limiter-trip" not in proved(hand)


def test_a_firing_without_metal_to_its_end_is_the_first_heat() -> None:
    hand = at_stage(2, start_c=680.0)
    hand.answer_everything()
    hand.start(bake(to_c=705.0, rate_c_per_h=900.0, hold_s=30.0))
    hand.run_until(lambda: hand.state is State.COMPLETE, 2400.0)
    hand.turn()
    assert proved(hand) == ["first-heat"]
    assert hand.memory.firing.unlocking.stage(BENCH) is Stage.FIRST_HEATS  # the dry-out is still to come


# --- proofs and parts by command -----------------------------------------------------------------------------------


def test_an_input_is_proved_by_being_moved_and_by_nothing_that_is_said() -> None:
    hand = at_stage(3)
    hand.memory.firing.unlocking.proved.clear()
    assert hand.send(c.Prove(hand.by(), "lid", "I looked")).sentence == "Open the lid."
    hand.wait(5.0)
    assert not proved(hand)
    hand.furnace.lid(True)
    hand.wait(1.0)
    assert hand.shown()["stage"]["proving"]["wants"] == "Shut the lid."
    assert not proved(hand)
    hand.furnace.lid(False)
    hand.wait(1.0)
    assert proved(hand) == ["lid"]
    assert hand.shown()["stage"]["proving"] is None


@pytest.mark.parametrize("name", [name for name, kind in KINDS.items() if not (kind.stated or kind.either)])
def test_no_word_proves_what_an_input_or_a_firing_witnesses(name: str) -> None:
    hand = furnace_at_hand(start_c=100.0)
    hand.wait(1.0)
    hand.send(c.Prove(hand.by(), name, "I saw it"))
    hand.wait(2.0)
    assert not proved(hand)


def test_a_statement_is_kept_with_who_made_it_and_never_as_witnessed() -> None:
    hand = at_stage(3)
    assert hand.send(c.Prove(hand.by("Ben"), "earth-bond", "0.2 ohm")).accepted
    (row,) = [row for row in hand.records if isinstance(row, ProofRow)]
    assert (row.proved.witnessed, row.proved.who, row.proved.evidence) == (False, "Ben", "0.2 ohm")
    assert not hand.send(c.Prove(hand.by(), "limiter-setting", "950")).accepted


def test_a_changed_element_takes_back_its_proofs_and_what_was_learned() -> None:
    hand = at_stage(3)
    answer = hand.send(c.Change(hand.by(), "element", "burnt through at a joint"))
    assert answer.accepted
    assert "it is learned anew" in answer.sentence
    assert hand.memory.firing.adviser.adopted is None
    assert hand.memory.firing.unlocking.stage(BENCH) is Stage.NONE  # the earth bond is measured first
    old = replace(as_described(BENCH), learned_from=(1, 2, 3))
    hand.memory.firing.unlocking.changed[-1] = hand.memory.firing.unlocking.changed[-1]._replace(after_firing=3)
    refused = hand.send(c.Adopt(hand.by(), old, 3, None, (), False, {}, ""))
    assert "another element" in refused.sentence  # one that was being learned meanwhile, or is put back
    assert [row.changed.part for row in hand.records if isinstance(row, PartRow)] == ["element"]
    hand.prepare(melt())
    assert "Earth bond" in hand.send(hand.start_command()).sentence


def test_no_part_is_changed_and_nothing_stated_while_a_firing_is_on() -> None:
    hand = at_stage(1)
    hand.start(trial())
    for command in (c.Change(hand.by(), "relay", "a new one"), c.Prove(hand.by(), "earth-bond", "0.2 ohm")):
        assert not hand.send(command).accepted
