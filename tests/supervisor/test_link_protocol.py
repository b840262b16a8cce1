"""What lines of the link mean, and what is refused."""

import json
from sys import getrecursionlimit
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from supervisor.firing.commands import Adopt, Command, Hold, Lower, Note, Prepare, Raise, Reset, Resume, Start, Stop
from supervisor.firing.profile import Profile
from supervisor.link.fields import BadMessage
from supervisor.link.protocol import LONGEST_LINE, Look, understand
from supervisor.model.learned import Model, Spread
from supervisor.model.reduced import FACTORS

PROFILE = Profile("Dry", (), 300.0, None, 3600.0, None, "text")


def read_profile(text: str) -> Profile:
    if text != "text":
        raise ValueError("segments is missing; allowed: at least one.")
    return PROFILE


def told(**fields: Any) -> Command | Look:
    message = {"v": 1, "id": "a1", "who": "Ada", "where": "page", **fields}
    return understand(json.dumps(message).encode(), "user 1000", read_profile)


def said(line: bytes) -> Command | Look:
    return understand(line, "user 1000", read_profile)


START = {
    "command": "start",
    "epoch": 3,
    "profile": "Dry",
    "mass_kg": None,
    "top_c": 300,
    "longest_s": 3600,
    "allowance_wh": 900,
    "cautions_read": True,
}


def a_model() -> dict[str, Any]:
    """A model that has learned nothing, as it goes over the link."""
    count = len(FACTORS)
    nothing = [0.0] * count
    made: dict[str, Any] = json.loads(
        Model((0.0,) * count, (0.1,) * count, tuple((0.0,) * count for _ in nothing), (3, 4, 5), True,
              {"solid": Spread(0.5, 4.0, 30)}, 20.0, 790.0, "abc", 1_772_366_400_000).to_json()
    )  # fmt: skip
    return made


ADOPT = {"command": "adopt", "model": a_model(), "firing_id": 5, "takes": None, "objections": [], "at_furnace": False}


def test_a_model_comes_out_as_the_core_knows_it() -> None:
    adopt = told(**{**ADOPT, "takes": 2, "objections": ["Power is 92 % of what it was."], "note": "after a firing"})
    assert isinstance(adopt, Adopt)
    assert adopt.model == Model.from_json(json.dumps(a_model()))
    assert (adopt.firing_id, adopt.takes, adopt.ask, adopt.against) == (5, 2, False, {})
    assert (adopt.objections, adopt.note) == (("Power is 92 % of what it was.",), "after a firing")


def test_a_model_with_a_number_that_is_none_is_refused() -> None:
    spoilt = a_model()
    spoilt["factors"]["loss"]["log"] = None
    with pytest.raises(BadMessage, match="model cannot be used"):
        told(**{**ADOPT, "model": spoilt})


@pytest.mark.parametrize(
    ("name", "number"), [("made_utc_ms", "1e999"), ("learned_from", "[1e999]"), ("log", "1000"), ("log", "-1000")]
)
def test_a_model_with_a_number_that_no_furnace_has_is_refused(name: str, number: str) -> None:
    """Such a model was taken, and reckoning with it ended link or loop."""
    spoilt = a_model()
    (spoilt["factors"]["power"] if name == "log" else spoilt)[name] = "here"
    message = {"v": 1, "id": "a1", "who": "Ada", **ADOPT, "model": spoilt}
    with pytest.raises(BadMessage, match="model cannot be used"):
        said(json.dumps(message).replace('"here"', number).encode())


def test_however_deep_a_message_is_nested_it_is_refused() -> None:
    """Some are just shallow enough to be read, and too deep to be said again in the refusal."""
    for depth in range(1, getrecursionlimit()):
        with pytest.raises(BadMessage):
            said(b'{"v":1,"id":"a1","command":%b}' % (b"[" * depth + b"]" * depth))


@pytest.mark.parametrize("asked", [{"command": "prepare"}, {"ask": "judge"}, {"ask": "forecast"}])
def test_a_profile_that_would_keep_the_reader_of_its_text_busy_is_refused_unread(asked: dict[str, str]) -> None:
    """Its time grows with the square of a name's parts, and no stop is heard meanwhile."""
    with pytest.raises(BadMessage, match="profile_toml has 58003 letters in line 2; allowed: up to 500"):
        told(**asked, profile_toml="text\n" + "a." * 29_000 + "a=1")


def test_sender_goes_into_the_record_beside_what_the_system_knows_of_it() -> None:
    hold = told(command="hold")
    assert isinstance(hold, Hold)
    assert hold.by == ("a1", "Ada", "page (user 1000)")


