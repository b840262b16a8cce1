"""`python -m tests.campaigns.bounds`: how soon any test at all could know of a fault from the reading.

Two copies of one simulated furnace go on from one moment with the same heat ordered; one of them has the fault. Their
readings differ by s(1), s(2), ... K, seconds after it, free of noise. Were the furnace known perfectly, the best test
that there is (Neyman and Pearson: the likelihood ratio of this very course against none, in white noise of standard
deviation sd) speaks falsely once in 1000 h and finds nine in ten as soon as

    sqrt(s(1)^2 + ... + s(t)^2) / sd >= 5.0 + 1.3

the normal distribution's points for 1 in 3.6 million seconds and for 1 in 10. No furnace is known perfectly, and nobody
knows beforehand which fault will come and when: real tests are later. Everything is simulated.
"""

import json
from math import sqrt
from typing import NamedTuple

import click

from hardware.simulated.plant import Bench

AT_C = (150.0, 300.0, 450.0, 580.0, 660.0, 740.0)
SOAKED_S, DUTY_OVER_S = 3600, 900
LED_IN_S, FOLLOWED_S = 120, 120
NOISE_K = 0.2
"""Of one second's reading: the middle of four with 0.3 K each, and steps of 0.25 K (simulated)."""
FALSE_Z, FOUND_Z = 5.0, 1.3
FAULTS = ("sensor slips out in 15 s", "lid opened unseen", "no heat arrives")


class Bound(NamedTuple):
    """Of one fault at one temperature. seconds: None: not within two minutes. after_5_s_k: off by so much then."""

    fault: str
    at_c: float
    duty: float
    after_5_s_k: float
    seconds: int | None


class Pair:
    """Two furnaces of one seed, with the same dice: what differs between their readings has no noise in it."""

    def __init__(self, seed: int) -> None:
        self.healthy, self.faulty = Bench(seed=seed), Bench(seed=seed)

    def second(self, on: bool, fault: str = "") -> float:
        """Go on by one second; how far the second one's reading is off."""
        heats, opened = on and fault != FAULTS[2], fault == FAULTS[1]
        for _ in range(2):
            self.healthy.step(0.5, element_on=on, lid_open=False, mains_factor=1.0)
            self.faulty.step(0.5, element_on=heats, lid_open=opened, mains_factor=1.0)
        return self.faulty.state.hot_junction_c - self.healthy.state.hot_junction_c

    def held(self, at_c: float) -> float:
        """Hold at_c on and off for an hour; the duty that it takes."""
        reading_c, ordered = 0.0, 0
        for second in range(SOAKED_S):
            on = reading_c < at_c
            ordered += on and second >= SOAKED_S - DUTY_OVER_S
            self.second(on)
            reading_c = self.healthy.state.hot_junction_c
            _ = self.faulty.state  # drawn as often
        return ordered / DUTY_OVER_S


def bound(seed: int, fault: str, at_c: float, duty: float | None) -> Bound:
    """On the furnace of this seed, empty, held at at_c; duty None: with what that takes, in windows of ten seconds."""
    pair = Pair(seed)
    held = pair.held(at_c)
    duty = held if duty is None else duty
    orders = [second % 10 < round(10.0 * duty) for second in range(LED_IN_S + FOLLOWED_S)]
    for on in orders[:LED_IN_S]:
        pair.second(on)
    if fault == FAULTS[0]:
        pair.faulty.disturb("sensor_slip", 1.0)
    square, after_5_s_k, found = 0.0, 0.0, None
    for second, on in enumerate(orders[LED_IN_S:], start=1):
        off_k = pair.second(on, fault)
        square += off_k * off_k
        after_5_s_k = off_k if second == 5 else after_5_s_k
        if sqrt(square) / NOISE_K >= FALSE_Z + FOUND_Z:
            found = second if found is None else found
    return Bound(fault, at_c, duty, after_5_s_k, found)


def bounds(seed: int) -> list[Bound]:
    """Every fault at every temperature, held and at full power."""
    return [bound(seed, fault, at_c, duty) for fault in FAULTS for duty in (None, 1.0) for at_c in AT_C]


@click.command()
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def main(seed: int, as_json: bool) -> None:
    """Print them."""
    found = bounds(seed)
    if as_json:
        click.echo(json.dumps({"simulated": True, "bounds": [one._asdict() for one in found]}))
        return
    for one in found:
        seconds = f"not within {FOLLOWED_S} s" if one.seconds is None else f"{one.seconds} s"
        click.echo(
            f"{one.fault:26} {one.at_c:4.0f} °C, duty {one.duty:.2f}: off by {one.after_5_s_k:+6.2f} K after 5 s; "
            f"known after {seconds} at the earliest (simulated)"
        )


if __name__ == "__main__":
    main()
