"""The Pi: a furnace on real pins and on the real SPI bus, by the same lines and the same sensor as the simulated one.

Nothing here decides. What goes wrong ends in everything off: `close` switches off and proves it before it lets go, an
output that cannot be written takes the others with it, and whatever else happens the heat permit stays still, which
the circuit outside takes for the end. A killed process leaves its pins at their last level: the permit circuit, a
pull-down at every output and the kernel's `strict_gpiod` are for that.
"""

import fcntl
import os
from collections.abc import Callable, Sequence
from contextlib import ExitStack, chdir
from pathlib import Path
from typing import Any

from gpiozero.pins import Factory

from hardware import clock
from hardware.lines import Lines
from hardware.machine import NotThisMachine
from hardware.ports import CYCLE_S, BoardHealth, Outputs, Permit, Sample, Wiring
from hardware.sensor import Sensor, SpiBus

LOOKS = 5
LOOK_EVERY_S = 0.005
"""Inputs are looked at five times in the 20 ms before each sample: longer than a contact bounces (common practice, no
source) and than a half wave of the mains, at which a current sensor's output may blink."""

OLD_AFTER_S = 0.9
"""What was decided from a sample drives nothing once that is older: the program was stopped in the middle of its cycle.
As long as the permit's rising edges may be apart at most: the next cycle ends the firing anyway."""

SPI_HZ = 100_000
_BYTES = 4


class PiFurnace:
    """FurnaceHardware on a pin factory and on buses that are handed in: `open_pi` makes the real ones."""

    def __init__(
        self,
        wiring: Wiring,
        pins: Factory,
        buses: Sequence[SpiBus],
        board: Callable[[], BoardHealth],
        *,
        now_s: Callable[[], float] = clock.monotonic_s,
        sleep_until_s: Callable[[float], None] = clock.sleep_until_s,
    ) -> None:
        """Open the lines, which drives every output off.

        buses: one for each thermocouple. board: the last known health of the computer; it must not wait.

        Raises:
            NotThisMachine: a pin cannot be had: another program has it.
        """
        self._now_s, self._sleep_until_s, self._board = now_s, sleep_until_s, board
        self._sensors = tuple(Sensor(bus, now_s) for bus in buses)
        self._let_go_after = ExitStack()
        try:
            self._lines = Lines(wiring, pins)
        except Exception as error:
            raise NotThisMachine(
                f"The furnace's pins cannot be had ({error}): another program uses them, or the kernel does."
            ) from error
        self._next_s = now_s() + CYCLE_S
        self._sampled_s = float("-inf")

    @property
    def name(self) -> str:
        """Always `pi`."""
        return "pi"

    def let_go_after(self, release: Callable[[], object]) -> None:
        """Have something released after the pins were."""
        self._let_go_after.callback(release)

    def sample(self) -> Sample:
        """Wait for the next point of the 250 ms grid and read everything once.

        Its time is the moment of reading, not the point. Points that were slept through are left out.

        Raises:
            OutputFault: the pins do not answer any more.
        """
        for before in range(LOOKS - 1, 0, -1):
            self._sleep_until_s(self._next_s - before * LOOK_EVERY_S)
            self._lines.look()
        self._sleep_until_s(self._next_s)
        sampled_s = self._sampled_s = self._now_s()
        self._next_s += CYCLE_S * (1 + max(0, int((sampled_s - self._next_s) / CYCLE_S)))
        inputs = self._lines.read()
        readings = tuple([sensor.read() for sensor in self._sensors])
        return Sample(sampled_s, readings, inputs, self._lines.energy_pulses, self._board())

    def apply(self, outputs: Outputs) -> None:
        """Write the outputs; see `ports.FurnaceHardware`. Two edges of the permit are apart by the real clock.

        Outputs that come over OLD_AFTER_S after their sample switch relay and enable off and leave the permit still.
        """
        now_s = self._now_s()
        if not now_s - self._sampled_s <= OLD_AFTER_S:
            outputs = outputs._replace(relay=False, enable=False, permit=Permit.STILL)
        self._lines.apply(outputs, now_s)

    def close(self) -> None:
        """Everything off, off proved, then released."""
        with self._let_go_after:
            self._lines.close()


class PiBus(SpiBus):
    """One chip select of SPI 0 by the kernel's driver: it is the kernel that pulls the line, not a pin of ours."""

    def __init__(self, chip_select: int) -> None:
        """Open it: mode 0, 100 kHz.

        Raises:
            OSError: it is not there, or may not be used.
        """
        from Adafruit_PureIO.spi import SPI  # late: it is for Linux alone

        super().__init__()
        self._spi = SPI((0, chip_select), max_speed_hz=SPI_HZ, bits_per_word=8, phase=0, polarity=0)

    def readinto(self, buffer: bytearray) -> None:
        """Clock four bytes into the buffer."""
        came = self._spi.readbytes(_BYTES)
        buffer[: len(came)] = came

    def close(self) -> None:
        """Give the bus back to the kernel."""
        os.close(self._spi.handle)


def open_pi(wiring: Wiring, board: Callable[[], BoardHealth], *, working: Path) -> PiFurnace:
    """Claim the furnace's bus and pins of this Pi, and drive every output off.

    working: a directory that may be written: the GPIO library leaves a pipe in the one it is imported in.

    Raises:
        NotThisMachine: another program has bus or pins, or the GPIO library is missing.
        OSError: the bus cannot be opened.
    """
    with ExitStack() as opened:
        opened.callback(claim(Path(f"/dev/spidev0.{wiring.sensors[0]}")))
        buses = []
        for chip_select in wiring.sensors:
            buses.append(PiBus(chip_select))
            opened.callback(buses[-1].close)
        pins = real_pins(working)
        opened.callback(pins.close)
        hardware = PiFurnace(wiring, pins, buses, board)
        hardware.let_go_after(opened.pop_all().close)
        return hardware


def claim(device: Path) -> Callable[[], None]:
    """Hold a device against every other supervisor, whatever its data directory, until the result is called.

    The kernel's own claim of each pin comes on top: it also holds against programs of others.

    Raises:
        NotThisMachine: another supervisor has it.
        OSError: it cannot be opened.
    """
    handle = os.open(device, os.O_RDWR | os.O_CLOEXEC)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError as error:
        os.close(handle)
        raise NotThisMachine(
            f"Another supervisor drives a furnace on {device}: one furnace, one supervisor. `meltkeeper stop` stops it."
        ) from error
    return lambda: os.close(handle)


def real_pins(working: Path) -> Any:
    """The factory for this Pi's header, made here and handed to each device.

    Left to choose, gpiozero would take any other library, or mock pins, with no more than a warning.
    """
    try:
        with chdir(working):
            import lgpio
            from gpiozero.pins.lgpio import LGPIOFactory

            lgpio.gpiochip_open  # noqa: B018 - one version on the index is an empty file
            return LGPIOFactory()
    except (ImportError, AttributeError) as error:
        raise NotThisMachine(
            f"The GPIO library is missing ({error}): on Raspberry Pi OS it is the package python3-lgpio, and the"
            " environment must see the system's packages."
        ) from error
    except Exception as error:
        raise NotThisMachine(f"The pins cannot be opened: {error}.") from error
