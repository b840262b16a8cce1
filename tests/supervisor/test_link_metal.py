"""What the snapshot says of a melt that is followed: the real cycle on the simulated furnace, in virtual time."""

import json
import re
from itertools import pairwise
from typing import Any, NamedTuple

import pytest

from supervisor.firing import commands as c
from supervisor.firing.presses import Asked
from supervisor.firing.states import State
from tests.supervisor.firing.knowing import boosted_melt, charged, knowing
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, melt, running

Shown = dict[str, Any]

EVERY_S = 5.0
NUMBERS = ("c", "low_c", "high_c", "about_c", "band_k", "share_low", "share_molten", "share_high", "quarters")


class Seen(NamedTuple):
    """A snapshot, and the hour that it promises, on the clock of the furnace."""

    shown: Shown
    sentence: str
    promise_s: float | None


def see(hand: FurnaceAtHand) -> Seen:
    shown = hand.shown()
    headline = shown["headline"]
    sentence = " ".join(part for part in (headline["before"], headline["key"], headline["after"]) if part)
    return Seen(shown, sentence, None if headline["in_s"] is None else hand.now_s + headline["in_s"])


def until_ready(hand: FurnaceAtHand) -> list[Seen]:
    """Everything shown until the metal is likely ready, or for an hour and a half."""
    seen = [see(hand)]
    while not (seen[-1].shown["metal"] or {}).get("ready") and hand.now_s < 5400.0:
        hand.wait(EVERY_S)
        seen.append(see(hand))
    return seen


@pytest.fixture(scope="module")
def followed() -> list[Seen]:
    """What was shown of a melt of 2 kg from its start, cold, until it is likely ready."""
    hand = knowing()
    charged(hand, boosted_melt())
    return until_ready(hand)


@pytest.fixture
def ready() -> FurnaceAtHand:
    """A small melt in a warm furnace, likely ready, with nobody there from now on."""
    hand = knowing(start_c=550.0)
    charged(hand, boosted_melt(mass_kg=0.8))
    assert until_ready(hand)[-1].shown["metal"]["ready"]
    hand.stand_in = None
    return hand


def test_every_snapshot_is_plain_json(followed: list[Seen]) -> None:
    for seen in followed:
        assert json.loads(json.dumps(seen.shown, allow_nan=False)) == seen.shown


def test_every_headline_of_the_melt_is_short_and_orders_no_hands(followed: list[Seen]) -> None:
    for sentence in {seen.sentence for seen in followed}:
        assert len(sentence.split()) <= 20, sentence
        assert not re.search(r"all molten now|pour now|open the lid|\badd\b|\bskim\b", sentence.lower())
        assert "look and dip" not in sentence  # the contactor was never open
    for seen in followed:
        assert len(seen.shown["headline"]["key"].replace("{hour}", "15:06").removesuffix(" °C")) <= 8


def test_the_share_goes_through_the_quarters_and_the_promise_stands(followed: list[Seen]) -> None:
    told = [seen for seen in followed if "pour likely from {hour} give or take" in seen.sentence]
    words = list(dict.fromkeys(seen.sentence.split(",")[0] for seen in told))
    expected = ["All solid", "Likely still solid", "Beginning to melt", "About a quarter molten", "About half molten"]
    assert words[:5] == expected
    assert "About three quarters molten" in words
    promises = [seen.promise_s for seen in told if seen.promise_s is not None]
    moves = [abs(after - before) for before, after in pairwise(promises)]
    assert all(move <= 1.0 or move > 100.0 for move in moves)  # it stands, or it moves by much
    assert sum(move > 1.0 for move in moves) <= 3


def test_a_chamber_above_the_metals_target_is_said_to_be_boosted(followed: list[Seen]) -> None:
    boosted = [seen for seen in followed if "Chamber boosted to 800 °C." in seen.sentence]
    assert boosted
    assert all(seen.shown["boost"]["on"] and seen.shown["hot_junction"]["c"] > 740.0 for seen in boosted)


def test_the_countdown_ends_in_nearly_there_and_then_likely_ready(followed: list[Seen]) -> None:
    order = [seen.sentence for seen in followed]
    nearly = next(i for i, sentence in enumerate(order) if "nearly there" in sentence)
    assert all("nearly there" in sentence or "Press the button" in sentence for sentence in order[nearly:-1])
    assert order[-1] == "Likely ready. Before anybody looks: heat off and proved."
    assert followed[-1].shown["metal"]["minutes"] is None


def test_the_metal_is_said_no_finer_than_it_is_known(followed: list[Seen]) -> None:
    for seen in followed:
        metal = seen.shown["metal"]
        if metal is None:
            continue
        assert metal["low_c"] <= metal["c"] <= metal["high_c"]
        assert metal["about_c"] - metal["band_k"] <= metal["low_c"]
        assert metal["about_c"] + metal["band_k"] >= metal["high_c"]


def test_the_boost_is_shown_as_what_it_is_and_why_it_ended(followed: list[Seen]) -> None:
    boosts = [seen.shown["boost"] for seen in followed]
    assert boosts[0]["why"].startswith("Not yet: ")
    assert {"on": True, "cap_c": 800.0, "why": ""} in boosts
    assert boosts[-1]["why"].startswith("Ended: ")
    assert not boosts[-1]["on"]


