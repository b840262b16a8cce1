"""A simulated MAX31855 and the SPI bus it sits on: frames from temperatures, and everything that can spoil them."""

from collections.abc import Callable
from enum import Enum
from random import Random

from hardware.sensor import CHIP_MV_PER_K, SpiBus
from hardware.type_k import type_k_emf_mv

OPEN_BIT, GROUND_BIT, SUPPLY_BIT = 0x1, 0x2, 0x4
_ANY_FAULT_BIT = 0x0001_0000
BLOCK_S = 0.3
"""How long a blocking transfer takes, s: longer than a cycle."""


class Conduct(Enum):
    """How the bus itself behaves during a transaction."""

    ANSWERS = "answers"
    FILLS_NOTHING = "fills nothing"
    HALF_A_FRAME = "half a frame"
    FAILS = "fails"
    BLOCKS = "blocks"


class Chip:
    """One MAX31855: it turns the true temperatures of both junctions into frames as the real part does.

    The part knows no curve: it divides the emf by one sensitivity and adds its own temperature.
    Source: MAX31855 data sheet, tables 1 and 2.
    """

    def __init__(self, seed: int) -> None:
        """Start healthy, at 20 degC, with its own random bit flips from the seed."""
        self.hot_c = 20.0
        self.cold_c = 20.0
        self.fault_bits = 0
        self.forced_word: int | None = None
        self.flipped_share = 0.0
        self.open_share = 0.0  # of frames in which a loose contact is open
        self.noise_k = 0.0  # standard deviation, on top of the plant's own
        self.leads_shorted = False  # the wires touch: the chip sees its own terminals
        self.reversed = False  # the wires are swapped: the emf has the other sign
        self.touching = False  # the wires touch at the board: no emf comes through
        self.conduct = Conduct.ANSWERS
        self._random = Random(seed)
        self._emf_of_cold = (20.0, type_k_emf_mv(20.0))

    def frame(self) -> int:
        """Give the 32 bits that the chip would clock out now."""
        if self.forced_word is not None:
            return self.forced_word
        cold_c = self.cold_c
        if self._emf_of_cold[0] != cold_c:
            self._emf_of_cold = (cold_c, type_k_emf_mv(cold_c))
        hot_c = self.hot_c + self._random.gauss(0.0, self.noise_k) if self.noise_k else self.hot_c
        emf_mv = 0.0 if self.leads_shorted else type_k_emf_mv(hot_c) - self._emf_of_cold[1]
        if self.touching:
            emf_mv = 0.0
        straight_c = (-emf_mv if self.reversed else emf_mv) / CHIP_MV_PER_K + cold_c
        fault_bits = self.fault_bits
        if self.open_share and self._random.random() < self.open_share:
            fault_bits |= OPEN_BIT
        word = frame_from_codes(round(straight_c * 4.0), round(cold_c * 16.0), fault_bits)
        if self.flipped_share and self._random.random() < self.flipped_share:
            for _ in range(self._random.randint(1, 3)):
                word ^= 1 << self._random.randrange(32)
        return word

    def freeze(self) -> None:
        """Answer the frame of this moment from now on."""
        self.forced_word = None
        self.forced_word = self.frame()


def frame_from_codes(hot_code: int, cold_code: int, fault_bits: int = 0) -> int:
    """Build a frame from the hot junction in 0.25 K, the cold one in 0.0625 K, and the fault bits 2 to 0."""
    hot_code = min(max(hot_code, -0x2000), 0x1FFF)
    cold_code = min(max(cold_code, -0x800), 0x7FF)
    word = (hot_code & 0x3FFF) << 18 | (cold_code & 0xFFF) << 4
    return word | _ANY_FAULT_BIT | fault_bits if fault_bits else word


class SimulatedBus(SpiBus):
    """The SPI bus with one chip on it; counts its reads.

    `answer` gives word and conduct at each read: a chip's in the process, or what came over a wire.
    `block` is called with the seconds that a blocking transfer takes.
    """

    def __init__(self, answer: Callable[[], tuple[int, Conduct]], block: Callable[[float], None]) -> None:
        super().__init__()
        self.reads = 0
        self._answer = answer
        self._block = block

    def readinto(self, buffer: bytearray) -> None:
        """Fill the buffer with a frame, or fail as the conduct says."""
        self.reads += 1
        word, conduct = self._answer()
        if conduct is Conduct.ANSWERS:
            buffer[:] = word.to_bytes(4, "big")
        elif conduct is Conduct.HALF_A_FRAME:
            buffer[:2] = word.to_bytes(4, "big")[:2]
        elif conduct is Conduct.FAILS:
            raise OSError(5, "Input/output error")
        elif conduct is Conduct.BLOCKS:
            self._block(BLOCK_S)
            buffer[:] = word.to_bytes(4, "big")
