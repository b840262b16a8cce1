"""Settings of single firings, drawn from a seed."""

from functools import partial
from random import Random

from supervisor.rehearsal.drill import profiles
from supervisor.rehearsal.drill.people import happenings
from supervisor.rehearsal.drill.subject import Known, Subject
from supervisor.rehearsal.drill.trial import Setting
from supervisor.rehearsal.drill.warm import drawn

LAST_HOLD_MIN = 75
"""A drilled melt is held for so long after the word: slow faults come in holds, and take minutes to be seen."""

MASS_WITHIN = 0.1


def drilled(of: Subject, furnace_seed: int, seed: int, known: Known) -> Setting:
    """A melt to put faults into: nobody does anything else in it. furnace_seed: which furnace; seed: which firing."""
    dice = Random(f"{seed} drilled")
    profile = profiles.melt(dice, of.furnace, of.alloys, last_hold_min=LAST_HOLD_MIN)
    return Setting(
        of.furnace,
        partial(of.make, furnace_seed),
        profile,
        seed,
        round(dice.uniform(2.0, 40.0), 1),
        known=known,
        true_mass=dice.uniform(1.0 - MASS_WITHIN, 1.0 + MASS_WITHIN),
    )


def healthy(of: Subject, furnace_seed: int, seed: int, known: Known, *, quick: bool = False) -> Setting:
    """A firing in which nothing is wrong: lids, holds, additions, cold and warm starts."""
    dice = Random(f"{seed} healthy")
    profile = profiles.quick(dice, of.furnace) if quick else profiles.any_profile(dice, of.furnace, of.alloys)
    done = happenings(dice, of.furnace, profile)
    before = drawn(dice) if profile.charge is not None and dice.random() < 0.3 else None
    return Setting(
        of.furnace,
        partial(of.make, furnace_seed),
        profile,
        seed,
        round(dice.uniform(2.0, 45.0), 1),
        done,
        known,
        true_mass=dice.uniform(1.0 - MASS_WITHIN, 1.0 + MASS_WITHIN),
        before=before,
    )