def test_model_and_forecast_stand_in_the_snapshot(followed: list[Seen]) -> None:
    shown = followed[0].shown
    assert (shown["model"]["learned_from"], shown["model"]["boost"]) == (3, "")
    forecast = shown["forecast"]
    assert forecast["learned"]
    assert forecast["minutes"]["low"] < forecast["minutes"]["likely"] < forecast["minutes"]["high"]
    assert forecast["give_min"] >= forecast["minutes"]["high"] - forecast["minutes"]["likely"]
    assert shown["forecast"] == followed[-1].shown["forecast"]  # frozen at the start


def test_what_is_expected_is_drawn_ahead_up_to_the_pour(followed: list[Seen]) -> None:
    metal = next(seen.shown["metal"] for seen in followed if "half molten" in seen.sentence)
    times, values = zip(*metal["ahead"], strict=True)
    assert list(times) == sorted(times)
    assert times[0] >= 0
    assert times[-1] <= 60 * metal["minutes"]["high"]
    assert values[-1] > values[0] > 600.0


def test_hands_are_only_asked_once_the_contactor_reads_open(ready: FurnaceAtHand) -> None:
    ready.furnace.lid(open=True)
    seen = set()
    for _ in range(80):
        ready.turn()
        shown = ready.shown()
        prompted = "look and dip" in see(ready).sentence
        assert not prompted or shown["heat"]["off"] == "proved"
        seen.add(prompted)
    assert seen == {False, True}
    assert see(ready).sentence == "Heat off, proved. Likely ready: look and dip, then decide."


def test_the_prompt_stands_after_a_stop_while_the_metal_is_hot_enough(ready: FurnaceAtHand) -> None:
    ready.stop()
    ready.run_until(lambda: ready.state is State.STOPPED, 10.0)
    assert see(ready).sentence == "Heat off, proved. Likely ready: look and dip, then decide."
    ready.run_until(lambda: not (ready.shown()["metal"] or {"ready": False})["ready"], 3600.0)
    ready.wait(30.0)  # until it is reckoned when it freezes
    assert "Stopped: off, proved; may be liquid. Decide by {hour}" in see(ready).sentence


def test_any_finding_withdraws_the_prompt_within_a_second(ready: FurnaceAtHand) -> None:
    ready.furnace.lid(open=True)
    ready.run_until(lambda: "look and dip" in see(ready).sentence, 20.0)
    ready.inject("sensor_open")
    ready.run_until(lambda: bool(ready.alarms()), 10.0)
    ready.wait(1.0)
    assert "look and dip" not in see(ready).sentence
    assert not (ready.shown()["metal"] or {"ready": False})["ready"]


def test_a_doubt_leaves_no_number_of_the_metal(ready: FurnaceAtHand) -> None:
    ready.memory.adviser.doubt = "The reading does not follow the power."
    shown = ready.shown()
    assert [shown["metal"][name] for name in NUMBERS] == [None] * len(NUMBERS)
    assert (shown["metal"]["minutes"], shown["metal"]["pour_in_s"], shown["metal"]["ahead"]) == (None, None, [])
    assert not shown["metal"]["ready"]
    said = see(ready).sentence  # whether the profile waits for a word by now or not
    assert not any(word in said.lower() for word in ("ready", "look", "dip", "quarter", "pour"))
    assert "Stay" in said


def test_a_pour_that_is_noted_ends_what_is_said_of_the_metal(ready: FurnaceAtHand) -> None:
    assert ready.note(c.NoteKind.POUR).accepted
    ready.wait(3.0)
    assert ready.shown()["metal"] is None


def test_a_mass_in_doubt_is_asked_with_what_it_heats_like_and_shows_no_number() -> None:
    hand = knowing()
    charged(hand, boosted_melt(), really_kg=1.0)
    hand.stand_in = None
    hand.run_until(lambda: hand.asked is Asked.MASS, 3600.0)
    shown = hand.shown()
    assert re.fullmatch(r"Weighed 2\.00 kg, heats like [01]\.\d kg\. What is in the pot\?", see(hand).sentence)
    assert "K above what 2.00 kg should give" in shown["mass_doubt"]["evidence"]
    assert shown["question"]["sentence"] == "If the mass is as entered: press the button at the furnace."
    assert shown["metal"]["c"] is None
    assert shown["mass_doubt"]["evidence"] in shown["metal"]["doubt"]
    assert hand.note(c.NoteKind.MASS, mass_kg=1.0).accepted
    hand.wait(30.0)
    assert hand.shown()["mass_doubt"] is None
    assert hand.shown()["metal"]["c"] is not None


def test_without_metal_nothing_is_said_of_it() -> None:
    hand = running(bake(to_c=200.0), start_c=20.0)
    hand.wait(30.0)
    shown = hand.shown()
    assert shown["metal"] is None
    assert shown["boost"] == {"on": False, "cap_c": None, "why": ""}


def test_a_furnace_that_nothing_is_learned_of_says_so() -> None:
    hand = running(melt(), start_c=530.0)
    assert hand.shown()["model"] is None
    hand.answer_everything()
    hand.run_until(lambda: hand.memory.firing.run is not None and not hand.memory.firing.run.gate.shut, 120.0)
    hand.wait(2.0)
    assert see(hand).sentence.endswith("Stay: nothing is learned of this furnace yet.")
    assert hand.shown()["boost"]["why"].startswith("Not yet: ")
