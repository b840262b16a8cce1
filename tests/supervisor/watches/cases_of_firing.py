"""Cases in which all but the heat is amiss: metal, people and their hands, time, energy, log and messages."""

from supervisor.firing import commands as c
from supervisor.firing.presses import Asked
from tests.supervisor.firing.knowing import boosted_melt, charged, knowing
from tests.supervisor.firing.telling import report_contacts
from tests.supervisor.firing.watched import SHORT, may_go_away, pages_go, tap
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, melt, running
from tests.supervisor.watches.at_work import heating


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


def forgotten_lid() -> FurnaceAtHand:
    hand = opened_lid()
    hand.answer_everything()
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
