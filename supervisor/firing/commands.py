"""What people may ask of the supervisor, and what it answers. Whatever carries them, they look like this."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, Any, NamedTuple

from supervisor.firing.profile import Profile
from supervisor.firing.reach import Contact
from supervisor.metal.charge import Planned

if TYPE_CHECKING:  # numpy is not for those who only speak of commands
    from supervisor.model.learned import Model


LONGEST_SHELF_MIN = 30.0


class By(NamedTuple):
    """Who sent it. The id is made by the sender and comes back with the answer."""

    id: str
    who: str  # 'Ada's phone', 'command line', 'stand-in'
    where: str  # 'page', 'command line', 'rehearsal': never 'furnace', which only the button is


@dataclass(frozen=True, slots=True)
class Prepare:
    """Choose profile and charge. Adds no heat."""

    by: By
    profile: Profile
    heat_number: str | None  # 'A-097'; None: a firing without metal, or one that nobody numbers
    planned: Planned | None = None  # None: the charge is the one of the profile's file
    quarantined: str = ""  # why metal of it may not be heated, as somebody said since; nobody sends it with this


@dataclass(frozen=True, slots=True)
class Start:
    """Step one of a start: reads back what was prepared. The held press at the furnace is step two."""

    by: By
    epoch: int
    profile: str
    mass_kg: float | None
    top_c: float
    longest_s: float
    allowance_wh: float
    cautions_read: bool  # the cautions of this melt were on the screen and confirmed
    drained: bool = False  # somebody looked: nothing but this charge is in the pot


@dataclass(frozen=True, slots=True)
class Hold:
    """Hold at the lowest of setpoint, reading and metal target."""

    by: By


@dataclass(frozen=True, slots=True)
class Resume:
    """Go on after a hold."""

    by: By
    epoch: int


@dataclass(frozen=True, slots=True)
class Stop:
    """Stop heating. Never refused."""

    by: By


@dataclass(frozen=True, slots=True)
class Acknowledge:
    """'I have seen it.' Resets nothing."""

    by: By
    alarm: str | None  # id of one alarm; None: all that stand


@dataclass(frozen=True, slots=True)
class Silence:
    """Quiet for two minutes, for what sounds now. It is no acknowledgement."""

    by: By


@dataclass(frozen=True, slots=True)
class Shelve:
    """Put one alarm's sound and flashing aside for a while. What it asks of the furnace goes on."""

    by: By
    alarm: str  # watch, or id of the alarm
    minutes: float
    reason: str


@dataclass(frozen=True, slots=True)
class Unshelve:
    """Take one alarm from the shelf before its time."""

    by: By
    alarm: str


@dataclass(frozen=True, slots=True)
class Reset:
    """Ask for the reset of a trip: what was found. The held press at the furnace does it.

    looked, seen: who looked at the furnace and what was seen there; a trip that said 'keep away' asks for both.
    """

    by: By
    found: str
    looked: str = ""
    seen: str = ""


DIP_C = (0.0, 1400.0)
"""What a dip reading may be; the estimate takes nothing else."""


class NoteKind(Enum):
    """What a person did or saw at the furnace."""

    ADDITION = "addition"
    SKIM = "skim"
    DIP = "dip reading"
    ALL_MOLTEN = "all molten"
    MASS = "mass"  # the whole charge, weighed again
    MOULD = "mould"  # one is full, text says which; the pot may still hold metal
    POUR = "pour"  # all that will be poured is poured
    WORD = "go on"  # ends a hold that waits for a person's word
    QUARANTINE = "quarantine"  # metal of the pot was put under quarantine: text says why
    CLEARED = "quarantine lifted"
    REMARK = "remark"


@dataclass(frozen=True, slots=True)
class Note:
    """Something done or seen. mass_kg for an addition or the whole charge, temperature_c for a dip reading."""

    by: By
    kind: NoteKind
    epoch: int | None
    mass_kg: float | None = None
    temperature_c: float | None = None
    text: str = ""


@dataclass(frozen=True, slots=True)
class Lower:
    """Lower the setpoint by by_k for the rest of the firing. Never refused."""

    by: By
    by_k: float


@dataclass(frozen=True, slots=True)
class Raise:
    """Take back some of what was lowered. Needs a press at the furnace."""

    by: By
    epoch: int
    by_k: float


@dataclass(frozen=True, slots=True)
class Attend:
    """'I am watching': the range that the chamber is in, of those that the task offers. It can add no heat."""

    by: By
    task: int  # its number, from the snapshot
    choice: int  # which of its ranges, from 0


@dataclass(frozen=True, slots=True)
class Adopt:
    """Take a learned model for the firings to come. Adds no heat now; beyond the rule a held press does it."""

    by: By
    model: "Model"
    firing_id: int | None  # the newest firing that it was learned from
    takes: int | None  # row of the earlier model that is put back, or that waited for a person
    objections: tuple[str, ...]  # what the learner said against it
    ask: bool  # with objections: ask at the furnace; otherwise only keep it
    against: Mapping[str, Any]  # what was measured and what the model makes of it: for a picture, goes into the row
    note: str


@dataclass(frozen=True, slots=True)
class Prove:
    """Make a proof: have an input followed that somebody now moves, or state what no input can witness."""

    by: By
    proof: str  # of supervisor.furnace.proofs.KINDS
    said: str = ""  # what was seen, measured or read; empty where an input witnesses it


@dataclass(frozen=True, slots=True)
class Change:
    """A part was fitted new or mended: what it takes back is proved and learned again. Adds no heat."""

    by: By
    part: str  # of supervisor.furnace.parts.PARTS
    note: str


class Practising(Enum):
    """What is done with a cold practice."""

    BEGIN = "begin"
    DONE = "done"  # the move that is practised now
    END = "end"


@dataclass(frozen=True, slots=True)
class Practise:
    """Go through a melt at the cold furnace, with no heat. It can add none."""

    by: By
    act: Practising


class Telling(Enum):
    """What there is to say of telling people."""

    CONTACTS = "contacts"  # the messenger: whom it would tell; and that it is there
    TEST = "test wanted"
    TESTED = "tested"  # what became of that test: with a code at least one address took it
    CONFIRMED = "confirmed"  # the receiver has read back the test message's code
    DELIVERED = "delivered"  # a service took the message; nobody knows more
    FAILED = "not delivered"
    HEARD = "heard"  # lamp and sounder, by somebody at the furnace


@dataclass(frozen=True, slots=True)
class Told:
    """What is known of messages to people outside, and of lamp and sounder. It can add no heat, and take none away."""

    by: By
    what: Telling
    contact: str = ""
    note: str = ""  # which message, and what became of it
    code: str = ""  # as it was read back; of a test that was sent, its SHA-256
    contacts: tuple[Contact, ...] = ()


Command = (
    Prepare
    | Start
    | Hold
    | Resume
    | Stop
    | Acknowledge
    | Silence
    | Shelve
    | Unshelve
    | Reset
    | Note
    | Lower
    | Raise
    | Adopt
    | Prove
    | Change
    | Practise
    | Attend
    | Told
)


class Answer(NamedTuple):
    """What became of a command. `unknown` is for the sender to say, when no answer came."""

    id: str
    accepted: bool
    sentence: str
