"""A furnace at hand that has learned, charged under an open lid as a person does it."""

from functools import cache
from typing import Any, Literal

import numpy as np

from supervisor.cycle import first_memory
from supervisor.firing.presses import Asked
from supervisor.firing.profile import Hold, Profile, Ramp
from supervisor.firing.states import State
from supervisor.furnace.description import FurnaceDescription
from supervisor.metal.alloys import charge
from supervisor.model.learn import learn
from supervisor.model.learned import Model, parts_digest
from supervisor.model.reduced import FACTORS, PRIORS
from tests.supervisor.furnace_at_hand import BENCH, PLANTS, WORKSHOP, FurnaceAtHand, furnace_at_hand
from tests.supervisor.model.melts import melt


def as_described(
    furnace: FurnaceDescription, *, firings: int = 3, sd: float = 0.3, negative: bool = False, **factors: float
) -> Model:
    """A model that found the furnace as its file describes it, but for the given logarithms of factors.

    sd: standard errors, as a share of what was not known before. negative: a covariance that cannot be.
    """
    log_sd = np.array([sd * PRIORS[name] for name in FACTORS])
    return Model(
        log_factors=tuple(factors.get(name, 0.0) for name in FACTORS),
        log_sd=tuple(log_sd),
        covariance=tuple(tuple(row) for row in np.diag(-1.0 * log_sd**2 if negative else log_sd**2)),
        learned_from=tuple(range(1, firings + 1)),
        metered=True,
        residual_k={},
        low_c=20.0,
        high_c=850.0,
        furnace_digest=parts_digest(furnace),
        made_utc_ms=0,
    )


@cache
def learned(name: str, *, seed: int = 1, spread: float = 0.0) -> Model:
    """What three ordinary melts of this simulated furnace teach, power measured."""
    furnace = {"bench": BENCH, "workshop": WORKSHOP}[name]
    most_kg = furnace.crucible.capacity_kg
    masses_kg = (0.4 * most_kg, 0.65 * most_kg, 0.9 * most_kg)
    return learn(
        furnace,
        [
            melt(PLANTS[name](seed=seed, spread=spread), furnace, mass_kg=kg, firing_id=number).firing
            for number, kg in enumerate(masses_kg, start=1)
        ],
    )


def boosted_melt(*, mass_kg: float = 2.0, rate_c_per_h: float = 2000.0, top_c: float = 800.0) -> Profile:
    """As fast as it goes to 740 °C, with room for a boost."""
    segments = (Ramp(740.0, rate_c_per_h, None), Hold(300.0, 5.0, True), Hold(120.0, None, False))
    metal = charge(mass_kg, "6082", "off-cuts")
    return Profile("Melt with a boost", segments, top_c, 720.0, 3.5 * 3600.0, metal, "")


def knowing(
    name: str = "bench",
    *,
    model: Model | Literal["learned"] | None = "learned",
    drained: bool = True,
    controller: Literal["model", "plain"] = "model",
    seed: int = 1,
    spread: float = 0.0,
    **made: Any,
) -> FurnaceAtHand:
    """A furnace whose supervisor has a model, and a pot that is known to be empty."""
    hand = furnace_at_hand(name, seed=seed, spread=spread, **made)
    memory, furnace = hand.memory, hand.memory.furnace
    hand.memory = first_memory(
        furnace,
        backend=memory.backend,
        monotonic_s=memory.belief.monotonic_s,
        next_firing_id=1,
        left_open=None,
        knowing=learned(name, seed=seed, spread=spread) if model == "learned" else model,
        controller=controller,
        drained=drained,
    )
    hand.memory.firing.cold_checked = memory.firing.cold_checked
    return hand


def charged(hand: FurnaceAtHand, profile: Profile, *, really_kg: float | None = None, lid_moves: bool = True) -> None:
    """From stopped to running: prepare, metal in under an open lid, step one, the held press. Somebody stays there."""
    assert profile.charge is not None
    hand.wait(1.0)
    hand.prepare(profile)
    if lid_moves:
        hand.furnace.lid(open=True)
        hand.wait(2.0)
    hand.furnace.add_charge(really_kg or profile.charge.mass_kg, 20.0, profile.charge.alloy)
    hand.furnace.lid(open=False)
    hand.wait(2.0)
    answer = hand.send(hand.start_command())
    assert answer.accepted, answer
    hand.run_until(lambda: hand.asked is Asked.START, 20.0)
    hand.hold_button()
    hand.run_until(lambda: hand.state is State.RUNNING, 20.0)
    hand.answer_everything()


def of_doubtful_mass(*, entered_kg: float, really_kg: float) -> FurnaceAtHand:
    """Cold metal, and the mass that was entered has just been doubted."""
    hand = knowing()
    charged(hand, boosted_melt(mass_kg=entered_kg), really_kg=really_kg)
    run = hand.memory.firing.run
    assert run is not None
    hand.run_until(lambda: run.mass_doubt is not None, 2400.0)
    return hand


def in_a_boost(*, metal_c: float = 600.0, **made: Any) -> FurnaceAtHand:
    """Cold metal, somebody there, the chamber above the metal's target."""
    hand = knowing(**made)
    charged(hand, boosted_melt())
    run = hand.memory.firing.run
    assert run is not None
    hand.run_until(lambda: run.boost.on and hand.furnace.state.metal_mean_c >= metal_c, 3600.0)
    return hand


def all_liquid(since_s: int) -> FurnaceAtHand:
    """A little metal, of which all was called liquid so many seconds ago."""
    hand = knowing()
    charged(hand, boosted_melt(mass_kg=0.6))
    hand.answer_everything()
    hand.run_until(lambda: hand.memory.adviser.follow.liquid_s > since_s, 6000.0)
    return hand
