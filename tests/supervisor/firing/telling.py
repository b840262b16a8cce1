"""A furnace at hand with people who can be told, and the verbs of the messenger and of those who answer."""

from supervisor.firing import commands as c
from supervisor.firing.reach import Contact, code_digest
from tests.supervisor.furnace_at_hand import FurnaceAtHand

ADA = Contact("Ada", "first", ("json://… (a1b2)",), (), "key of Ada")
BEN = Contact("Ben", "second", ("json://… (c3d4)",), (3,), "key of Ben")
NOON_MS = 1_789_000_000_000
DAY_MS = 86_400_000


def tell(hand: FurnaceAtHand, what: c.Telling, **fields: object) -> c.Answer:
    return hand.send(c.Told(hand.by("messenger"), what, **fields))  # type: ignore[arg-type]


def report_contacts(hand: FurnaceAtHand, *contacts: Contact, trouble: str = "") -> None:
    reach = hand.memory.firing.reach
    reach.utc_ms = reach.utc_ms or NOON_MS
    assert tell(hand, c.Telling.CONTACTS, contacts=contacts or (ADA, BEN), note=trouble).accepted


def confirm(hand: FurnaceAtHand, name: str, code: str = "2A3B4C") -> c.Answer:
    assert tell(hand, c.Telling.TEST, contact=name).accepted
    assert tell(hand, c.Telling.TESTED, contact=name, code=code_digest(code)).accepted
    return tell(hand, c.Telling.CONFIRMED, code=f"{code[:3].lower()}-{code[3:]}")


def proved(hand: FurnaceAtHand) -> FurnaceAtHand:
    """Both contacts have confirmed, and lamp and sounder were heard."""
    report_contacts(hand)
    for name in ("Ada", "Ben"):
        assert confirm(hand, name).accepted
    assert tell(hand, c.Telling.HEARD).accepted
    return hand
