"""The table of all watches. Each is alone in its judgement; none knows of another; order means nothing.

To add one: a frozen dataclass in its family's module, one line here, its texts in that family's
`supervisor/alarms/texts_*.py`, the faults that it notices in `rows_*.py`, and a case in `tests/supervisor/watches`.
Tests demand them all.
"""

from typing import Protocol

from supervisor.firing.attendance import Stage
from supervisor.firing.states import State
from supervisor.watches import chain, charge, equipment, heat, hold, lid, limits, model, person, reach, relay, sensor
from supervisor.watches.finding import CONTROLLED_STOP, HOLD_WITH_HEAT, NO_HEAT, TRIP, Finding, Reaction
from supervisor.watches.view import View


class Watch(Protocol):
    """One continuous check for one kind of fault. It keeps nothing: delays and latches live in the alarm's state."""

    @property
    def id(self) -> str:
        """Its name in alarms, log and texts."""
        ...

    @property
    def reaction(self) -> Reaction:
        """What its finding asks at least."""
        ...

    @property
    def needs(self) -> tuple[int, int]:
        """It stands when it has spoken in n of the last m times it was asked."""
        ...

    @property
    def states(self) -> frozenset[State]:
        """Where it is asked at all."""
        ...

    @property
    def each_second(self) -> bool:
        """Asked once a second instead of every cycle."""
        ...

    def judge(self, view: View) -> Finding | None:
        """What it finds in this cycle, if anything."""
        ...


WATCHES: tuple[Watch, ...] = (
    sensor.NoReading(),
    sensor.SensorSays("sensor-open", ("open circuit",)),
    sensor.SensorSays("sensor-shorted", ("short circuit",)),
    sensor.SensorSays("sensor-silent", ("no answer", "bus error", "answer came too late")),
    sensor.SensorSays("sensor-corrupt", ("damaged frame", "value out of range")),
    sensor.ReadingOld(),
    sensor.SampleOfAnotherCycle("sample-repeated", NO_HEAT, (1, 1)),
    sensor.SampleOfAnotherCycle("samples-stale", TRIP, (3, 5)),
    sensor.ReadingFrozen(),
    sensor.RateImpossible(),
    sensor.SensorReversed(),
    sensor.SensorNoisy(),
    sensor.ColdJunctionHot(),
    model.WarmerThanPower(),
    model.ColderThanPower(),
    model.BreaksAway(),
    model.LidUnseen(),
    hold.NeedsMorePower(),
    model.OverSetpoint(),
    heat.HeatWithoutCommand(),
    heat.HeatWithoutRise(),
    heat.HardCap(),
    relay.CurrentWhenOff(),
    relay.NoCurrent(),
    relay.PulseWhenOff(),
    relay.PowerWhenOff(),
    relay.PowerWithoutCommand(),
    relay.PowerAtRest(),
    relay.NoPower(),
    relay.ProofFailed(),
    relay.RelayUndecided(),
    equipment.MeterDisagrees(),
    equipment.MainsLow(),
    equipment.ElementShorted(),
    equipment.SensorsDisagree(),
    equipment.TrayWet(),
    equipment.SupplyWeak(),
    equipment.ProcessorHot(),
    equipment.ClockUntrusted(),
    chain.SupplyLost(),
    chain.EmergencyStop(),
    chain.LimiterTripped(),
    chain.KeyOff(),
    chain.ChainLost(),
    chain.ContactorChatters(),
    chain.ContactorStuck(),
    chain.LoopLate(),
    chain.StartTestFailed(),
    lid.LidOpen(),
    lid.LidNotCooling(),
    lid.LidCoolsLittle(),
    lid.LidLeftOpen(),
    person.ButtonStuck(),
    person.SignDue(),
    person.SignsLost(),
    person.SignMissed("sign-missed", Stage.HOLD, HOLD_WITH_HEAT | person.BY_A_PRESS),
    person.SignMissed("nobody-there", Stage.END, CONTROLLED_STOP),
    charge.MassDoubted(),
    charge.MetalMissing(),
    charge.QuarantinedMetal(),
    limits.LongestDuration(),
    limits.EnergyAllowance(),
    limits.LogBehind(),
    limits.LogLost(),
    limits.LogSpaceLow(),
    reach.MessagesFail(),
)

DOUBTS_THE_SENSOR = frozenset(
    {
        "sensor-open",
        "sensor-shorted",
        "sensor-silent",
        "sensor-corrupt",
        "reading-old",
        "samples-stale",
        "reading-frozen",
        "rate-impossible",
        "heat-without-rise",
        "colder-than-power",
        "needs-more-power",
        "sensor-reversed",
        "sensor-noisy",
    }
)
"""After one of these hot and cold junction must be seen to agree again, in a cold furnace, before the next start."""
