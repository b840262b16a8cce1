"""The MAX31855 thermocouple converter: one SPI frame through its driver, checked, linearised by ITS-90.

The driver passes what it should refuse: an all-zero frame reads as a healthy 0 degC, reserved bits and ranges are not
looked at, and a bus that fills nothing returns the frame before. So the driver makes the transaction, and every bit
of that same frame, from its public `data`, is judged here.
"""

from abc import ABC, abstractmethod
from collections.abc import Callable
from functools import cache
from threading import Lock

from adafruit_max31855 import MAX31855

from hardware.ports import Reading, SensorFault
from hardware.type_k import EMF_LEAST_MV, EMF_MOST_MV, type_k_c, type_k_emf_mv

OPEN_CIRCUIT = "open circuit"
SHORT_TO_GROUND = "short circuit to ground"
SHORT_TO_SUPPLY = "short circuit to supply"
NO_ANSWER = "no answer"
DAMAGED_FRAME = "damaged frame"
OUT_OF_RANGE = "value out of range"
LATE_ANSWER = "answer came too late"
BUS_ERROR = "bus error"
"""The reasons of a SensorFault; two of the first three may be joined by 'and'."""

FLAGGED = ((0x1, OPEN_CIRCUIT), (0x2, SHORT_TO_GROUND), (0x4, SHORT_TO_SUPPLY))
"""Fault bits that the chip sets. Source: MAX31855 data sheet, table 2."""

HOT_LEAST_C, HOT_MOST_C = -50.0, 1300.0
COLD_LEAST_C, COLD_MOST_C = -20.0, 85.0
CHIP_MV_PER_K = 0.041276
"""The straight line by which the chip turns microvolts into kelvin, type K. Source: MAX31855 data sheet, table 1."""

# Every byte of it spoils any frame it is left in: hot junction above 2000 degC, bit 17, cold junction 127 degC, bit 3.
UNTOUCHED = 0x7F02_7F08
_UNTOUCHED_BYTES = UNTOUCHED.to_bytes(4, "big")

_RESERVED_BITS = 0x0002_0008
_ANY_FAULT_BIT = 0x0001_0000
_FAULT_BITS = 0x7

LONGEST_ANSWER_S = 0.2
LOCK_WAIT_S = 0.1


class SpiBus(ABC):
    """What the driver asks of a bus, with a lock that is never waited for without end.

    The driver's own bus object would try a lock that someone left held for ever, at full processor load.
    """

    def __init__(self) -> None:
        self._lock = Lock()

    def try_lock(self) -> bool:
        """Take the bus.

        Raises:
            TimeoutError: it was still held after LOCK_WAIT_S.
        """
        if not self._lock.acquire(timeout=LOCK_WAIT_S):
            raise TimeoutError(f"the bus was still locked after {LOCK_WAIT_S} s")
        return True

    def unlock(self) -> None:
        """Give the bus back."""
        self._lock.release()

    def configure(self, *, baudrate: int, polarity: int, phase: int) -> None:  # noqa: B027 - nothing to do, on purpose
        """Do nothing: an error between taking and giving back the lock would leave it held."""

    @abstractmethod
    def readinto(self, buffer: bytearray) -> None:
        """Clock four bytes into the buffer.

        Raises:
            OSError: the transfer failed.
        """


class Sensor:
    """One MAX31855 on its own bus object, read once a sample. One thread uses it."""

    def __init__(self, bus: SpiBus, now_s: Callable[[], float]) -> None:
        """Take the bus and a monotonic clock; chip select is the bus's own affair."""
        self._driver = MAX31855(bus, None)
        self._data: bytearray = self._driver.data
        self._now_s = now_s

    def read(self) -> Reading | SensorFault:
        """Make one transaction and judge its frame. Never raises for a sick sensor or bus."""
        data = self._data
        data[:] = _UNTOUCHED_BYTES
        began_s = self._now_s()
        try:
            _ = self._driver.temperature
        except RuntimeError:
            pass  # a fault bit: it is in the frame, and judged below with all the others
        except OSError as error:
            return SensorFault(int.from_bytes(data, "big"), f"{BUS_ERROR}: {error}")
        word = int.from_bytes(data, "big")
        if not self._now_s() - began_s <= LONGEST_ANSWER_S:
            return SensorFault(word, LATE_ANSWER)
        return reading_from_frame(word)


def reading_from_frame(word: int) -> Reading | SensorFault:
    """Turn one MAX31855 frame into both temperatures, linearised, or into the reason why there are none.

    word: 32 bits as clocked out; steps of 0.25 degC (hot junction) and 0.0625 degC (cold junction).
    Source: MAX31855 data sheet, table 2 and section on linearity; the ranges are narrower than the chip's own.
    """
    if word in (0, 0xFFFF_FFFF, UNTOUCHED):  # a dead line reads as a steady 0 degC or as an open sensor
        return SensorFault(word, NO_ANSWER)
    if word & _RESERVED_BITS:
        return SensorFault(word, f"{DAMAGED_FRAME}: a reserved bit is set")
    faults = word & _FAULT_BITS
    if (word & _ANY_FAULT_BIT != 0) != (faults != 0):
        return SensorFault(word, f"{DAMAGED_FRAME}: its fault bits disagree")
    if faults:
        return SensorFault(word, " and ".join([reason for bit, reason in FLAGGED if faults & bit]))
    hot_code = word >> 18
    cold_code = word >> 4 & 0xFFF
    straight_c = (hot_code - 0x4000 if hot_code & 0x2000 else hot_code) * 0.25
    cold_c = (cold_code - 0x1000 if cold_code & 0x800 else cold_code) * 0.0625
    if not COLD_LEAST_C <= cold_c <= COLD_MOST_C:
        return SensorFault(word, f"{OUT_OF_RANGE}: cold junction {cold_c:.1f} degC")
    emf_mv = (straight_c - cold_c) * CHIP_MV_PER_K + _cold_junction_emf_mv(cold_c)
    if not EMF_LEAST_MV <= emf_mv <= EMF_MOST_MV:
        return SensorFault(word, f"{OUT_OF_RANGE}: hot junction {straight_c:.0f} degC")
    hot_c = type_k_c(emf_mv)
    if not HOT_LEAST_C <= hot_c <= HOT_MOST_C:
        return SensorFault(word, f"{OUT_OF_RANGE}: hot junction {hot_c:.0f} degC")
    return Reading(word, hot_c, cold_c)


@cache  # 12-bit steps within the accepted range: 1681 values at most
def _cold_junction_emf_mv(cold_c: float) -> float:
    return type_k_emf_mv(cold_c)
