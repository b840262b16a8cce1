"""What is remembered of the firing in progress. Changed by `decide` and `orders` alone."""

from dataclasses import dataclass, field
from math import inf
from typing import TYPE_CHECKING, NamedTuple

from supervisor.firing.adviser import Adviser
from supervisor.firing.attendance import Attendance
from supervisor.firing.back import BackBy
from supervisor.firing.boosting import Boost
from supervisor.firing.commands import Adopt, Prepare, Raise
from supervisor.firing.cooling import Cooling
from supervisor.firing.drying import Drying
from supervisor.firing.fed import Act
from supervisor.firing.gate import Gate
from supervisor.firing.lid import Lid
from supervisor.firing.pair import Pair
from supervisor.firing.power import Power
from supervisor.firing.presses import Button
from supervisor.firing.profile import Profile
from supervisor.firing.proofs import Proofs
from supervisor.firing.reach import Reach
from supervisor.firing.setpoint import Walk
from supervisor.firing.start import StartTest
from supervisor.firing.states import State
from supervisor.firing.window import PourWindow
from supervisor.firing.witness import Witness
from supervisor.furnace.stages import CAPS, Caps, Stage, Unlocking
from supervisor.watches.finding import Leave

if TYPE_CHECKING:  # an aftermath is told by watches, which look at firings: at run time the import would be a circle
    from supervisor.firing.aftermath import Aftermath, Part
    from supervisor.firing.practice import Practice

YOU = "you"
WARM_C = 60.0
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


class Found(NamedTuple):
    """What whoever asks for a reset says; the last two where the trip said 'keep away'."""

    found: str
    looked: str = ""  # who looked at the furnace
    seen: str = ""  # what was seen there


class MassDoubt(NamedTuple):
    """At the gate the reading is not what the entered mass should give."""

    weighed_kg: float
    like_kg: float | None  # what would fit best; None: not reckoned
    evidence: str  # one sentence


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
    learned_allowance: bool  # allowance and settled duty come from a learned model
    began_c: float  # the chamber at the start
    beyond_duty: float  # all that is left when the energy allowance is used up
    caps: Caps = CAPS[Stage.MELTS]  # of the stage that the furnace had reached at the start
    quarantined: str = ""  # why metal of the pot is under quarantine; empty: none of it is known to be
    boost: Boost = field(default_factory=Boost)
    mass_doubt: MassDoubt | None = None
    mass_asked_s: float = 0.0  # before that the furnace does not ask again whether the mass is right
    mass_off: int = 0  # looks in a row at which it was not as entered
    mass_checked: bool = False  # half of it could have been told
    mass_confirmed: bool = False  # a press said that it is as entered
    added_kg: float = 0.0  # since the boost was last armed
    acts: list[Act] = field(default_factory=list)  # what people did, on its way to the estimator
    followed: bool = False  # the estimator has begun
    told_s: float = 0.0  # when the estimate was last written down
    arming_s: float | None = None  # since when the boost is to begin again, as soon as it is known how long it takes
    energy_wh: float = 0.0  # the larger of ordered and metered
    ordered_wh: float = 0.0
    metered_wh: float = 0.0
    bound_s: int = 0  # for so long the spent allowance has kept heat back
    was_ready: bool = False  # the chamber has been at the profile's target
    tenths: int = 0  # of the allowance, added by presses
    allowance_again_s: float = 0.0  # before that the furnace does not ask for another tenth
    lowered_k: float = 0.0
    peak_c: float = 0.0
    overshoot_c: float = 0.0
    above_660_s: float = 0.0
    at_target_since_s: float | None = None
    far_dip: tuple[float, float] | None = None  # when the last dip reading far from the estimate was noted, and it, °C
    hands_in: bool = False  # something was done inside: heat returns only by a press
    poured: bool = False
    returns: dict[str, int] = field(default_factory=dict)
    looked_s: float = -inf  # when a press last ended a hold because it took more power than it should
    first_cause: str | None = None
    charge_kg: float = 0.0
    lid_openings: int = 0
    drying: Drying = field(default_factory=Drying)
    relay_operations: int = 0
    contactor_operations: int = 0
    relay_was: bool = False
    contactor_was: bool = False
    closed: bool = False
    left_behind: bool = False  # what its heat left in the pot has been taken over
    ended_as: str | None = None
    gave_up: str = ""  # why the start came to nothing

    @property
    def charged_warm(self) -> bool:
        """Cold metal went into a warm furnace, whose lining is warmed through nobody knows how far."""
        return self.profile.charge is not None and self.began_c > WARM_C

    @property
    def allowed_wh(self) -> float:
        """The energy allowance, with the tenths that presses added."""
        return self.allowance_wh * (1.0 + 0.1 * self.tenths)


