"""What a firing would take that nobody has prepared: for the page that plans a melt. It changes nothing."""

from math import sqrt
from typing import Any

from supervisor.cycle import Memory
from supervisor.firing.charged import charged
from supervisor.firing.firing import WARM_C
from supervisor.firing.follow import CANNOT
from supervisor.firing.governor import highest_c
from supervisor.firing.profile import Profile, top_hold_c
from supervisor.furnace.reckoning import ROOM_C
from supervisor.metal.charge import Planned
from supervisor.model.forecast import forecast
from supervisor.model.learned import usable_for_boost
from supervisor.refusal import InputRefused


def what_if(memory: Memory, profile: Profile, planned: Planned | None) -> tuple[dict[str, Any] | None, str]:
    """The forecast of a firing begun now, and why there is none: one of the two is empty.

    It reads what the cycle writes, each value once, so any thread may call it; it takes some tens of milliseconds.
    """
    furnace, adviser = memory.furnace, memory.firing.adviser
    reading_c = ROOM_C if memory.belief.last_c is None else memory.belief.last_c
    model = None if adviser.plain else adviser.adopted
    try:
        if planned is not None:
            profile = charged(profile, planned, furnace)
        cap_c = None
        if model is not None and usable_for_boost(model, furnace) is None:
            top_c = min(profile.top_c, furnace.top_c)
            cap_c = highest_c(top_hold_c(profile), top_c, furnace.limiter_c, warm=reading_c > WARM_C)
        mains = sqrt(adviser.meter.ratio(furnace.pulses_per_kwh))  # of the firing before
        found = forecast(
            furnace, model, profile, reading_c=reading_c, mains_factor=mains, cap_c=cap_c, tariff=furnace.tariff
        )
    except InputRefused as error:
        return None, f"{error}."
    except CANNOT:
        return None, "It cannot be reckoned for this furnace."
    prices = None if furnace.tariff is None else furnace.tariff._asdict()
    return found.as_object() | {"prices": prices}, ""
