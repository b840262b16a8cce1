"""Each condition of a start, missing alone, blocks it and is named; those of the metal on a real furnace."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from hardware.ports import Level, Sample, SensorFault
from supervisor.alarms.standing import Standing
from supervisor.firing import commands as c
from supervisor.firing.aftermath import Part
from supervisor.firing.permissives import permissives
from supervisor.firing.profile import Profile
from supervisor.firing.states import State
from supervisor.firing.turn import Turn
from supervisor.furnace.stages import Changed
from supervisor.metal.charge import Planned
from supervisor.watches.finding import Leave, Reaction, Then
from tests.supervisor.firing.unlocked import at_stage
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, furnace_at_hand, melt

LATCHED = Reaction(Then.HOLD, latch=True, leave=Leave.BY_A_PRESS)


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
