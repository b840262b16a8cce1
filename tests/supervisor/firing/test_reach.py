"""Who can be told: what proves it, what takes the proof away, and that no heat hangs on it."""

from collections.abc import Callable

import pytest

from supervisor.firing import commands as c
from supervisor.firing.reach import GOOD_FOR_MS, MESSENGER_SILENT_S, Reach, remember
from supervisor.logbook.records import CommandRow, EventRow
from tests.supervisor.firing.telling import ADA, BEN, DAY_MS, NOON_MS, confirm, proved, report_contacts, tell
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, furnace_at_hand, running


def firing() -> FurnaceAtHand:
    return running(bake(to_c=600.0))


def told(hand: FurnaceAtHand) -> list[dict[str, object]]:
    return [dict(row.detail) for row in hand.records if isinstance(row, EventRow) and row.kind == "told"]


def test_everybody_confirmed_and_lamp_and_sounder_heard_allows_absence() -> None:
    reach = proved(firing()).memory.firing.reach
    assert reach.absence_allowed
    assert reach.why_not == ""


def later(hand: FurnaceAtHand) -> None:
    hand.memory.firing.reach.utc_ms = NOON_MS + GOOD_FOR_MS + 1


def clock_set_back(hand: FurnaceAtHand) -> None:
    hand.memory.firing.reach.utc_ms = NOON_MS - 1


def clock_lost(hand: FurnaceAtHand) -> None:
    hand.memory.firing.reach.utc_ms = None


def clock_lost_since_an_earlier_run(hand: FurnaceAtHand) -> None:
    clock_lost(hand)
    for known in hand.memory.firing.reach.known.values():
        known.confirmed_s = None


def messenger_gone(hand: FurnaceAtHand) -> None:
    hand.memory.firing.reach.real_s += MESSENGER_SILENT_S + 1.0


def another_address(hand: FurnaceAtHand) -> None:
    report_contacts(hand, ADA._replace(key="another"), BEN)


def file_broken(hand: FurnaceAtHand) -> None:
    report_contacts(hand, ADA, BEN, trouble="alerts.toml is not TOML.")


def nobody_first(hand: FurnaceAtHand) -> None:
    report_contacts(hand, BEN)


def not_delivered(hand: FurnaceAtHand) -> None:
    tell(hand, c.Telling.FAILED, contact="Ben", note="an alarm: no answer")


def test_a_test_that_one_address_did_not_take_ends_it() -> None:
    hand = proved(firing())
    tell(hand, c.Telling.TESTED, contact="Ada", code="0" * 64, note="json://… (a1b2): no answer")
    assert "The last message to Ada did not go through." in hand.memory.firing.reach.why_not


def another_start(hand: FurnaceAtHand) -> None:
    hand.stop()
    hand.wait(5.0)
    hand.start(bake(to_c=600.0))


@pytest.mark.parametrize(
    ("happens", "why"),
    [
        (later, "Ada has not confirmed a test message within 30 days."),
        (clock_set_back, "Ada has not confirmed"),
        (clock_lost_since_an_earlier_run, "The clock is not to be trusted"),
        (messenger_gone, "The messenger does not run"),
        (another_address, "Ada has not confirmed"),
        (file_broken, "alerts.toml is not TOML."),
        (nobody_first, "No first contact is named"),
        (not_delivered, "The last message to Ben did not go through."),
        (another_start, "lamp and sounder"),
    ],
)
def test_absence_is_not_allowed_any_more(happens: Callable[[FurnaceAtHand], None], why: str) -> None:
    hand = proved(firing())
    happens(hand)
    assert why in hand.memory.firing.reach.why_not
    assert not hand.memory.firing.reach.absence_allowed
    assert hand.shown()["reach"]["why_not"] == hand.memory.firing.reach.why_not


def test_without_a_clock_only_what_this_run_has_seen_confirmed_counts_and_for_thirty_days() -> None:
    hand = proved(firing())
    clock_lost(hand)
    reach = hand.memory.firing.reach
    assert reach.absence_allowed
    reach.real_s = reach.reported_s = GOOD_FOR_MS / 1000.0 + 1.0
    assert "The clock is not to be trusted" in reach.why_not


def test_a_delivered_message_ends_the_doubt_of_one_that_was_not() -> None:
    hand = proved(firing())
    not_delivered(hand)
    tell(hand, c.Telling.DELIVERED, contact="Ben", note="an alarm")
    assert hand.memory.firing.reach.absence_allowed


def test_a_code_confirms_once() -> None:
    hand = furnace_at_hand()
    report_contacts(hand)
    assert confirm(hand, "Ada").sentence == "Ada has confirmed a test message."
    assert not tell(hand, c.Telling.CONFIRMED, code="2A3B4C").accepted


