"""What is watched where another regulator heats: all that the reading, the inputs and the computer can tell alone.

Nothing here can act on a furnace that it does not heat, so a finding there asks nothing of the firing: it is told.
"""

from collections.abc import Sequence

from supervisor.watches import Watch
from supervisor.watches.finding import NOTHING, Finding

TOLD = frozenset(
    {
        "no-reading",
        "sensor-open",
        "sensor-shorted",
        "sensor-silent",
        "sensor-corrupt",
        "reading-old",
        "samples-stale",
        "reading-frozen",
        "rate-impossible",
        "sensor-noisy",
        "cold-junction-hot",
        "hard-cap",
        "sensors-disagree",
        "tray-wet",
        "supply-weak",
        "processor-hot",
        "clock-untrusted",
        "log-behind",
        "log-lost",
        "log-space-low",
        "messages-fail",
    }
)
"""All others go by what was ordered, by the chain, or by somebody who was asked for a sign."""


def asked(watches: Sequence[Watch]) -> tuple[Watch, ...]:
    """Of these watches, those that mean something here."""
    return tuple(watch for watch in watches if watch.id in TOLD)


def told(finding: Finding) -> Finding:
    """The finding without anything that it would ask: there is nobody here who could do it."""
    return finding._replace(reaction=NOTHING)
