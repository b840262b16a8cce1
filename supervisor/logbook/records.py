"""What the core hands over to be remembered: plain rows, one kind for each table. No clock: t_ms is process time.

t_ms counts from the firing's start (32 bits, 49 days); outside a firing, from the start of the process. The scribe adds
the UTC label, the boot id and the key.
"""

from collections.abc import Mapping
from typing import Any, NamedTuple

from supervisor.furnace.stages import Changed, Proved

PAPER = "paper"
"""Backend of a firing of which there is nothing but what somebody wrote down: entered afterwards, without samples."""


class FiringOpened(NamedTuple):
    """A firing begins: everything that is frozen at its start."""

    firing_id: int
    monotonic_s: float  # of the cycle: what t_ms counts from
    name: str  # heat number, or the profile's name
    heat_number: str | None
    profile: str  # name
    frozen: Mapping[str, Any]  # profile text, charge, furnace digest, allowance, longest, software version
    backend: str


class SampleRow(NamedTuple):
    """One second of a firing (a quarter second around a fault)."""

    firing_id: int
    t_ms: int
    hot_junction_c: float | None  # None: no reading; the word says why
    cold_junction_c: float | None
    setpoint_c: float | None
    duty: float  # ordered, 0 to 1, mean since the row before
    energy_wh: float  # since the start, metered if a meter is fitted, else as ordered
    inputs: (
        int  # two bits a line in the order of hardware.ports.Inputs, the last lowest: 0 open, 1 closed, 2 not fitted
    )
    state: str
    raw_word: int
    residual_k: float | None = None  # measured less expected by the model, one step ahead; None: no estimate now
    mean_c: float | None = None  # of the second's readings in the middle, in the row that ends it: watches go by it
    second_word: int | None = None  # raw word of the second thermocouple; None: not fitted
    quarters: int | None = None  # of the last four cycles, 4 bits each, the newest lowest: relay on 8, pulses 0 to 7


class EstimateRow(NamedTuple):
    """One minute of what the supervisor made of the metal, and what it did about it. Waits with the samples.

    With a doubt there are no numbers: it does not know.
    """

    firing_id: int
    t_ms: int
    phase: str | None  # solid, melting, liquid
    metal_c: float | None  # mass mean
    low_c: float | None  # 90 % band
    high_c: float | None
    share_low: float | None  # molten, 0 to 1
    share_molten: float | None
    share_high: float | None
    minutes_low: float | None  # to pour, 90 % band; None: not reckoned, or nearly there
    minutes_likely: float | None
    minutes_high: float | None
    boost: bool
    why: str  # why the boost is on, or off
    setpoint_c: float | None  # of the chamber
    doubt: str  # one sentence; empty: none


class ModelRow(NamedTuple):
    """What was learned of the furnace: taken for the firings to come, or only kept until somebody decides.

    Putting an earlier one back, or taking one that waited, is a row of its own that names it.
    """

    firing_id: int | None  # the newest firing that it was learned from
    adopted: bool
    takes: int | None  # row of the earlier model that this one is
    who: str
    where: str
    model: str  # JSON, as supervisor.model.learned.Model writes it
    against: Mapping[str, Any]  # what was measured and what the model makes of it, for a picture
    note: str  # why it was taken, or what speaks against it


class ProofRow(NamedTuple):
    """One try of a proof of the equipment: what came of it, and whether an input witnessed it or somebody said so."""

    proved: Proved
    firing_id: int | None  # the firing that it was made in
    where: str


class PartRow(NamedTuple):
    """A part was fitted new or mended."""

    changed: Changed
    where: str


class EventRow(NamedTuple):
    """Something happened once. On disk at once; what adds heat waits for it."""

    firing_id: int | None
    t_ms: int
    kind: str  # 'state', 'command', 'press', 'question', 'note', 'finding', ...
    who: str
    where: str
    detail: Mapping[str, Any]


class AlarmRow(NamedTuple):
    """One step in an alarm's life."""

    firing_id: int | None
    t_ms: int
    alarm: str  # id: watch and running number
    watch: str
    step: str  # raised, acknowledged, returned, reset
    priority: int
    evidence: str
    first_out: bool
    who: str
    folded: bool = False  # it only followed another: no new alarm for a person


class CommandRow(NamedTuple):
    """A command and its answer."""

    firing_id: int | None
    t_ms: int
    command_id: str
    kind: str
    who: str
    where: str
    accepted: bool
    sentence: str
    detail: Mapping[str, Any]


class FiringClosed(NamedTuple):
    """A firing has ended: how, and its results."""

    firing_id: int
    t_ms: int
    state: str  # complete, stopped, aborted
    first_cause: str | None
    results: Mapping[str, Any]  # peak_c, energy_wh, ordered_wh, seconds_above_660, minutes_liquid_possible, ...


Record = (
    FiringOpened
    | SampleRow
    | EstimateRow
    | ModelRow
    | ProofRow
    | PartRow
    | EventRow
    | AlarmRow
    | CommandRow
    | FiringClosed
)

MAY_WAIT = (SampleRow, EstimateRow)
"""Rows that wait for their batch, and that are given up first when the disk is full. All others go to disk at once."""
