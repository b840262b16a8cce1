"""Proofs that the relay lets go: each ends proved, failed or undecided, and undecided is never proved.

Taken where they cost nothing: by current input or meter in whatever off-time the relay's window leaves; without either
by a hold that settles at less power than a relay that leaks would give. Only where nothing has proved it when the gate
is about to open, one pulse of 30 s without heat is paid for.
"""

from dataclasses import dataclass
from enum import Enum
from typing import NamedTuple


class Result(Enum):
    """What a proof came to."""

    PROVED = "proved"
    FAILED = "failed"
    UNDECIDED = "undecided"


class Proof(NamedTuple):
    """One proof with its evidence."""

    result: Result
    at_s: float
    how: str  # 'at the start', 'settled hold', 'meter', 'current input', 'pulse'
    evidence: str


@dataclass(slots=True)
class Proofs:
    """What is known of the relay. Changed by the functions of this module alone."""

    last: Proof | None = None
    undecided: int = 0  # in a row
    pulse_since_s: float | None = None  # a paid pulse runs since then: no heat
    pulsed: bool = False  # in this firing
    doubt: str | None = None  # why a person is told

    def begin(self) -> None:
        """A firing begins: what was proved in another one is proved anew."""
        self.last, self.undecided, self.pulse_since_s, self.pulsed, self.doubt = None, 0, None, False, None
