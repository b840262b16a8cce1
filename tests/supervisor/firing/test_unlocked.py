"""How far a furnace is unlocked binds in the core; and each condition of a start blocks it alone, by its name."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from hardware.ports import Level, Sample, SensorFault
from supervisor.alarms.standing import Standing
from supervisor.firing import commands as c
from supervisor.firing.aftermath import Part
from supervisor.firing.permissives import permissives
from supervisor.firing.presses import Asked
from supervisor.firing.profile import Hold, Profile, Ramp
from supervisor.firing.states import State
from supervisor.firing.turn import Turn
from supervisor.furnace.proofs import KINDS, of
from supervisor.furnace.stages import Changed, Stage, Unlocking, make
from supervisor.logbook.records import PartRow, ProofRow
from supervisor.metal.charge import Planned
from supervisor.watches.finding import Leave, Reaction, Then
from tests.supervisor.firing.knowing import as_described
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake, furnace_at_hand, melt

LATCHED = Reaction(Then.HOLD, latch=True, leave=Leave.BY_A_PRESS)


def trial(to_c: float = 180.0, top_c: float = 200.0, longest_s: float = 1800.0) -> Profile:
    segments = (Ramp(to_c, 1200.0, None), Hold(600.0, None, False))
    return Profile("Trial for a test", segments, top_c, None, longest_s, None, "")


def at_stage(stage: int, *, start_c: float = 20.0) -> FurnaceAtHand:
    """A furnace whose proofs count, with those of the stages up to this one."""
    hand = furnace_at_hand(start_c=start_c)
    unlocking = Unlocking(today_ms=1_800_000_000_000)
    for name, kind in of(BENCH).items():
        if kind.opens <= stage:
            make(unlocking, name, BENCH, evidence="in a test", who="Ada", witnessed=not kind.stated)
    hand.memory.firing.unlocking = unlocking
    assert unlocking.stage(BENCH) == stage
    hand.wait(1.0)
    return hand


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


# --- each condition alone ------------------------------------------------------------------------------------------


def line(name: str, level: Level) -> Callable[[FurnaceAtHand, Sample], Sample]:
    def now(hand: FurnaceAtHand, sample: Sample) -> Sample:
        return sample._replace(inputs=sample.inputs._replace(**{name: level}))

    return now


def set_(act: Callable[[FurnaceAtHand], object]) -> Callable[[FurnaceAtHand, Sample], Sample]:
    def now(hand: FurnaceAtHand, sample: Sample) -> Sample:
        act(hand)
        return sample

    return now


def no_reading(hand: FurnaceAtHand, sample: Sample) -> Sample:
    return sample._replace(sensors=(SensorFault(0x10001, "open circuit"),))


def choose(hand: FurnaceAtHand, profile: Profile) -> None:
    prepared = hand.memory.firing.prepared
    assert prepared is not None
    hand.memory.firing.prepared = replace(prepared, profile=profile)


def trip(hand: FurnaceAtHand) -> None:
    hand.memory.alarms.standing["limiter"] = Standing(latched=True, number=1, reaction=LATCHED)
    hand.memory.alarms.reaction = LATCHED


def leak(hand: FurnaceAtHand) -> None:
    """Also where proofs do not count: a simulated furnace has no stage, and this locks it all the same."""
    hand.memory.firing.unlocking.counted = False
    hand.memory.firing.unlocking.changed.append(Changed("earth-leakage-trip", "at 310 °C", "Ada", 1, 3))


ALONE: dict[str, Callable[[FurnaceAtHand, Sample], Sample]] = {
    "sensor answers": no_reading,
    "cold check": set_(lambda hand: setattr(hand.memory.firing, "cold_checked", False)),
    "chamber below the top": set_(lambda hand: choose(hand, bake(to_c=45.0))),
    "emergency stop released": line("emergency_stop", Level.OPEN),
    "limiter healthy": line("limiter", Level.OPEN),
    "key on": line("key", Level.OPEN),
    "permit relays open": line("permit_relay_2", Level.CLOSED),
    "relay lets go": set_(lambda hand: setattr(hand.memory.firing.proofs, "bars", "The proof of the relay failed.")),
    "contactor proved open": line("mirror", Level.NOT_FITTED),
    "lid shut": line("lid", Level.OPEN),
    "button released": line("reset_button", Level.CLOSED),
    "no trip stands": set_(trip),
    "earlier firing looked at": set_(lambda hand: setattr(hand.memory.firing, "left_open", "A firing has no end.")),
    "limiter proved": set_(lambda hand: setattr(hand.memory.firing, "to_prove", frozenset({Part.LIMITER}))),
    "log can be written": set_(lambda hand: setattr(hand.memory.log, "trouble", "the disk is full")),
    "room for the log": set_(lambda hand: setattr(hand.memory.log, "free_mb", 150.4)),
    "log up to date": set_(lambda hand: setattr(hand.memory.log, "older", True)),
    "earth leakage": set_(leak),
    "stage reached": set_(lambda hand: hand.memory.firing.unlocking.proved.clear()),
    "profile chosen": set_(lambda hand: setattr(hand.memory.firing, "prepared", None)),
}
ALWAYS_MET = {"not fitted", "relay and contactor proved"}
"""They are read out, and hinder nothing."""


@pytest.mark.parametrize("name", ALONE)
def test_each_condition_alone_blocks_a_start_and_is_named(name: str) -> None:
    hand = at_stage(3, start_c=100.0)
    hand.prepare(bake(to_c=300.0))
    start = hand.start_command()
    assert not [each for each in hand.shown()["permissives"] if not each["met"]]
    sample = ALONE[name](hand, hand.hardware.sample())
    (answer,) = hand.turn(start, sample=sample)
    (missing,) = [each for each in hand.shown()["permissives"] if not each["met"]]
    assert missing["name"] == name
    assert missing["mend"]
    assert not answer.accepted
    assert answer.sentence.startswith(missing["reason"]) or name == "profile chosen"
    assert hand.state is State.IDLE


def test_with_little_room_for_the_log_nothing_is_started_and_what_runs_goes_on() -> None:
    hand = at_stage(3, start_c=100.0)
    hand.prepare(bake(to_c=300.0))
    hand.memory.log.free_mb = 150.4
    answer = hand.send(hand.start_command())
    assert answer.sentence == (
        "150 MB are free where the log is kept; a start asks for 200. Make room there, or change the card."
    )
    hand.memory.log.free_mb = 200.0
    hand.start(bake(to_c=300.0))
    hand.memory.log.free_mb = 60.0
    hand.hold()
    hand.wait(1.0)
    assert hand.resume().accepted


def unplanned(hand: FurnaceAtHand) -> None:
    hand.prepare(melt())
    assert hand.memory.firing.prepared is not None
    hand.memory.firing.prepared = replace(hand.memory.firing.prepared, planned=None)


def planned(dry_for_s: float | None) -> Callable[[FurnaceAtHand], None]:
    def now(hand: FurnaceAtHand) -> None:
        profile = melt()
        assert profile.charge is not None
        hand.send(c.Prepare(hand.by(), profile, "A-001", Planned(profile.charge, 720.0, dry_for_s)))
        hand.wait(3.0)

    return now


def quarantined(hand: FurnaceAtHand) -> None:
    hand.prepare(melt())
    told = hand.send(c.Note(hand.by(), c.NoteKind.QUARANTINE, epoch=None, text="L-7 holds lead"))
    assert told.sentence == "Noted for the charge that is prepared."


METAL: dict[str, tuple[str, Callable[[FurnaceAtHand], None], str]] = {
    "a profile's own charge": ("metal planned", unplanned, "The charge is the one that the profile's file names"),
    "nobody said how long": ("metal dry", planned(None), "Nobody said how long this charge is proved dry."),
    "the proof has ended": ("metal dry", planned(2.0), "The proof that this charge is dry has ended."),
    "quarantined since": ("metal clear", quarantined, "This charge is under quarantine: L-7 holds lead."),
}


@pytest.mark.parametrize("case", METAL)
def test_each_condition_of_the_metal_alone_blocks_a_start_on_a_real_furnace(case: str) -> None:
    name, make_it_so, reason = METAL[case]
    hand = at_stage(3)
    make_it_so(hand)
    answer = hand.send(hand.start_command())
    (missing,) = [each for each in hand.shown()["permissives"] if not each["met"]]
    assert (missing["name"], answer.accepted, hand.state) == (name, False, State.IDLE)
    assert answer.sentence == f"{missing['reason']} {missing['mend']}"
    assert reason in missing["reason"]


def test_a_charge_that_was_cleared_again_may_be_started() -> None:
    hand = at_stage(3)
    quarantined(hand)
    before = hand.start_command()
    assert hand.send(c.Note(hand.by(), c.NoteKind.CLEARED, epoch=None, text="another lot was meant")).accepted
    assert not hand.send(before).accepted  # the furnace has changed since
    assert hand.send(hand.start_command()).accepted


def test_a_simulated_furnace_may_melt_what_a_profile_brings_but_nothing_under_quarantine() -> None:
    hand = furnace_at_hand()
    hand.wait(1.0)
    hand.prepare(melt())
    assert "metal planned" not in [each["name"] for each in hand.shown()["permissives"]]
    quarantined(hand)
    assert not hand.send(hand.start_command()).accepted


def test_there_is_a_case_for_every_condition() -> None:
    hand = at_stage(3, start_c=100.0)
    hand.prepare(melt())
    hand.memory.firing.to_prove = frozenset(Part)
    sample = hand.memory.sample
    assert sample is not None
    memory = hand.memory
    turn = Turn(
        memory.firing,
        memory.alarms,
        memory.furnace,
        sample,
        memory.belief,
        memory.log,
        now_s=hand.now_s,
        second=False,
        backend="pi",
        next_firing_id=1,
    )
    assert {each.name for each in permissives(turn.facts)} == {
        *ALONE,
        *(name for name, *_ in METAL.values()),
        *ALWAYS_MET,
    }
