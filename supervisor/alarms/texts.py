"""What people read: one place for every alarm's cause, consequence and act.

Sentences that a frightened person can follow. Whether heat is off is never said here: `proved` knows what is proved,
and says it. No act asks for hands in a hot chamber; what is done to wires is done with the supply isolated, and what
needs a licence by a licensed person.

Priority 1: now, or it has already acted and somebody must look; 2: within ten minutes; 3: in this melt; 0: no alarm,
nothing to do, but worth a line in the log. After ISA-18.2 (IEC 62682): an alarm has cause, consequence, act and a time.
"""

from supervisor.alarms.text import Text
from supervisor.alarms.texts_chain import CHAIN
from supervisor.alarms.texts_heat import HEAT
from supervisor.alarms.texts_people import PEOPLE

TEXTS: dict[str, Text] = {**HEAT, **CHAIN, **PEOPLE}
