"""What trouble has left behind, for whoever looks now: may metal be liquid, what happened, what not to do."""

from supervisor.cycle import Memory


def perhaps_liquid(memory: Memory) -> bool:
    """Metal may be liquid inside."""
    return memory.firing.perhaps_liquid
