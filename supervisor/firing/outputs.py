"""Act: what the furnace is told in this cycle. Relay, enable and permit follow from state, test, reaction and doubt."""

from hardware.ports import Outputs, Permit
from supervisor.firing.control import Window
from supervisor.firing.presses import HELD_PRESS
from supervisor.firing.states import HEATED, State
from supervisor.firing.turn import Turn


def act(turn: Turn, window: Window, *, heat_on_disk: bool) -> Outputs:
    """The outputs of this cycle; in any doubt the relay is off."""
    firing, state = turn.firing, turn.firing.state
    test = firing.test
    permit, enable, relay = Permit.STILL, False, False
    if state is State.STARTING and test is not None and test.failed is None:
        permit, enable = test.permit, test.enable
    elif state in HEATED and (test is None or test.failed is None):
        permit, enable = Permit.TOGGLE, firing.enable or (test is not None and test.enable)
        duty = firing.duty if _may_heat(turn, heat_on_disk=heat_on_disk) else 0.0
        relay = window.relay(min(duty, turn.reaction.duty_ceiling)) and enable
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
        and turn.reaction.duty_ceiling > 0.0
    )


def _signals(turn: Turn) -> tuple[bool, bool]:
    """Lamp and sounder, by rhythm: an alarm is quick pulses, a question slow ones, a held press ticks along."""
    firing = turn.firing
    beat = round(turn.now_s * 4.0)
    if turn.alarms.sounding:
        return beat % 4 < 2, beat % 4 < 2
    question = firing.button.question
    if question is not None:
        if question.asked in HELD_PRESS and firing.button.pressed_since_s is not None:
            return True, beat % 2 == 0  # ticks while it is held
        quiet = turn.now_s - question.put_s > 15.0
        return beat % 8 < 6, not quiet and beat % 8 < 1
    if firing.lid.warns(turn.now_s) and firing.state in HEATED:
        return beat % 2 == 0, beat % 2 == 0
    return False, False
