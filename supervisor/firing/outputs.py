"""Act: what the furnace is told in this cycle. Relay, enable and permit follow from state, test, reaction and doubt."""

from hardware.ports import OFF, Outputs, Permit
from supervisor.alarms import rhythm
from supervisor.firing.attendance import Stage
from supervisor.firing.control import Window
from supervisor.firing.holds import lid_gives_heat_back
from supervisor.firing.power import look_due
from supervisor.firing.presses import Asked, Question
from supervisor.firing.states import HEATED, State
from supervisor.firing.turn import Turn

QUIET_AFTER_S = 15.0
"""A question goes on with the lamp alone."""


def act(turn: Turn, window: Window, *, heat_on_disk: bool) -> Outputs:
    """The outputs of this cycle; in any doubt the relay is off."""
    if turn.furnace.looks_only:
        return OFF
    firing, state = turn.firing, turn.firing.state
    test = firing.test
    permit, enable, relay = Permit.STILL, False, False
    if state is State.STARTING and test is not None and test.failed is None:
        permit, enable = test.permit, test.enable
    elif state in HEATED and (test is None or test.failed is None):
        permit, enable = Permit.TOGGLE, firing.enable or (test is not None and test.enable)
        duty = firing.duty if _may_heat(turn, heat_on_disk=heat_on_disk) else 0.0
        duty = min(duty, turn.duty_ceiling)
        relay = window.relay(0.0 if look_due(turn, duty) else duty) and enable
    elif state is State.STOPPING or state is State.COMPLETING:
        enable = firing.enable  # for as long as current is still seen
        permit = Permit.TOGGLE if enable else Permit.STILL
    if turn.reaction.drop_contactor:
        enable = relay = False
    if not turn.belief.time_ok:
        permit, relay = Permit.STILL, False
    lamp, sounder = _signals(turn)
    return Outputs(relay, enable, permit, lamp, sounder)


def _may_heat(turn: Turn, *, heat_on_disk: bool) -> bool:
    return (
        heat_on_disk
        and turn.firing.enable
        and turn.firing.test is None
        and turn.belief.reading is not None
        and turn.belief.time_ok
        and turn.duty_ceiling > 0.0
    )


def _signals(turn: Turn) -> tuple[bool, bool]:
    """Lamp and sounder by rhythm: long pulses are an alarm, short ticks ask or count.

    While an alarm sounds and a question stands, the lamp asks and the sounder alarms.
    """
    firing, question, now_s = turn.firing, turn.firing.button.question, turn.now_s
    held = question is not None and question.held and firing.button.pressed_since_s is not None
    if held or (firing.state in HEATED and lid_gives_heat_back(turn)):
        return held or rhythm.ticks(now_s), rhythm.ticks(now_s)
    sounds, flashes = turn.alarms.sounding(now_s), turn.alarms.flashing(now_s)
    alarms = sounds is not None and rhythm.sounds(*sounds, now_s)
    due_s = firing.attendance.due_s  # the furnace calls for a sign even while its question cannot be put
    if question is None and (due_s is None or now_s < due_s):
        return flashes is not None and rhythm.flashes(*flashes, now_s), alarms
    alone = sounds is None or sounds.priority == 3  # of low priority: two pulses, and then it is silent
    ticks = alone and _ticks(question, firing.attendance.stage(now_s), now_s) and rhythm.asks_by_sound(now_s)
    return rhythm.asks_by_lamp(now_s), alarms or ticks


def _ticks(question: Question | None, wanted: Stage, now_s: float) -> bool:
    """Whether a question is heard beside being seen: a sign's by its stage, any other for its first 15 s."""
    if question is None or question.asked is Asked.SIGN:
        return wanted >= Stage.SOUNDER
    # A start waits for the person it does not know of as loud as it began: somebody may have asked from elsewhere.
    return now_s - question.put_s <= QUIET_AFTER_S or question.asked is Asked.START
