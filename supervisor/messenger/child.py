"""The process that sends one message to one address and ends: the library that knows the services lives here alone.

It is given everything on standard input, so that no address stands in a list of processes, and answers with one line.
"""

import json
import logging
import os
import re
import signal
import sys
from typing import Any
from urllib.parse import unquote

SEND_S = 10
"""Real seconds for a service to take a message; then it counts as not taken."""
BEGIN_S = 20
"""Real seconds that a slow computer may need to get ready to send: the library alone takes some of them several."""
_LEAST_SECRET = 3
_LONGEST_WHY = 160


def main() -> None:
    """Read {address, title, body}, send, answer {ok, why}. Should nobody else end it, it ends itself."""
    signal.alarm(BEGIN_S + SEND_S)
    answer = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)  # whatever a service's part prints, it is not the answer
    letter = json.loads(sys.stdin.buffer.read())
    ok, why = send(letter["address"], letter["title"], letter["body"])
    with answer:
        json.dump({"ok": ok, "why": why}, answer)


class _TooLate(BaseException):
    """The service took too long. No part of the library may catch it as an error of its own."""


def _give_up(*_: object) -> None:
    raise _TooLate


def send(address: str, title: str, body: str) -> tuple[bool, str]:
    """Send a message; whether the service took it, and if not, why, without the address."""
    import apprise  # 19 MB: in this process alone

    signal.signal(signal.SIGALRM, _give_up)
    signal.alarm(SEND_S)
    library: Any = apprise  # not all of it has types
    asset = library.AppriseAsset(app_id="meltkeeper", app_desc="furnace", app_url="", async_mode=False)
    post = library.Apprise(asset=asset)
    with library.LogCapture(level=logging.WARNING, fmt="%(message)s") as said:
        if not post.add(address):
            return False, "the address is not understood, or its service needs a package that is not installed"
        try:
            ok = bool(post.notify(title=title, body=body, body_format=library.NotifyFormat.TEXT))
        except _TooLate:
            return False, f"no answer within {SEND_S} s"
        words = "" if ok else said.getvalue()
    return ok, "" if ok else without_secrets(words, address) or "the service did not take it"


def without_secrets(words: str, address: str) -> str:
    """The last line of what a service's part said, with every piece of the address taken out."""
    lines = [line for line in words.splitlines() if line.strip()]
    line = lines[-1].strip() if lines else ""
    rest = address.partition("://")[2]
    pieces = {address, *re.split(r"[:/@?&=#,;\s]+", rest)}
    pieces |= {unquote(piece) for piece in pieces} | set(re.split(r"[:/@?&=#,;\s]+", unquote(rest)))
    for piece in sorted(pieces, key=len, reverse=True):
        if len(piece) >= _LEAST_SECRET:
            line = re.sub(re.escape(piece), "…", line, flags=re.IGNORECASE)
    return "".join(letter for letter in line if letter.isprintable())[:_LONGEST_WHY]


def request(address: str, title: str, body: str) -> bytes:
    """What the process is given."""
    message: dict[str, Any] = {"address": address, "title": title, "body": body}
    return json.dumps(message).encode()


if __name__ == "__main__":
    main()
