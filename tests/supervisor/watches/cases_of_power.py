"""Cases in which heat comes or stays away by another way than was ordered: relay, contactor, element, mains and lid."""

from supervisor.firing.presses import Asked
from supervisor.firing.proofs import Proof, Result
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake, furnace_at_hand, running
from tests.supervisor.watches.at_work import heating
from tests.supervisor.watches.equipped import WITHOUT_METER, started


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


def proof_failed() -> FurnaceAtHand:
    hand = heating()
    hand.memory.firing.proofs.last = Proof(Result.FAILED, hand.now_s, "pulse", "no fall")
    return hand


def proof_undecided() -> FurnaceAtHand:
    hand = heating()
    hand.memory.firing.proofs.doubt = "undecided twice"
    return hand


def beneath_an_open_lid(*, start_c: float = 650.0, to_c: float = 700.0) -> FurnaceAtHand:
    """The lid's switch reads open, and the lid is shut: whatever heats there, nothing cools as it should."""
    hand = running(bake(to_c=to_c), start_c=start_c)
    step = hand.furnace.plant.step
    hand.furnace.plant.step = lambda dt_s, **levels: step(dt_s, **{**levels, "lid_open": False})  # type: ignore[method-assign]
    hand.furnace.lid(True)
    return hand


def beneath_an_open_lid_at_500() -> FurnaceAtHand:
    return beneath_an_open_lid(start_c=500.0, to_c=520.0)


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
