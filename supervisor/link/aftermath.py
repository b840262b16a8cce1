"""What trouble has left behind, for whoever looks now: may metal be liquid, what happened, what not to do."""

from supervisor.cycle import Memory
from supervisor.firing.gate import SOLID_BELOW_C


def perhaps_liquid(memory: Memory) -> bool:
    """Metal may be liquid: it was hot enough, nobody noted a pour, and the chamber has not cooled far since."""
    firing = memory.firing
    run, reading = firing.run, memory.belief.reading
    if reading is not None and reading.hot_junction_c < SOLID_BELOW_C:
        return False
    if run is None:
        return firing.liquid_left
    return firing.liquid_left or (run.gate.may_be_liquid and not run.poured)
