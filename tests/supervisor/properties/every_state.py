"""Each state of a firing as the real cycle reaches it, every command, and one cycle after another from there.

The memory is copied, so that thousands of branches begin at the same moment; the samples are made from the last one.
"""

import pickle
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from typing import NamedTuple

from hardware.ports import CYCLE_S, Level, Outputs, Permit, Reading, Sample, SensorFault
from supervisor.cycle import Memory, Step, cycle
from supervisor.firing import commands as c
from supervisor.firing.states import HEATED, State
from supervisor.watches.history import History
from tests.supervisor.furnace_at_hand import FurnaceAtHand, bake, furnace_at_hand, melt, running

AT_REST = frozenset({State.STOPPED, State.IDLE, State.COMPLETE, State.ABORTING, State.ABORTED})

Change = Callable[[Sample], Sample]


class Moment(NamedTuple):
    """A supervisor in some state, and the furnace's last word."""

    memory: Memory
    sample: Sample

    def copy(self) -> "Moment":
        """One that goes its own way."""
        memory, sample = pickle.loads(_pickled(id(self.memory), self))
        return Moment(memory, sample)


_KEPT: dict[int, tuple[Moment, bytes]] = {}


def _pickled(number: int, moment: Moment) -> bytes:
    if number not in _KEPT:
        moment.memory.history = History()  # the ring is long, and no walk looks so far back
        _KEPT[number] = moment, pickle.dumps((moment.memory, moment.sample))
    return _KEPT[number][1]


def _stopped() -> FurnaceAtHand:
    hand = furnace_at_hand(start_c=450.0)
    hand.wait(1.0)
    return hand


def _idle() -> FurnaceAtHand:
    hand = _stopped()
    hand.furnace.add_charge(2.0, 20.0, "6082")
    hand.prepare(melt())
    return hand


def _starting() -> FurnaceAtHand:
    hand = _idle()
    assert hand.send(hand.start_command()).accepted
    hand.wait(1.0)
    return hand


def _running() -> FurnaceAtHand:
    hand = running(bake(to_c=600.0), start_c=450.0)
    hand.wait(5.0)
    return hand


def _held() -> FurnaceAtHand:
    hand = _running()
    assert hand.hold().accepted
    hand.wait(2.0)
    return hand


def _holding() -> FurnaceAtHand:
    hand = _held()
    hand.memory.firing.state = State.HOLDING  # it lasts less than a cycle
    return hand


def _stopping() -> FurnaceAtHand:
    hand = _running()
    hand.stop()
    return hand


def _completing() -> FurnaceAtHand:
    hand = _running()
    assert hand.note(c.NoteKind.POUR).accepted
    return hand


def _complete() -> FurnaceAtHand:
    hand = _completing()
    hand.wait(2.0)
    return hand


def _aborting() -> FurnaceAtHand:
    hand = _running()
    hand.furnace.emergency_stop(True)
    hand.run_until(lambda: hand.state is not State.RUNNING, 2.0)
    hand.memory.firing.state = State.ABORTING  # the contactor may be out already
    return hand


def _aborted() -> FurnaceAtHand:
    hand = _running()
    hand.furnace.emergency_stop(True)
    hand.run_until(lambda: hand.state is State.ABORTED, 5.0)
    hand.furnace.emergency_stop(False)
    hand.wait(1.0)
    return hand


_MADE: dict[State, Callable[[], FurnaceAtHand]] = {
    State.STOPPED: _stopped,
    State.IDLE: _idle,
    State.STARTING: _starting,
    State.RUNNING: _running,
    State.HOLDING: _holding,
    State.HELD: _held,
    State.STOPPING: _stopping,
    State.COMPLETING: _completing,
    State.COMPLETE: _complete,
    State.ABORTING: _aborting,
    State.ABORTED: _aborted,
}


@cache
def moments() -> dict[State, Moment]:
    """Every state there is."""
    found = {}
    for state, make in _MADE.items():
        hand = make()
        assert hand.state is state
        found[state] = Moment(hand.memory, hand.hardware.sample())
    assert set(found) == set(State)
    return found


def go_on(
    moment: Moment, cycles: int, commands: Sequence[c.Command] = (), change: Change | None = None
) -> Iterator[Step]:
    """So many cycles more, the commands in the first; what must hold in every cycle is checked here."""
    memory, sample = moment
    now_s = memory.belief.monotonic_s
    for number in range(cycles):
        now_s += CYCLE_S
        first = sample.sensors[0]
        if isinstance(first, Reading):  # a word that rests for a minute would be a fault of its own
            first = first._replace(word=first.word ^ (number & 1) << 4)
        here = sample._replace(monotonic_s=now_s, sensors=(first, *sample.sensors[1:]))
        here = here if change is None else change(here)
        step = cycle(memory, here, commands if number == 0 else (), CYCLE_S)
        nothing_alive_at_rest(memory, here, step.outputs)
        yield step


