"""A planned charge takes the place of the one in the profile's file; a heat number is used once."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from supervisor.begin import begin
from supervisor.firing import commands as c
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import FiringOpened
from supervisor.metal.charge import Charge, Planned
from tests.supervisor.furnace_at_hand import WORKSHOP, FurnaceAtHand, furnace_at_hand, melt
from tests.supervisor.logbook import scribe_of

WEIGHED = Charge(1.9, "6082", "solid off-cuts", 585.0, 649.4)


@pytest.fixture
def hand() -> FurnaceAtHand:
    at_hand = furnace_at_hand(start_c=450.0)
    at_hand.wait(1.0)
    return at_hand


def prepare(hand: FurnaceAtHand, planned: Planned, number: str | None = "B-007") -> c.Answer:
    return hand.send(c.Prepare(hand.by(), melt(), number, planned))


def test_what_was_weighed_is_what_is_read_back(hand: FurnaceAtHand) -> None:
    assert prepare(hand, Planned(WEIGHED, 710.0)).accepted
    prepared = hand.memory.firing.prepared
    assert prepared is not None
    assert (prepared.profile.charge, prepared.profile.pour_c) == (WEIGHED, 710.0)


@pytest.mark.parametrize(
    ("charge", "pour_c", "why"),
    [
        (replace(WEIGHED, mass_kg=3.2), 710.0, r"^charge: mass_kg is 3\.2; allowed: above 0 kg, up to 3 kg, what the"),
        (replace(WEIGHED, solidus_c=350.0), 710.0, r"^charge: solidus_c is 350; allowed: 400 to less than 660\.3 °C"),
        (replace(WEIGHED, alloy="unknown"), 710.0, r"^charge: solidus_c is 585; allowed: nothing for unknown metal"),
        (replace(WEIGHED, liquidus_c=560.0), 710.0, r"^charge: liquidus_c is 560; allowed: above 585, up to 700 °C"),
        (replace(WEIGHED, solidus_c=None), 710.0, r"^charge: solidus_c or liquidus_c is missing; allowed: both, or"),
        (WEIGHED, 640.0, r"^charge: pour_c is 640; allowed: 649\.4 °C, where all is liquid, to 7\d\d °C, the highest"),
    ],
)
def test_a_charge_that_cannot_be_is_refused_and_changes_nothing(
    hand: FurnaceAtHand, charge: Charge, pour_c: float, why: str
) -> None:
    answer = prepare(hand, Planned(charge, pour_c))
    assert not answer.accepted
    assert re.search(why, answer.sentence), answer.sentence
    assert hand.memory.firing.prepared is None


def test_a_heat_number_of_an_earlier_firing_is_refused(hand: FurnaceAtHand) -> None:
    hand.memory.firing.heat_numbers.add("B-007")
    answer = prepare(hand, Planned(WEIGHED, 710.0))
    assert answer.sentence == "B-007 is the heat number of an earlier firing; a number is never used twice."
    assert prepare(hand, Planned(WEIGHED, 710.0), "B-008").accepted


def test_heat_numbers_of_the_log_are_known_after_a_restart(hand: FurnaceAtHand, tmp_path: Path) -> None:
    with scribe_of(tmp_path) as scribe:
        for firing_id, number in ((1, "A-096"), (2, None), (3, "A-097")):
            scribe.put([FiringOpened(firing_id, 100.0 * firing_id, "x", number, "x", {"charge": None}, "simulated")])
    with open_log(tmp_path) as log:
        begun = begin(log, WORKSHOP, hand.hardware.sample(), backend="simulated", boot_id="b", utc_ms=1_790_000_000_000)
    assert begun.memory.firing.heat_numbers == {"A-096", "A-097"}
