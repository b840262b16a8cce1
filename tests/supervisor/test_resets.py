"""What a reset at the furnace asks: who looked, a press, and a proof of what had failed. Seen across restarts."""

import pytest

from supervisor.firing import commands as c
from supervisor.firing.aftermath import REACTIONS, Part, part_of
from supervisor.firing.presses import Asked
from supervisor.firing.states import State
from tests.supervisor.furnace_at_hand import bake
from tests.supervisor.restarted import Kept, looked_at, tripped


def stuck(kept: Kept) -> Kept:
    """A trip that says keep away, whose cause was mended afterwards."""
    kept.start(bake())
    kept.inject("contactor_welded")
    kept.stop()
    kept.run_until(lambda: "contactor-stuck" in kept.alarms(), 5.0)
    kept.furnace.mend("contactor_welded")
    kept.run_until(lambda: kept.state is State.ABORTED, 5.0)
    return kept


@pytest.mark.parametrize("restarted", [False, True])
def test_a_trip_that_says_keep_away_asks_who_looked_and_what_was_seen(kept: Kept, *, restarted: bool) -> None:
    stuck(kept)
    if restarted:
        kept.restart()
        kept.wait(1.0)
    assert kept.shown()["reset_needs"] == ["found", "looked", "seen"]
    refused = kept.send(c.Reset(kept.by(), "it was welded"))
    assert not refused.accepted
    assert "who looked" in refused.sentence
    assert not kept.send(c.Reset(kept.by(), "it was welded", looked="Ada")).accepted
    assert kept.send(c.Reset(kept.by(), "it was welded", "Ada", "tips burnt, contactor changed")).accepted
    kept.run_until(lambda: kept.asked is Asked.RESET, 5.0)
    kept.hold_button()
    assert not kept.memory.alarms.latched
    (row,) = kept.events("reset")
    assert (row.detail["looked"], row.detail["seen"]) == ("Ada", "tips burnt, contactor changed")
    assert row.detail["to_prove"] == ["contactor"]
    assert row.where == "furnace"


@pytest.mark.parametrize("where", ["page", "command line", "furnace", "local terminal"])
def test_no_reset_works_without_the_edges_of_the_button(kept: Kept, where: str) -> None:
    tripped(kept)
    kept.begin()
    kept.wait(1.0)
    for _ in range(3):
        assert kept.send(c.Reset(c.By(where, where, where), "looked at")).accepted  # asks, and replaces nothing
        kept.wait(1.0)
        kept.furnace.press(1.0)  # too short
        kept.wait(63.0)
        assert kept.memory.alarms.latched
        assert kept.shown()["left_open"] is not None
    kept.furnace.inject("button_stuck")
    assert kept.send(c.Reset(c.By(where, where, where), "taped")).accepted
    kept.wait(70.0)
    assert kept.memory.alarms.latched


def test_a_press_before_the_question_or_without_what_was_found_resets_nothing(kept: Kept) -> None:
    tripped(kept)
    kept.begin()
    kept.wait(1.0)
    assert not kept.send(c.Reset(kept.by(), "  ")).accepted
    kept.hold_button()
    assert kept.memory.alarms.latched
    kept.furnace.press(12.0)
    kept.wait(1.0)
    assert kept.send(c.Reset(kept.by(), "looked at")).accepted  # the button is held while it is asked
    kept.wait(14.0)
    assert kept.memory.alarms.latched


@pytest.mark.parametrize("watch", sorted(name for name, reaction in REACTIONS.items() if reaction.latch))
def test_every_trip_about_relay_contactor_sensor_or_limiter_names_what_has_to_be_proved(watch: str) -> None:
    of_none = {
        "supply-lost", "emergency-stop", "loop-late", "samples-stale", "nobody-there", "tray-wet",
    }  # fmt: skip
    assert part_of(watch) is not None or watch in of_none, watch


def test_the_limiter_is_proved_by_its_line_after_its_trip(kept: Kept) -> None:
    kept.start(bake())
    kept.furnace.trip_limiter()
    kept.run_until(lambda: kept.state is State.ABORTED, 5.0)
    kept.restart()  # what was seen of the line is forgotten with the program
    kept.furnace.limiter_reset()
    kept.wait(2.0)
    looked_at(kept)
    assert kept.memory.firing.to_prove == {Part.LIMITER}
    assert "limiter proved" in kept.unmet()
    kept.restart()
    kept.wait(2.0)
    assert "limiter proved" in kept.unmet()
    kept.furnace.trip_limiter()
    kept.wait(3.0)
    kept.furnace.limiter_reset()
    kept.wait(3.0)
    assert "limiter proved" not in kept.unmet()


def test_relay_and_contactor_are_proved_by_the_next_start_test(kept: Kept) -> None:
    stuck(kept)
    assert kept.send(c.Reset(kept.by(), "welded", "Ada", "changed")).accepted
    kept.run_until(lambda: kept.asked is Asked.RESET, 5.0)
    kept.hold_button()
    kept.restart()
    kept.wait(2.0)
    assert kept.memory.firing.to_prove == {Part.CONTACTOR}
    (proof,) = [row for row in kept.shown()["permissives"] if row["name"] == "relay and contactor proved"]
    assert proof["met"]
    assert "start test" in proof["reason"]
    kept.memory.firing.cold_checked = True
    kept.start(bake(), charged=False)
    assert kept.memory.firing.to_prove == frozenset()
    kept.stop()
    kept.run_until(lambda: kept.state is State.STOPPED, 5.0)
    kept.restart()
    assert kept.memory.firing.to_prove == frozenset()
