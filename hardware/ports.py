"""The seam between the supervisor and a furnace: what it says, what it may be told, and who answers.

Two makers exist: the Pi and the simulated furnace. The records that pass once a cycle are named tuples: a
frozen dataclass of twelve fields takes ten times as long to make, and a rehearsal makes four of them each 250 ms.
"""

from enum import Enum
from typing import NamedTuple, Protocol

CYCLE_S = 0.25
"""One turn of the supervisor, s. Samples are stamped on this grid; relay and permit change only at its edges."""


class Level(Enum):
    """What an input line says. What is not fitted proves nothing."""

    CLOSED = "closed"
    OPEN = "open"
    NOT_FITTED = "not fitted"


class Permit(Enum):
    """What becomes of the heat permit's pin in this cycle. HIGH and LOW stick it, in the start test alone."""

    STILL = "still"
    TOGGLE = "toggle"
    HIGH = "high"
    LOW = "low"


class Inputs(NamedTuple):
    """The input lines of one moment. CLOSED is the healthy or pressed side, as each comment says."""

    emergency_stop: Level  # closed: released
    limiter: Level  # closed: healthy, not tripped
    key: Level  # closed: heat is allowed
    chain: Level  # closed: everything in front of the reset button is made
    permit_relay_1: Level  # closed: pulled in
    permit_relay_2: Level  # closed: pulled in
    mirror: Level  # closed: the safety contactor is proved open
    lid: Level  # closed: the lid is shut
    reset_button: Level  # closed: pressed
    load_current: Level  # closed: current flows in the element
    mains: Level  # closed: mains is there
    tray_probe: Level  # closed: something conducts under the furnace


class Reading(NamedTuple):
    """One believable pair of temperatures, both from the same frame."""

    word: int  # raw 32 bits
    hot_junction_c: float  # linearised by ITS-90
    cold_junction_c: float


class SensorFault(NamedTuple):
    """Why there is no temperature. `reason` is a sentence's end: 'open circuit', 'no answer', ..."""

    word: int
    reason: str


class BoardHealth(NamedTuple):
    """What the computer says of itself. None: it cannot tell."""

    under_voltage: bool | None
    throttled: bool | None
    processor_c: float | None
    clock_trusted: bool | None
    under_voltage_before: bool | None = None  # since the supervisor began, or the computer
    wifi_saves_power: bool | None = None  # the phone's page then stalls for seconds
    keeps_outputs: bool | None = None  # a killed program's pin stays at its last level: no `strict_gpiod`
    card_failing: bool | None = None  # the file system has counted errors, or the memory says it is worn


UNKNOWN_BOARD = BoardHealth(None, None, None, None)
"""A computer that says nothing of itself: not healthy, unknown."""


class Sample(NamedTuple):
    """Everything the furnace says in one cycle."""

    monotonic_s: float  # inside this cycle and later than the last one's, else no heat and no permit edge
    sensors: tuple[Reading | SensorFault, ...]  # one or two
    inputs: Inputs
    energy_pulses: int  # running count since the process began, never a difference; 0 when no meter is fitted
    board: BoardHealth


class Outputs(NamedTuple):
    """Everything the furnace may be told in one cycle. Lamp and sounder rhythms are made by the cycle."""

    relay: bool
    enable: bool
    permit: Permit
    lamp: bool
    sounder: bool


OFF = Outputs(relay=False, enable=False, permit=Permit.STILL, lamp=False, sounder=False)


class FurnaceHardware(Protocol):
    """A furnace, real or simulated. One thread uses it."""

    @property
    def name(self) -> str:
        """`pi` or `simulated`: goes into every record, and is shown on every screen."""
        ...

    def sample(self) -> Sample:
        """Wait for the next point of the 250 ms grid and read everything once.

        A sick sensor is a SensorFault in the sample, never an exception.
        """
        ...

    def apply(self, outputs: Outputs) -> None:
        """Write relay and enable, read both back, and toggle the permit last and only if they agree.

        Raises:
            OutputFault: an output did not read back as written; the permit was left still.
        """
        ...

    def close(self) -> None:
        """Everything off, off proved, then released."""
        ...


class OutputFault(RuntimeError):
    """An output pin did not read back as written: nothing that it drives can be trusted."""


class Wiring(NamedTuple):
    """BCM pin of every line; None: not fitted. Inputs pull low when closed (opto-coupler on).

    A furnace that another regulator heats has no output at all; any other has all five.
    """

    relay: int | None
    enable: int | None
    permit: int | None
    lamp: int | None
    sounder: int | None
    emergency_stop: int | None
    limiter: int | None
    key: int | None
    chain: int | None
    permit_relay_1: int | None
    permit_relay_2: int | None
    mirror: int | None
    reset_button: int | None
    lid: int | None
    load_current: int | None
    mains: int | None
    tray_probe: int | None
    energy_pulse: int | None
    sensors: tuple[int, ...]  # SPI chip selects in use: (0,) or (0, 1)


def only_looking(wiring: Wiring) -> Wiring:
    """The same furnace without its outputs: whoever opens this can switch nothing."""
    return wiring._replace(relay=None, enable=None, permit=None, lamp=None, sounder=None)


class PlantState(NamedTuple):
    """The truth inside a plant: for tests, benchmarks and rehearsal reports alone, never for the supervisor."""

    hot_junction_c: float
    cold_junction_c: float
    hot_face_c: float
    metal_mean_c: float
    metal_coldest_c: float
    metal_hottest_c: float
    share_molten: float  # 0 to 1; 0 with an empty pot
    metal_kg: float
    power_w: float  # mean electrical power over the step just made
    supplied_j: float  # since the plant was made
    stored_j: float  # above the ambient it was made at, charges at the enthalpy they brought in included
    lost_j: float  # to the room, poured metal included


class Plant(Protocol):
    """The physics behind a simulated furnace. A person's own model can be passed in: it is made as CLASS(seed=int)."""

    furnace_file: str
    """Name or path of the furnace file that fits it."""

    @property
    def state(self) -> PlantState:
        """The truth now."""
        ...

    def step(self, dt_s: float, *, element_on: bool, lid_open: bool, mains_factor: float) -> PlantState:
        """Go on by dt_s with constant outputs. mains_factor: voltage over nominal."""
        ...

    def add_charge(self, mass_kg: float, temperature_c: float, alloy: str) -> None:
        """Put metal into the pot."""
        ...

    def pour(self) -> float:
        """Empty the pot of what is liquid; kg that left it."""
        ...

    def disturb(self, name: str, value: float) -> None:
        """Change a property of the furnace: see `hardware/simulated/faults.py`.

        Raises:
            KeyError: unknown name.
        """
        ...