def test_every_command_comes_out_in_the_words_of_the_core() -> None:
    assert isinstance(told(command="stop"), Stop)
    assert isinstance(told(command="resume", epoch=3), Resume)
    lower = told(command="lower", by_k=5)
    assert isinstance(lower, Lower)
    assert lower.by_k == 5.0
    higher = told(command="raise", by_k=5, epoch=3)
    assert isinstance(higher, Raise)
    assert higher.epoch == 3
    prepare = told(command="prepare", profile_toml="text", heat_number="A-097")
    assert isinstance(prepare, Prepare)
    assert (prepare.profile, prepare.heat_number) == (PROFILE, "A-097")
    start = told(**START)
    assert isinstance(start, Start)
    assert (start.epoch, start.profile, start.mass_kg, start.top_c) == (3, "Dry", None, 300.0)
    assert (start.longest_s, start.allowance_wh, start.cautions_read, start.drained) == (3600.0, 900.0, True, False)
    looked = told(**START, drained=True)
    assert isinstance(looked, Start)
    assert looked.drained
    reset = told(command="reset", found="The wire was\nloose.")
    assert isinstance(reset, Reset)
    assert reset.found == "The wire was\nloose."
    note = told(command="note", kind="addition", mass_kg=0.4)
    assert isinstance(note, Note)
    assert (note.mass_kg, note.epoch) == (0.4, None)
    assert said(b'{"v":1,"ask":"watch"}') == Look(watch=True)


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"command": "melt"}, 'command is "melt"; allowed: stop, hold, lower, prepare'),
        ({"command": ["hold"]}, 'command is ["hold"]; allowed: stop'),
        ({"command": "hold", "id": ""}, 'id is ""; allowed: one line of text of 1 to 64 characters'),
        ({"command": "hold", "id": "x" * 65}, "allowed: one line of text of 1 to 64"),
        ({"command": "hold", "who": "Ada\x1b[2J"}, "who is"),
        ({"command": "hold", "where": "furnace"}, 'where is "furnace"; allowed: anything but furnace'),
        ({"command": "hold", "force": True}, '"force" is not a field of this command; allowed: v, id, who'),
        ({"command": "hold", "v": 2}, "v is 2; allowed: 1; another version may only look and stop"),
        ({"command": "hold", "v": True}, "v is true"),
        ({"command": "lower", "by_k": 0, "v": 2}, "v is 2"),
        ({"command": "lower", "by_k": 0}, "by_k is 0; allowed: 0.1 to 2000 K"),
        ({"command": "lower", "by_k": -3}, "by_k is -3; allowed"),
        ({"command": "lower", "by_k": True}, "by_k is true; allowed"),
        ({"command": "lower", "by_k": 10**400}, "by_k is 1000"),
        ({"command": "lower"}, "by_k is missing; allowed: 0.1 to 2000 K"),
        ({"command": "resume"}, "epoch is missing; allowed: the epoch of the snapshot that you saw"),
        ({"command": "resume", "epoch": 3.0}, "epoch is 3.0; allowed"),
        ({"command": "raise", "by_k": 5}, "epoch is missing"),
        ({**START, "top_c": "300"}, 'top_c is "300"; allowed: 0 to 2000 °C'),
        ({key: value for key, value in START.items() if key != "mass_kg"}, "mass_kg is missing; allowed: the mass"),
        ({**START, "drained": "yes"}, 'drained is "yes"; allowed: true or false'),
        ({**START, "cautions_read": 1}, "cautions_read is 1; allowed: true or false"),
        ({"command": "prepare", "profile_toml": "x"}, "segments is missing; allowed: at least one."),
        ({"command": "prepare", "profile_toml": "text", "heat_number": "97"}, 'heat_number is "97"; allowed: the furn'),
        ({"command": "note", "kind": "addition"}, "mass_kg is missing; allowed: what went in"),
        ({"command": "note", "kind": "mass"}, "mass_kg is missing; allowed: the whole charge as weighed again"),
        ({**ADOPT, "model": 3}, "model is 3; allowed: an object"),
        ({**ADOPT, "model": {}}, "model cannot be used"),
        ({**ADOPT, "firing_id": 0}, "firing_id is 0; allowed: the number of a firing, or null"),
        ({**ADOPT, "takes": True}, "takes is true; allowed: the number of an earlier model, or null"),
        ({**ADOPT, "objections": "none"}, 'objections is "none"; allowed: a list of at most 50 texts'),
        ({**ADOPT, "objections": [""]}, 'objections is [""]; allowed: a list'),
        ({**ADOPT, "at_furnace": None}, "at_furnace is null; allowed: true or false"),
        ({**ADOPT, "epoch": 3}, '"epoch" is not a field of this command'),
        ({"command": "note", "kind": "dip reading"}, "temperature_c is missing; allowed: what the probe read"),
        ({"command": "note", "kind": "remark"}, "text is missing; allowed: text of 1 to 500 characters"),
        ({"command": "note", "kind": "go on"}, "epoch is missing"),
        ({"command": "note", "kind": "song"}, 'kind is "song"; allowed: addition, skim, dip reading, all molten'),
        ({"command": "reset", "found": " " * 501}, "found is"),
        ({"ask": "everything"}, 'ask is "everything"; allowed: snapshot, watch'),
    ],
)
def test_refusal_names_field_value_and_what_is_allowed(fields: dict[str, Any], sentence: str) -> None:
    with pytest.raises(BadMessage) as refused:
        told(**fields)
    assert sentence in str(refused.value)


