"""What people read of an alarm: complete, honest about heat, and nothing that sends hands into a hot chamber."""

import re

import pytest

from supervisor.alarms.texts import TEXTS
from supervisor.alarms.texts_chain import CHAIN
from supervisor.alarms.texts_heat import HEAT
from supervisor.alarms.texts_people import PEOPLE
from supervisor.watches import WATCHES

ALARMS = sorted(name for name, text in TEXTS.items() if text.priority)

# Only `alarms.proved` knows whether heat is off. A text may say what was ordered or told, never what is so.
CLAIMS_OFF = re.compile(
    r"\b(heat|power|current|element|furnace|everything|relay|contactor|it)\b"
    r"(?: \w+)? (?:is|are|was|were|has been|went|stays) (?:now )?(?:off|cut|open|dead|out|gone)\b"
    r"|\bno (?:heat|power|current) (?:now|any more)\b|\bheat off\b|\bswitched (?:everything )?off\b|\bcut heat\b",
    re.IGNORECASE,
)
HANDS_IN = re.compile(
    r"\b(open the lid|lift the lid|take out|pull out|reach in|push (?:it|the probe)|stir|skim|pour|add metal|touch)\b",
    re.IGNORECASE,
)
WIRES = re.compile(r"\b(relay|element|contactor|fuse|board|circuit|connector|plug|24 V|lead|wire)s?\b", re.IGNORECASE)
LOOKS_INSIDE = re.compile(r"\blook (?:at|how|where|for)\b", re.IGNORECASE)


def whole(name: str) -> str:
    text = TEXTS[name]
    return f"{text.sentence} {text.consequence} {text.act}"


# Told by the lifecycle, by the loop and by what an earlier run left; no watch looks for these.
WITHOUT_WATCH = {"alarm-chatters", "supervisor", "trip-left", "cut-short", "begun-too-often", "past-unknown"}


def test_every_watch_has_its_text_and_no_text_is_left_over() -> None:
    assert {watch.id for watch in WATCHES} | WITHOUT_WATCH == TEXTS.keys()


def test_no_text_is_written_twice() -> None:
    assert len(HEAT) + len(CHAIN) + len(PEOPLE) == len(TEXTS)


@pytest.mark.parametrize("name", sorted(TEXTS))
def test_every_text_says_what_is_looked_for_and_what_was_found(name: str) -> None:
    text = TEXTS[name]
    assert text.title
    assert not text.title.endswith(".")
    assert text.sentence.endswith(".")
    assert text.priority in (0, 1, 2, 3)
    assert text.about in ("furnace", "machine", "people")


@pytest.mark.parametrize("name", ALARMS)
def test_every_alarm_says_what_comes_of_it_what_to_do_and_in_what_time(name: str) -> None:
    text = TEXTS[name]
    assert text.consequence.endswith(".")
    assert text.act.endswith((".", "?"))
    assert text.act_within_s > 0.0
    if text.priority < 3:
        assert text.act_within_s <= 600.0


@pytest.mark.parametrize("name", ALARMS)
def test_what_a_frightened_person_reads_is_short(name: str) -> None:
    for part in TEXTS[name][1:4]:
        for sentence in re.split(r"(?<=[.?!]) ", str(part)):
            assert len(sentence.split()) <= 26, sentence


@pytest.mark.parametrize("name", sorted(TEXTS))
def test_no_text_says_that_heat_is_off(name: str) -> None:
    text = TEXTS[name]
    for said in (text.sentence, text.consequence, text.act):
        assert not CLAIMS_OFF.search(said), said


@pytest.mark.parametrize(
    "claim",
    ["Heat is off.", "The heat was cut.", "It switched everything off.", "The contactor is open now.", "Heat off."],
)
def test_the_check_knows_a_claim_when_it_sees_one(claim: str) -> None:
    assert CLAIMS_OFF.search(claim)


@pytest.mark.parametrize("name", ALARMS)
def test_no_act_asks_for_hands_in_a_hot_chamber(name: str) -> None:
    for sentence in re.split(r"(?<=[.?!]) ", TEXTS[name].act):
        if HANDS_IN.search(sentence):
            assert re.search(r"\b(cold|no|nothing|not|never)\b", sentence, re.IGNORECASE), sentence


@pytest.mark.parametrize("name", ALARMS)
def test_whoever_is_sent_to_wires_has_the_supply_isolated(name: str) -> None:
    act = TEXTS[name].act
    for sentence in re.split(r"(?<=[.?!]) ", act):
        if LOOKS_INSIDE.search(sentence) and WIRES.search(sentence):
            assert re.search(r"suppl(y|ies) isolated|licensed|computer", sentence), sentence


@pytest.mark.parametrize("name", [name for name in ALARMS if TEXTS[name].act_within_s <= 60.0])
def test_an_act_of_the_next_minute_keeps_people_away_or_sends_them_to_breaker_or_lid(name: str) -> None:
    assert re.search(r"away|breaker|clear|lid shut|look at the furnace", TEXTS[name].act)


@pytest.mark.parametrize("name", ALARMS)
def test_where_the_element_may_be_live_the_breaker_is_named(name: str) -> None:
    if "may be live" in whole(name):
        assert "breaker" in TEXTS[name].act
        assert TEXTS[name].priority == 1


def test_all_three_priorities_are_used() -> None:
    assert {TEXTS[name].priority for name in ALARMS} == {1, 2, 3}
