"""The bench: what a person can do to the simulated furnace, as messages. It never acts on the supervisor.

One JSON object a line, one answer a line: `{"ok": true, ...}`, or `{"ok": false, "error": "what is wrong with it"}`.

| message | does |
|---|---|
| `{"bench": "press", "seconds": 3}` | press the reset button for so many seconds of the furnace's clock |
| `{"bench": "hold"}`, `{"bench": "release"}` | press the reset button and hold it; let go |
| `{"bench": "key", "on": true}` | turn the key |
| `{"bench": "lid", "open": true}` | open or shut the lid |
| `{"bench": "emergency_stop", "pressed": true}` | press the emergency stop, or pull it out |
| `{"bench": "mains", "on": true}` | give or take the mains |
| `{"bench": "limiter_reset"}` | press the limiter's own reset; answers `reset`: false while it is too hot |
| `{"bench": "inject", "fault": NAME, "value": 0.5}` | break something; `value` may be left out |
| `{"bench": "mend", "fault": NAME}` | take that fault away |
| `{"bench": "faults"}` | answers `faults`: name, sentence, value, what_value_is of each |
| `{"bench": "add_charge", "mass_kg": 2.5, "temperature_c": 20, "alloy": "6082"}` | put metal into the pot |
| `{"bench": "pour"}` | empty the pot of what is liquid; answers `poured_kg` |
| `{"bench": "other_regulator", "to_c": 740}` | another regulator heats, to so many °C; `null`: it is switched off |
| `{"bench": "race_permit"}` | toggle the permit too fast, as `fast_toggle.py` does; answers its fields |
| `{"bench": "pace", "times_real": 30}` | choose the pace, 1 to 60 |
| `{"bench": "slow", "seconds": 10}` | keep to 1 x for so many real seconds |
| `{"bench": "answer", "on": true, "after_s": 5}` | somebody stands in and answers the lamp |
| `{"bench": "state"}` | answers the clock, the pace and why it is slow, plant, levers, contacts, outputs, injected |
| `{"bench": "edges", "since": 0}` | answers `edges`: [number, time_s, line, level, real_s], 1000 at most, and `next` |

The last five belong to the process that owns the clock (`process.py`), the others to any simulated furnace.
"""

from collections.abc import Callable, Mapping
from math import inf
from typing import Any

from hardware.simulated.faults import FAULTS
from hardware.simulated.furnace import Furnace
from hardware.simulated.racing import race

Message = Mapping[str, Any]
Answer = dict[str, Any]


def act(furnace: Furnace, message: Message) -> Answer:
    """Do what a bench message asks of the furnace and give the answer. A bad message is answered, never raised."""
    lever = LEVERS.get(str(message.get("bench")))
    if lever is None:
        return {"ok": False, "error": f"bench is {message.get('bench')!r}; allowed: {', '.join(LEVERS)}"}
    try:
        return {"ok": True, **(lever(furnace, message) or {})}
    except KeyError as error:
        return {"ok": False, "error": f"{message['bench']} does not know or lacks {error.args[0]}"}
    except (ValueError, TypeError) as error:
        return {"ok": False, "error": str(error)}


def levers(furnace: Furnace) -> Answer:
    """Give the positions of everything that a person can move, and what it leads to."""
    interlock = furnace.interlock
    return {
        "plant": furnace.state._asdict(),
        "levers": {
            "key_on": interlock.key_on,
            "lid_open": not interlock.lid_shut,
            "emergency_stop_pressed": not interlock.emergency_stop_released,
            "mains_on": interlock.mains,
            "button_pressed": interlock.button,
            "limiter_tripped": interlock.limiter_tripped,
        },
        "contacts": {
            "chain_made": interlock.chain_made,
            "contactor_closed": interlock.poles_closed,
            "element_on": interlock.powered,
        },
        "outputs": dict(furnace.outputs),
        "injected": dict(furnace.injected),
    }


def _number(message: Message, field: str) -> float:
    value = message[field]
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"{field} is {value!r}; allowed: a number")
    return float(value)


def _switch(message: Message, field: str) -> bool:
    value = message[field]
    if not isinstance(value, bool):
        raise ValueError(f"{field} is {value!r}; allowed: true or false")
    return value


def _inject(furnace: Furnace, message: Message) -> None:
    furnace.inject(message["fault"], None if message.get("value") is None else _number(message, "value"))


def _faults(furnace: Furnace, message: Message) -> Answer:
    rows = [
        {"name": row.name, "sentence": row.sentence, "value": row.value, "what_value_is": row.what_value_is}
        for row in FAULTS.values()
    ]
    return {"faults": rows}


def _add_charge(furnace: Furnace, message: Message) -> None:
    furnace.add_charge(_number(message, "mass_kg"), _number(message, "temperature_c"), str(message["alloy"]))


def _other_regulator(furnace: Furnace, message: Message) -> None:
    to_c = None if message["to_c"] is None else _number(message, "to_c")
    if to_c is not None and not 0.0 <= to_c <= 1300.0:
        raise ValueError(f"to_c is {to_c}; allowed: 0 to 1300 °C, or null")
    furnace.other_regulator_c = to_c


LEVERS: Mapping[str, Callable[[Furnace, Message], Answer | None]] = {
    "press": lambda furnace, message: furnace.press(_number(message, "seconds")),
    "hold": lambda furnace, message: furnace.press(inf),
    "release": lambda furnace, message: furnace.release(),
    "key": lambda furnace, message: furnace.key(_switch(message, "on")),
    "lid": lambda furnace, message: furnace.lid(_switch(message, "open")),
    "emergency_stop": lambda furnace, message: furnace.emergency_stop(_switch(message, "pressed")),
    "mains": lambda furnace, message: furnace.mains(_switch(message, "on")),
    "limiter_reset": lambda furnace, message: {"reset": furnace.limiter_reset()},
    "inject": _inject,
    "mend": lambda furnace, message: furnace.mend(message["fault"]),
    "faults": _faults,
    "add_charge": _add_charge,
    "pour": lambda furnace, message: {"poured_kg": furnace.pour()},
    "other_regulator": _other_regulator,
    "race_permit": lambda furnace, message: race(furnace)._asdict(),
}
