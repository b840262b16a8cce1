"""Moments of one melt of the simulated furnace, by the real cycle in virtual time: what was shown, what was true."""

from functools import cache
from typing import Any, NamedTuple

from hardware.ports import PlantState
from tests.supervisor.firing.knowing import as_described, boosted_melt, charged, knowing
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand

BEGAN_UTC_MS = 1_789_000_000_000
LONGEST_S = 5400.0


class Moment(NamedTuple):
    """A snapshot, and the furnace's truth in the same moment."""

    shown: dict[str, Any]
    truth: PlantState


@cache
def moments() -> dict[str, Moment]:
    """`solid`, `half` molten, `ready` (heat still on), `look` (stopped, proved off)."""
    hand = knowing(start_c=450.0, model=as_described(BENCH))
    charged(hand, boosted_melt(mass_kg=0.8))
    found = {}
    _until(hand, lambda s: s["metal"] is not None and s["metal"]["phase"] == "solid")
    found["solid"] = _now(hand)
    _until(hand, lambda s: (s["metal"] or {}).get("quarters") == 2)
    found["half"] = _now(hand)
    _until(hand, lambda s: (s["metal"] or {}).get("ready"))
    found["ready"] = _now(hand)
    hand.stand_in = None
    hand.stop()
    _until(hand, lambda s: s["pour"]["stage"] == "look" and s["pour"]["to_in_s"] is not None)
    found["look"] = _now(hand)
    return found


def _until(hand: FurnaceAtHand, so: Any) -> None:
    while not so(hand.shown()) and hand.now_s < LONGEST_S:
        hand.wait(5.0)
    assert so(hand.shown())


def _now(hand: FurnaceAtHand) -> Moment:
    labels = {"utc_ms": BEGAN_UTC_MS + round(hand.now_s * 1000), "boot": "b1", "run": "r1", "version": "0"}
    shown = {**hand.shown(), **labels}
    shown["firing"] = {**shown["firing"], "started_utc_ms": BEGAN_UTC_MS}
    return Moment(shown, hand.furnace.state)