@dataclass(slots=True)
class Looked:
    """Where another regulator heats: what the reading has shown of its heat."""

    hot_since_s: float = inf
    cold_since_s: float = inf
    was_hot: bool = False  # in this firing
    ready: bool = True  # it has been cold since the last record, or there was none


@dataclass(slots=True)
class Firing:
    """State, questions, lid, hold and the firing in progress."""

    state: State
    entered_s: float
    adviser: Adviser
    epoch: int = 1
    prepared: Prepare | None = None
    prepared_s: float = 0.0
    prepared_allowance_wh: float | None = None  # None: what is prepared is still being reckoned
    run: Run | None = None
    test: StartTest | None = None
    button: Button = field(default_factory=Button)
    attendance: Attendance = field(default_factory=Attendance)
    back: BackBy = field(default_factory=BackBy)
    window: PourWindow = field(default_factory=PourWindow)
    reach: Reach = field(default_factory=Reach)
    lid: Lid = field(default_factory=Lid)
    power: Power = field(default_factory=Power)
    proofs: Proofs = field(default_factory=Proofs)
    pair: Pair = field(default_factory=Pair)
    held: dict[str, Held] = field(default_factory=dict)
    hold_setpoint_c: float | None = None
    asked_to_go_on: bool = False
    asked_again_s: float = 0.0  # before that the furnace does not ask by itself whether to go on
    idle_written_s: float = -inf  # when a stop or a lowering that changed nothing last went into the log
    wished_s: float = 0.0  # when somebody last asked for what only the button can give
    raising: Raise | None = None
    adopting: Adopt | None = None  # a model that waits for a press at the furnace
    heat_numbers: set[str] = field(default_factory=set)  # of all firings so far: none is used twice
    drained: bool = False  # the pot is known to hold nothing but what is charged next
    cut_short: bool = False  # a firing ended without a proper end, and none after it has emptied or melted the pot
    lid_seen_open: bool = False  # since prepare
    lid_seen_moving: bool = False  # open and then shut, since prepare
    lid_shut_s: float | None = None  # when it was last seen to shut, in a firing or not
    found: Found | None = None  # what somebody says was found, until the press that resets
    enable: bool = False
    enable_off_s: float | None = None  # since when the enable is ordered off; None: it is on
    current_s: float | None = None  # when a current input last showed current, since prepare; None: it never did
    setpoint_c: float | None = None
    duty: float = 0.0
    cold_checked: bool = False
    liquid_left: bool = False  # an earlier heat may have left liquid metal in the pot: see `solid`
    cooling: Cooling = field(default_factory=Cooling)
    left_open: str | None = None  # what an earlier run left that only a reset at the furnace ends, in a sentence
    aftermath: "Aftermath | None" = None  # what happened, until the reset
    to_prove: "frozenset[Part]" = frozenset()  # parts that a trip was about, before the next heat
    limiter_opened: bool = False  # its line has been seen open since it has to be proved
    unlocking: Unlocking = field(default_factory=Unlocking)
    witness: Witness = field(default_factory=Witness)
    practice: "Practice | None" = None  # the melt gone through cold: no heat
    looked: Looked = field(default_factory=Looked)
    readers: int = 0  # pages that follow the furnace now; 0 where nothing can: a rehearsal has no link
    readers_gone_s: float | None = None  # since when nobody does any more; None: somebody does, or nobody ever did

    def change(self) -> None:
        """The person's picture of the furnace is out of date: what adds heat must name the new epoch."""
        self.epoch += 1

    @property
    def gentle(self) -> bool:
        """The next heat climbs slowly: the one before was cut short, and nobody has seen the pot empty since."""
        return self.cut_short and not self.drained

    @property
    def leaves_cut_metal(self) -> bool:
        """Metal of a firing that was cut short may be in the pot: of this one, or of one before it.

        A start that nobody pressed, a firing that somebody stopped, one without metal: none of them empties the pot.
        """
        run = self.run
        if run is None:
            return self.gentle
        melted = run.profile.charge is not None and run.ended_as == State.COMPLETE.value
        return run.ended_as == State.ABORTED.value or (self.gentle and not melted and not run.poured)

    @property
    def perhaps_liquid(self) -> bool:
        """Metal may be liquid: it was hot enough, nobody noted a pour, and it is not certain that it has frozen."""
        run = self.run
        if run is None or run.left_behind:
            return self.liquid_left
        return self.liquid_left or (run.gate.may_be_liquid and not run.poured)
