"""Telling the furnace that runs now what the book knows of its metal."""

import getpass
from collections.abc import Sequence
from pathlib import Path

from supervisor.link.client import SOCKET_NAME, Link, LinkSilent


def tell_furnace(data: Path, melts: Sequence[str], text: str, *, lifted: bool) -> str:
    """Tell the furnace that metal of its pot is under quarantine, or no more; what came of it, in a sentence.

    melts: heat numbers that it concerns. Empty: no such charge is heated or prepared here.
    """
    try:
        link = Link(data / SOCKET_NAME)
        snapshot = link.snapshot()
        if snapshot["heat_number"] not in melts:
            return ""
        kind = "quarantine lifted" if lifted else "quarantine"
        note = {"command": "note", "kind": kind, "text": text[:500], "who": getpass.getuser(), "where": "book"}
        answer = link.send(note)
    except LinkSilent:
        return ""
    if answer.accepted:
        word = "is told that the quarantine is lifted" if lifted else "is told: its metal is under quarantine"
        what = "firing" if snapshot["firing"] is not None else "charge"
        at = "that runs now" if what == "firing" else "that is prepared"
        return f"The {what} of {snapshot['heat_number']} {at} {word}."
    return f"The furnace has {snapshot['heat_number']} now and was not told: {answer.sentence}"
