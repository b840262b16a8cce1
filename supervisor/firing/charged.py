"""A profile with another charge than its file names: the one that was planned and weighed."""

from dataclasses import replace

from supervisor.firing.profile import Profile, top_hold_c
from supervisor.furnace.description import FurnaceDescription
from supervisor.metal.alloys import UNKNOWN
from supervisor.metal.charge import Planned
from supervisor.metal.enthalpy import MELTING_C
from supervisor.refusal import InputRefused, refusal

LEAST_SOLIDUS_C, MOST_LIQUIDUS_C = 400.0, 700.0
"""No aluminium alloy that is melted at home begins lower or ends higher (our choice: the table has 477 to 657)."""


def charged(profile: Profile, planned: Planned, furnace: FurnaceDescription) -> Profile:
    """The profile with this charge and its pouring temperature.

    Raises:
        InputRefused: the pot does not take it, it cannot be metal of this kind, or the profile does not get it there.
    """
    charge, pour_c, _ = planned
    capacity_kg, source = furnace.crucible.capacity_kg, "charge"
    if not 0.0 < charge.mass_kg <= capacity_kg:
        allowed = f"above 0 kg, up to {capacity_kg:g} kg, what the crucible of {furnace.title} holds"
        raise refusal(source, "mass_kg", charge.mass_kg, allowed)
    if charge.solidus_c is not None:
        if charge.alloy == UNKNOWN:
            raise refusal(source, "solidus_c", charge.solidus_c, "nothing for unknown metal: nobody knows it")
        if not LEAST_SOLIDUS_C <= charge.solidus_c < MELTING_C:
            allowed = f"{LEAST_SOLIDUS_C:g} to less than {MELTING_C:g} °C"
            raise refusal(source, "solidus_c", charge.solidus_c, allowed)
    lowest_c = LEAST_SOLIDUS_C if charge.solidus_c is None else charge.solidus_c
    if charge.liquidus_c is not None and not lowest_c < charge.liquidus_c <= MOST_LIQUIDUS_C:
        raise refusal(source, "liquidus_c", charge.liquidus_c, f"above {lowest_c:g}, up to {MOST_LIQUIDUS_C:g} °C")
    if (charge.solidus_c is None) != (charge.liquidus_c is None):
        raise InputRefused("charge: solidus_c or liquidus_c is missing; allowed: both, or none for unknown metal")
    liquidus_c = MELTING_C if charge.liquidus_c is None else charge.liquidus_c
    highest_c = top_hold_c(profile)
    if not liquidus_c <= pour_c <= highest_c:
        allowed = f"{liquidus_c:g} °C, where all is liquid, to {highest_c:g} °C, the highest ramp of {profile.name}"
        raise refusal(source, "pour_c", pour_c, allowed)
    return replace(profile, charge=charge, pour_c=pour_c)
