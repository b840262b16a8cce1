"""What holds in every turn, whatever a test is about: heat only in its order, and words that are true."""

from collections.abc import Mapping
from typing import Any

from hardware.ports import Level, Outputs, Permit, Sample
from supervisor.cycle import Memory
from supervisor.firing.states import HEATED, State

AT_REST = {State.STOPPED, State.IDLE, State.COMPLETE, State.ABORTING, State.ABORTED}
NEVER_SAID = ("pour now", "all molten", "safe", "guarant", "open the lid", "add metal", "skim now")


def heat_only_in_order(memory: Memory, sample: Sample, outputs: Outputs, pins: Mapping[str, bool]) -> None:
    """Nothing is on at rest or in doubt, the relay only with all that heat asks for; the pins are as ordered."""
    firing, state = memory.firing, memory.firing.state
    if state in AT_REST:
        assert not outputs.relay
        assert not outputs.enable
        assert outputs.permit is Permit.STILL, state
    if outputs.relay:
        assert state in HEATED
        assert outputs.enable
        assert outputs.permit is Permit.TOGGLE
        assert firing.test is None
        assert sample.inputs.lid is not Level.OPEN
        assert memory.belief.reading is not None
        assert memory.alarms.reaction.duty_ceiling > 0.0
    if not memory.belief.time_ok:
        assert outputs.permit is Permit.STILL
        assert not outputs.relay
    assert pins["relay"] == outputs.relay
    assert pins["enable"] == outputs.enable


def says_only_what_is_true(shown: dict[str, Any], sample: Sample, outputs: Outputs) -> None:
    """No order to hands, nothing promised, and 'off' as a fact only while the contactor is proved open."""
    words = [*(shown["headline"][part] for part in ("before", "key", "after")), shown["heat"]["sentence"]]
    sentence = " ".join(words).lower()
    assert not [word for word in NEVER_SAID if word in sentence], sentence
    assert "ready" not in sentence.replace("likely ready", "").replace(" not ready", ""), sentence
    proved = sample.inputs.mirror is Level.CLOSED and not outputs.enable
    assert proved or "look and dip" not in sentence, sentence
    assert shown["heat"]["off"] != "proved" or proved
    if not proved:
        assert "heat is off" not in sentence
        assert not shown["headline"]["key"].startswith("off"), sentence
    assert shown["headline"]["tone"] in {"calm", "stay", "wanted", "act"}
    assert shown["headline"]["key"]