def test_five_wrong_codes_make_the_right_one_void() -> None:
    hand = furnace_at_hand()
    report_contacts(hand)
    assert confirm(hand, "Ada").accepted
    tell(hand, c.Telling.TESTED, contact="Ben", code=hand.memory.firing.reach.of("Ben").code_sha256 or "0" * 64)
    for _ in range(5):
        assert not tell(hand, c.Telling.CONFIRMED, code="999999").accepted
    assert not hand.shown()["reach"]["contacts"][1]["code_waits"]


def test_a_code_is_void_after_a_day() -> None:
    hand = furnace_at_hand()
    report_contacts(hand)
    hand.memory.firing.reach.real_s = -86_401.0
    tell(hand, c.Telling.TESTED, contact="Ada", code="0" * 64)
    hand.memory.firing.reach.real_s = 0.0
    assert not confirm_only(hand)


def confirm_only(hand: FurnaceAtHand) -> bool:
    return tell(hand, c.Telling.CONFIRMED, code="2A3B4C").accepted


def test_a_test_of_somebody_unknown_is_refused_with_the_names_that_are_known() -> None:
    hand = furnace_at_hand()
    report_contacts(hand)
    answer = tell(hand, c.Telling.TEST, contact="Cy")
    assert answer.sentence == "contact is 'Cy'; allowed: Ada, Ben."


def test_no_test_is_begun_without_a_messenger() -> None:
    hand = furnace_at_hand()
    report_contacts(hand)
    messenger_gone(hand)
    assert "does not run" in tell(hand, c.Telling.TEST, contact="Ada").sentence


def test_what_the_next_run_must_know_is_an_event_and_the_rest_is_not() -> None:
    hand = furnace_at_hand()
    for _ in range(3):
        report_contacts(hand)
    confirm(hand, "Ada")
    not_delivered(hand)
    assert [row["what"] for row in told(hand)] == ["contacts", "tested", "confirmed", "not delivered"]
    assert not any(isinstance(row, CommandRow) for row in hand.records)
    assert "2A3B4C" not in str(hand.records)


def test_the_next_run_knows_from_the_events_alone() -> None:
    hand = furnace_at_hand()
    report_contacts(hand)
    for name in ("Ada", "Ben"):
        confirm(hand, name)
    not_delivered(hand)
    again = Reach(contacts=(ADA, BEN), utc_ms=NOON_MS + DAY_MS, reported_s=0.0)
    for row in told(hand):
        remember(again, row)
    assert [again.confirmed(contact) for contact in (ADA, BEN)] == [True, True]
    assert "The last message to Ben did not go through." in again.why_not


def test_a_confirmation_without_a_trusted_clock_counts_for_nothing() -> None:
    hand = furnace_at_hand()
    report_contacts(hand)
    clock_lost(hand)
    assert confirm(hand, "Ada").accepted
    hand.memory.firing.reach.utc_ms = NOON_MS
    assert "Ada has not confirmed" in hand.memory.firing.reach.why_not


def test_lamp_and_sounder_are_heard_in_a_firing_alone() -> None:
    assert not tell(furnace_at_hand(), c.Telling.HEARD).accepted


EVERYTHING: list[tuple[c.Telling, dict[str, object]]] = [
    (c.Telling.CONTACTS, {"contacts": (ADA,)}),
    (c.Telling.CONTACTS, {"note": "alerts.toml is not TOML."}),
    (c.Telling.TEST, {"contact": "Ada"}),
    (c.Telling.TESTED, {"contact": "Ada", "code": "0" * 64, "note": "no answer"}),
    (c.Telling.CONFIRMED, {"code": "2A3B4C"}),
    (c.Telling.DELIVERED, {"contact": "Ada", "note": "an alarm"}),
    (c.Telling.FAILED, {"contact": "Ada", "note": "an alarm"}),
    (c.Telling.HEARD, {}),
]


def made(state: str) -> FurnaceAtHand:
    hand = furnace_at_hand() if state == "stopped" else firing()
    if state == "held":
        hand.send(c.Hold(hand.by()))
        hand.wait(2.0)
    report_contacts(hand)
    return hand


@pytest.mark.parametrize("state", ["stopped", "running", "held"])
def test_nothing_that_is_told_changes_what_heats(state: str) -> None:
    hand, other = made(state), made(state)
    for what, fields in EVERYTHING:
        tell(hand, what, **fields)
        other.turn()
        for each in (hand, other):
            each.wait(10.0)
        assert hand.relay_on_s == other.relay_on_s, what
        assert hand.state is other.state, what
        assert hand.memory.firing.setpoint_c == other.memory.firing.setpoint_c, what


def test_a_failing_messenger_is_an_advice_and_heat_goes_on() -> None:
    hand = firing()
    report_contacts(hand)
    messenger_gone(hand)
    hand.wait(5.0)
    alarm = next(alarm for alarm in hand.shown()["alarms"] if alarm["watch"] == "messages-fail")
    assert alarm["priority"] == 3
    assert alarm["evidence"] == "the messenger does not run"
    assert hand.state.value == "running"
    before_s = hand.relay_on_s
    hand.wait(60.0)
    assert hand.relay_on_s > before_s
