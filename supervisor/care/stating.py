"""What people measured or saw of the furnace, on its way into the book: the same for page and command."""

from supervisor.book.writing import Book
from supervisor.care.keeping import enter
from supervisor.care.sensor import boiling_c, fixed_point
from supervisor.logbook.reading import Log
from supervisor.refusal import InputRefused, refusal

POTS = ("clay-graphite", "silicon carbide")
LEAST_WORDS = 10


def voltage(
    log: Log,
    book: Book,
    volts: float,
    now_ms: int,
    *,
    firing: int | None = None,
    minute: float | None = None,
    note: str,
) -> str:
    """Mains voltage read while the element heats; firing None: the newest, minute None: now, or its middle. The answer.

    Raises:
        InputRefused: no such firing or minute, or no such voltage.
    """
    at = log.firing(firing) if firing is not None else next(iter(log.firings(limit=1)), None)
    if at is None:
        raise InputRefused("There is no firing yet that a voltage could have been read in.")
    now_s = (now_ms - at.started_utc_ms) / 1000.0
    lasted_s = now_s if at.state == "open" else at.lasted_s or 0.0
    t_s = 60.0 * minute if minute is not None else now_s if at.state == "open" else lasted_s / 2.0
    if not 0.0 <= t_s <= lasted_s:
        raise refusal("care", "minute", minute, f"a minute of firing {at.id}, 0 to {lasted_s / 60.0:.0f}")
    enter(book, "mains voltage", value=volts, firing_id=at.id, note=note, detail={"t_s": round(t_s, 1)})
    return f"Kept: {volts:g} V in {at.name}, minute {t_s / 60.0:.0f}. It counts when the firing is over."


def fixed(
    book: Book, kind: str, read_c: float, *, altitude_m: float | None = None, pressure_hpa: float | None = None
) -> str:
    """A reading in ice or boiling water, judged and kept; the answer.

    Raises:
        InputRefused: a number is missing or out of range.
    """
    true_c = 0.0 if kind == "ice check" else boiling_c(altitude_m, pressure_hpa)
    passed, words = fixed_point(read_c, true_c)
    enter(book, kind, value=read_c, note=words, detail={"true_c": round(true_c, 2), "passed": passed})
    return f"{kind[:1].upper()}{kind[1:]}: {words}"


def looked(book: Book, kind: str, *, cracked: bool, note: str) -> str:
    """How the pot looked; the answer.

    Raises:
        InputRefused: no such kind of pot.
    """
    if kind not in POTS:
        raise refusal("care", "kind", kind, ", ".join(POTS))
    enter(book, "crucible look", note=note, detail={"kind": kind, "cracked": cracked})
    return "Kept: cracked. It is not charged again." if cracked else "Kept: whole."


def near_miss(book: Book, text: str) -> int:
    """What nearly went wrong; its number.

    Raises:
        InputRefused: it says too little.
    """
    if len(text.strip()) < LEAST_WORDS:
        raise refusal("near miss", "text", text, "what nearly went wrong, in a sentence")
    return enter(book, "near miss", note=text)


def dead_ohms(book: Book, ohms: float, by: str) -> str:
    """Ohms of the dead element; the answer.

    Raises:
        InputRefused: nobody is named, or the number is out of range.
    """
    if len(by.strip()) < 3:
        raise refusal("care", "by", by, "who isolated, locked off, proved dead and measured")
    enter(book, "cold ohms", value=ohms, note=by)
    return f"Kept: {ohms:g} ohm, dead, by {by.strip()}."
