"""What is remembered of the firing in progress. Changed by `decide` and `orders` alone."""

from dataclasses import dataclass, field

from supervisor.firing.commands import Prepare, Raise
from supervisor.firing.gate import Gate
from supervisor.firing.lid import Lid
from supervisor.firing.presses import Button
from supervisor.firing.profile import Profile
from supervisor.firing.setpoint import Walk
from supervisor.firing.start import StartTest
from supervisor.firing.states import State
from supervisor.watches.finding import Leave

YOU = "you"
PRESS_AFTER_HELD_S = 600.0
"""A hold longer than this is left only by a press at the furnace."""
OWN_RETURNS = 3
"""How often in a firing a finding's hold ends by itself; then it takes a person."""


@dataclass(slots=True)
class Held:
    """One reason for a hold."""

    leave: Leave
    since_s: float
    duty_ceiling: float = 1.0  # until the hold is left: heat does not creep back because a cause has gone
    standing: bool = True  # False: its cause is gone


@dataclass(slots=True)
class Run:
    """One firing from its start on: what was frozen, and what has come of it."""

    firing_id: int
    name: str
    heat_number: str | None
    profile: Profile
    began_s: float
    pulses_at_start: int
    allowance_wh: float
    longest_s: float
    walk: Walk
    gate: Gate
    energy_wh: float = 0.0  # the larger of ordered and metered
    ordered_wh: float = 0.0
    metered_wh: float = 0.0
    tenths: int = 0  # of the allowance, added by presses
    allowance_again_s: float = 0.0  # before that the furnace does not ask for another tenth
    lowered_k: float = 0.0
    peak_c: float = 0.0
    overshoot_c: float = 0.0
    above_660_s: float = 0.0
    at_target_since_s: float | None = None
    hands_in: bool = False  # something was done inside: heat returns only by a press
    poured: bool = False
    returns: dict[str, int] = field(default_factory=dict)
    first_cause: str | None = None
    charge_kg: float = 0.0
    lid_openings: int = 0
    closed: bool = False
    ended_as: str | None = None

    @property
    def allowed_wh(self) -> float:
        """The energy allowance, with the tenths that presses added."""
        return self.allowance_wh * (1.0 + 0.1 * self.tenths)


@dataclass(slots=True)
class Firing:
    """State, questions, lid, hold and the firing in progress."""

    state: State
    entered_s: float
    epoch: int = 1
    prepared: Prepare | None = None
    prepared_s: float = 0.0
    prepared_allowance_wh: float = 0.0
    run: Run | None = None
    test: StartTest | None = None
    button: Button = field(default_factory=Button)
    lid: Lid = field(default_factory=Lid)
    held: dict[str, Held] = field(default_factory=dict)
    hold_setpoint_c: float | None = None
    asked_to_go_on: bool = False
    asked_again_s: float = 0.0  # before that the furnace does not ask by itself whether to go on
    wished_s: float = 0.0  # when somebody last asked for what only the button can give
    raising: Raise | None = None
    found: str | None = None  # what a reset says was found
    enable: bool = False
    enable_off_s: float | None = None  # since when the enable is ordered off; None: it is on
    setpoint_c: float | None = None
    duty: float = 0.0
    cold_checked: bool = False
    liquid_left: bool = False  # the firing before may have left liquid metal in the pot
    left_open: str | None = None  # an earlier firing without its closing record

    def change(self) -> None:
        """The person's picture of the furnace is out of date: what adds heat must name the new epoch."""
        self.epoch += 1