def nothing_alive_at_rest(memory: Memory, sample: Sample, outputs: Outputs) -> None:
    """What no sequence may ever break."""
    state = memory.firing.state
    if state in AT_REST:
        assert not outputs.relay, state
        assert not outputs.enable, state
        assert outputs.permit is Permit.STILL, state
    if outputs.relay:
        assert state in HEATED, state
        assert outputs.enable
        assert outputs.permit is Permit.TOGGLE
        assert isinstance(sample.sensors[0], Reading)
        assert sample.inputs.lid is not Level.OPEN
        assert memory.belief.time_ok
    if outputs.enable:
        assert state not in AT_REST
        assert not memory.alarms.reaction.drop_contactor


def by() -> c.By:
    return c.By("id", "Ada's phone", "page")


def every_command(memory: Memory) -> dict[str, c.Command]:
    """Every command, as right as it can be made now; those that add heat also with an epoch that is over."""
    firing, epoch = memory.firing, memory.epoch
    found: dict[str, c.Command] = {
        "prepare": c.Prepare(by(), bake(to_c=600.0), None),
        "hold": c.Hold(by()),
        "resume": c.Resume(by(), epoch),
        "resume late": c.Resume(by(), epoch - 1),
        "stop": c.Stop(by()),
        "acknowledge": c.Acknowledge(by(), None),
        "silence": c.Silence(by()),
        "shelve": c.Shelve(by(), next(iter(memory.alarms.standing), "hard-cap"), 10.0, "a reason"),
        "unshelve": c.Unshelve(by(), next(iter(memory.alarms.shelves), "hard-cap")),
        "reset": c.Reset(by(), "found"),
        "lower": c.Lower(by(), 20.0),
        "raise": c.Raise(by(), epoch, 20.0),
        "raise late": c.Raise(by(), epoch - 1, 20.0),
        "attend": c.Attend(by(), 1, 0),
        "told": c.Told(by(), c.Telling.HEARD),
        "prove": c.Prove(by(), "lid"),
        "part": c.Change(by(), "relay", "a new one"),
        "practise": c.Practise(by(), c.Practising.BEGIN),
        "addition": c.Note(by(), c.NoteKind.ADDITION, epoch, mass_kg=0.1),
        **{f"note {kind.value}": c.Note(by(), kind, epoch) for kind in c.NoteKind if kind is not c.NoteKind.ADDITION},
    }
    prepared = firing.prepared
    if prepared is not None:
        profile, allowance_wh = prepared.profile, firing.prepared_allowance_wh or 0.0
        mass_kg = None if profile.charge is None else profile.charge.mass_kg
        echo = (profile.name, mass_kg, profile.top_c, profile.longest_s, allowance_wh, True)
        found["start"] = c.Start(by(), epoch, *echo)
        found["start late"] = c.Start(by(), epoch - 1, *echo)
    return found


ADDS_HEAT = ("start", "resume", "raise", "note go on")


def _inputs(**levels: Level) -> Change:
    return lambda sample: sample._replace(inputs=sample.inputs._replace(**levels))


CHANGES: dict[str, Change | None] = {
    "nothing": None,
    "lid open": _inputs(lid=Level.OPEN),
    "emergency stop": _inputs(emergency_stop=Level.OPEN, limiter=Level.OPEN, key=Level.OPEN, chain=Level.OPEN),
    "limiter": _inputs(limiter=Level.OPEN, key=Level.OPEN, chain=Level.OPEN),
    "key": _inputs(key=Level.OPEN, chain=Level.OPEN),
    "contactor in": _inputs(mirror=Level.OPEN),
    "contactor out": _inputs(mirror=Level.CLOSED),
    "permit relays in": _inputs(permit_relay_1=Level.CLOSED, permit_relay_2=Level.CLOSED),
    "permit relays out": _inputs(permit_relay_1=Level.OPEN, permit_relay_2=Level.OPEN),
    "button pressed": _inputs(reset_button=Level.CLOSED),
    "tray wet": _inputs(tray_probe=Level.CLOSED),
    "all open": lambda sample: sample._replace(inputs=type(sample.inputs)(*[Level.OPEN] * len(sample.inputs))),
    "no reading": lambda sample: sample._replace(sensors=(SensorFault(0x0001_0001, "open circuit"),)),
    "hot": lambda sample: sample._replace(sensors=(Reading(0x1234_5670, 1200.0, 25.0),)),
    "repeated": lambda sample: sample._replace(monotonic_s=1.0),
}
"""What the furnace may say."""