@pytest.mark.parametrize(
    "line", [b"hello", b"[]", b"17", b'{"v":1', b'{"v":NaN,"command":"hold"}', b"[" * 9000, b"\xff"]
)
def test_what_is_not_an_object_is_refused(line: bytes) -> None:
    with pytest.raises(BadMessage, match="the message is"):
        said(line)


def test_refusal_keeps_the_id_of_its_sender() -> None:
    with pytest.raises(BadMessage) as refused:
        told(command="melt", id="mine")
    assert refused.value.id == "mine"


def test_lowering_is_not_refused_for_unknown_fields() -> None:
    assert isinstance(told(command="lower", by_k=5, lease="none", sequence=-1), Lower)


@pytest.mark.parametrize(
    "line",
    [
        b'{"command":"stop"}',
        b'{"v":99,"id":17,"who":null,"command":"stop","epoch":-1,"expiry":"1970","force":[]}',
        b'{"v":1,"command" : "stop"',
        b'{"command":"stop","command":"hold"}',
        b'{"ask":"watch","command":"stop"}',
        b'{"command":"st\\u006fp"}',
        b'{"command":"stop","v":NaN}',
        b'{"command":"stop","x":"' + b"x" * LONGEST_LINE + b'"}',
        b'{"command":"stop","who":"\\u001b[2J","where":"furnace"}',
        b'\xff{"command":"stop"}',
    ],
)
def test_stop_is_taken_whatever_else_the_message_holds(line: bytes) -> None:
    stop = said(line)
    assert isinstance(stop, Stop)
    assert stop.by.who.isprintable()
    assert not stop.by.where.startswith("furnace")


def test_words_of_a_person_are_no_stop() -> None:
    remark = told(command="note", kind="remark", text='it said "command":"stop" on the screen')
    assert isinstance(remark, Note)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=12,
)
COMMANDS = ("hold", "prepare", "start", "resume", "acknowledge", "reset", "note", "lower", "raise")
FIELDS = (
    "epoch",
    "profile",
    "mass_kg",
    "by_k",
    "kind",
    "text",
    "found",
    "alarm",
    "top_c",
    "heat_number",
    "profile_toml",
)


def is_request_or_refusal(line: bytes) -> bool:
    """Whatever comes back can be written to the log and to the sender: it has a UTF-8 form."""
    try:
        return bool(repr(said(line)).encode())
    except BadMessage as error:
        return bool(str(error).encode())


@given(st.binary())
def test_no_bytes_end_in_anything_but_a_request_or_a_refusal(line: bytes) -> None:
    assert is_request_or_refusal(line)


@given(st.sampled_from(COMMANDS), st.dictionaries(st.sampled_from(FIELDS), JSON))
@example("note", {"kind": "remark", "text": "a\ud800"})
@example("note", {"kind": "a\ud800"})
def test_no_field_ends_in_anything_but_a_request_or_a_refusal(command: str, fields: dict[str, Any]) -> None:
    message = {"v": 1, "id": "a1", "who": "Ada", "command": command, **fields}
    assert is_request_or_refusal(json.dumps(message).encode())


def test_half_a_letter_is_refused_and_a_whole_one_is_not() -> None:
    with pytest.raises(BadMessage, match="not JSON"):
        told(command="note", kind="remark", text="a\ud800")
    note = told(command="note", kind="remark", text="hot \U0001f525")
    assert isinstance(note, Note)
    assert note.text == "hot \U0001f525"
