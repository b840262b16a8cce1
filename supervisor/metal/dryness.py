"""Dryness: a dated proof, never a habit. What is not known to be dry counts as wet.

Any water that gets under liquid metal turns to steam at once and throws the metal out. A proof ends after twelve hours
(our choice: a night in a shed takes up what was driven out), or when the thing was stored cold.
"""

from typing import NamedTuple

from supervisor.metal.held import DRY_AT_C

GOOD_FOR_H = 12.0
CLOCK_GIVE_MS = 600_000
"""A proof dated later than now by more than this means that a clock is wrong."""

OVEN_LEAST_MIN = 60
"""Minutes in an oven outside the furnace, at DRY_AT_C or more: small lots, spread out (our choice)."""

OVEN_MOST_C = 350.0
"""Hotter is no drying of aluminium scrap (our choice)."""

HOW = f"Dry it at {DRY_AT_C:g} °C or more, spread out, and write down when and how long"


class Proof(NamedTuple):
    """Something was held hot until a moment."""

    to_utc_ms: int  # when it came out of the heat
    held_c: float
    held_s: float
    ended: str  # why it counts no more: 'stored cold'; empty: it may still count


def until_ms(proof: Proof) -> int:
    """When a proof ends by itself, ms of UTC."""
    return proof.to_utc_ms + round(GOOD_FOR_H * 3_600_000)


def refusal(name: str, proof: Proof | None, now_ms: int) -> str:
    """Why a thing does not count as dry now, in a sentence; empty: it is proved dry and in date."""
    if proof is None:
        return f"{name} is not proved dry."
    if proof.ended:
        return f"{name} was dried, and then {proof.ended}: that proof is over."
    if proof.to_utc_ms > now_ms + CLOCK_GIVE_MS:
        return f"{name} has a proof dated later than now: set the clock, then look again."
    if now_ms > until_ms(proof):
        hours = (now_ms - proof.to_utc_ms) / 3_600_000
        return f"{name} was dried {_ago(hours)} ago; a proof ends after {GOOD_FOR_H:g} h."
    if not proof.held_c >= DRY_AT_C:
        return f"{name} was held at {proof.held_c:.0f} °C; a proof asks for {DRY_AT_C:g} °C or more."
    return ""


def _ago(hours: float) -> str:
    return f"{hours:.0f} h" if hours < 48.0 else f"{hours / 24.0:.0f} days"
