"""Pairing: a code makes a phone one of the furnace's own.

8 characters out of 31 (no 0, O, 1, I or L), good for five minutes, once, and for five wrong tries at most. The phone
then carries a token of 256 random bits; the book keeps only digests. Source: OWASP ASVS 5.0 (working text), 6.4.1 and
7.2.3: an initial secret is random, single use, and expires; tokens have at least 128 bits. It is shown at the console,
and on a phone that already runs the furnace.
"""

import secrets
from hashlib import sha256
from hmac import compare_digest
from typing import NamedTuple

from web.book import Book
from web.roles import Role

LETTERS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
LENGTH = 8
GOOD_FOR_MS = 5 * 60 * 1000
WRONG_TRIES = 5


class Paired(NamedTuple):
    """A phone was paired: its id, its role, and the token that it carries from now on."""

    phone_id: int
    role: Role
    token: str


def digest(secret: str) -> str:
    """SHA-256 of a secret, hex: what the book keeps of it."""
    return sha256(secret.encode()).hexdigest()


def new_code(book: Book, utc_ms: int, role: Role = "run") -> str:
    """Make a code for one phone; any older one dies."""
    code = "".join(secrets.choice(LETTERS) for _ in range(LENGTH))
    book.put_code(digest(code), role, utc_ms)
    return code


def shown(code: str) -> str:
    """A code as people read it: ABCD-EFGH."""
    return f"{code[:4]}-{code[4:]}"


def address_with(base: str, code: str) -> str:
    """Where a phone pairs with that code: behind # it never leaves the phone by itself. base ends in a slash."""
    return f"{base}pair#{code}"


def code_waits(book: Book, utc_ms: int) -> bool:
    """Somebody at the console has made a code that is still good."""
    kept = book.open_code()
    return kept is not None and kept.wrong_tries < WRONG_TRIES and 0 <= utc_ms - kept.made_utc_ms <= GOOD_FOR_MS


def pair(book: Book, code: str, name: str, utc_ms: int) -> Paired | None:
    """Pair a phone by its code. None: no such code, or it is used, too old or was guessed wrong too often.

    A clock that was set back kills a code too: in doubt, make a new one.
    """
    kept = book.open_code()
    if kept is None or not code_waits(book, utc_ms):
        return None
    if not compare_digest(digest(code.strip().upper().replace("-", "").replace(" ", "")), kept.code_sha256):
        book.wrong_try(kept.id)
        return None
    if not book.use_code(kept.id, utc_ms):
        return None
    token = secrets.token_urlsafe(32)
    return Paired(book.add_phone(name, kept.role, digest(token), utc_ms), kept.role, token)
