"""A furnace whose owner may go away: it has learned, somebody outside can be told, and a page follows."""

from dataclasses import replace

from supervisor.firing import commands as c
from supervisor.firing.attendance import Periods
from supervisor.firing.presses import Asked
from supervisor.firing.reach import Contact, Known, Reach
from supervisor.model.learned import Model
from tests.supervisor.firing.knowing import as_described
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, bake, melt, running

SHORT = replace(BENCH, attendance=Periods(heating_s=400.0, hot_s=200.0, hands_s=120.0))
"""The bench with times between signs that a test can wait for."""

NOON_MS = 1_767_268_800_000


def may_go_away(hand: FurnaceAtHand, model: Model | None = None) -> FurnaceAtHand:
    """A first contact has confirmed a test message, lamp and sounder were heard at this start."""
    ada = Contact("Ada", "first", ("invented",), (), "key")
    known = {"Ada": Known(confirmed_key="key", confirmed_utc_ms=NOON_MS)}
    hand.memory.firing.reach = Reach((ada,), "", known, heard=True, utc_ms=NOON_MS, reported_s=0.0)
    hand.memory.firing.readers = 1
    hand.memory.firing.adviser.model = model or as_described(BENCH)
    return hand


def pages_go(hand: FurnaceAtHand) -> None:
    """The last page is closed, or the network is down."""
    hand.memory.firing.readers, hand.memory.firing.readers_gone_s = 0, hand.now_s


def pages_come(hand: FurnaceAtHand) -> None:
    """A page is open again."""
    hand.memory.firing.readers, hand.memory.firing.readers_gone_s = 1, None


def tap(hand: FurnaceAtHand, *, wrong: bool = False, stale: bool = False) -> c.Answer:
    """Somebody with the page taps a range, as the snapshot offers it."""
    task = hand.shown()["attendance"]["task"]
    if task is None:
        return hand.send(c.Attend(hand.by(), 0, 0))
    here = next(each["choice"] for each in task["choices"] if each["low_c"] <= hand.reading_c < each["high_c"])
    choice = (here + 1) % len(task["choices"]) if wrong else here
    return hand.send(c.Attend(hand.by(), task["number"] - stale, choice))


def stage(hand: FurnaceAtHand) -> str:
    return str(hand.shown()["attendance"]["stage"])


def due_in_s(hand: FurnaceAtHand) -> float:
    due_s = hand.shown()["attendance"]["due_s"]
    assert due_s is not None
    return float(due_s - hand.now_s)


def baking(*, start_c: float = 300.0, to_c: float = 500.0) -> FurnaceAtHand:
    """A firing without metal, slow and long, whose owner may go away."""
    return may_go_away(running(bake(to_c=to_c, rate_c_per_h=60.0), start_c=start_c, described=SHORT))


def asked(hand: FurnaceAtHand) -> FurnaceAtHand:
    hand.run_until(lambda: hand.shown()["attendance"]["task"] is not None, 900.0)
    return hand


def at_the_gate() -> FurnaceAtHand:
    hand = may_go_away(running(melt(), start_c=540.0, described=SHORT))
    hand.run_until(lambda: hand.asked is Asked.GATE, 300.0)
    return hand
