"""Words that people type into the book: kept short, on one line, and without what no screen can show."""

from collections.abc import Sequence

from supervisor.refusal import InputRefused

LONGEST_TEXT = 500


def line(field: str, typed: object, longest: int) -> str:
    """A short text on one line.

    Raises:
        InputRefused: it is longer, or holds what cannot be kept.
    """
    kept = " ".join("".join(letter if letter.isprintable() else " " for letter in str(typed)).split())
    if len(kept) > longest:
        raise InputRefused(f"{field} has {len(kept)} characters; allowed: up to {longest}")
    return kept


def text(field: str, typed: object) -> str:
    """A longer text.

    Raises:
        InputRefused: it is longer than is read.
    """
    return line(field, typed, LONGEST_TEXT)


def choice(field: str, typed: object, allowed: Sequence[str]) -> str:
    """One of a list.

    Raises:
        InputRefused: it is none of them.
    """
    if not isinstance(typed, str) or typed not in allowed:
        raise InputRefused(f"{field} is {line(field, repr(typed)[:60], 60)}; allowed: {', '.join(allowed)}")
    return typed
