"""Whom the messenger tells: alerts.toml in the data directory, read with care. Its addresses are secrets.

No sentence, log line or page made from it carries an address: they are told apart by their kind and four letters.
"""

import hashlib
import re
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from supervisor.refusal import InputRefused
from supervisor.toml_input import Fields, checked, line, read_text

FILE_NAME = "alerts.toml"
MODE = 0o600
MOST_CONTACTS, MOST_ADDRESSES = 10, 8

_PLAIN = re.compile(r'"?[A-Za-z0-9 .-]{0,20}"?')
"""Of a value that may be repeated: so short, and without the signs that every address has."""

Address = Annotated[str, Field(pattern=r"^[A-Za-z][A-Za-z0-9]{1,20}://\S{1,500}$")]


class Contact(Fields):
    """One person."""

    name: Annotated[str, line(40)]
    order: Literal["first", "second"] = Field(description="first, second")
    addresses: list[Address] = Field(
        min_length=1, max_length=MOST_ADDRESSES, description=f"1 to {MOST_ADDRESSES} addresses like KIND://..., as text"
    )
    quiet: list[Literal[2, 3]] = Field(default=[], max_length=2, description="2, 3: priorities that are not sent")


class Alerts(Fields):
    """The file."""

    contact: list[Contact] = Field(
        min_length=1, max_length=MOST_CONTACTS, description=f"1 to {MOST_CONTACTS} tables [[contact]]"
    )


def read_contacts(path: Path) -> tuple[Contact, ...]:
    """The contacts of a file; none where there is no file.

    Raises:
        InputRefused: others may read it, or it cannot be used. The sentence holds no address.
    """
    try:
        mode = path.stat().st_mode & 0o777
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise InputRefused(f"{path.name} cannot be read: {error.strerror}.") from None
    if mode & ~MODE:
        raise InputRefused(f"{path.name}: mode is {mode:04o}; allowed: 0600, for it holds secrets (chmod 600).")
    text = read_text(path)
    try:
        contacts = tuple(checked(Alerts, text, path.name).contact)
    except InputRefused as error:  # pydantic keeps what it refused, and a traceback would show it
        raise InputRefused(_without_secrets(str(error))) from None
    names = [contact.name for contact in contacts]
    for number, name in enumerate(names):
        if name in names[:number]:
            raise InputRefused(f'{path.name}: contact[{number + 1}].name is "{name}"; allowed: each name once.')
    if all(contact.order != "first" for contact in contacts):
        raise InputRefused(f"{path.name}: no contact has order first; allowed: at least one.")
    return contacts


def _without_secrets(sentence: str) -> str:
    """A refusal says what a field is set to. An address may stand anywhere in this file: only what is plain is said."""
    field, is_, rest = sentence.partition(" is ")
    value, _, allowed = rest.rpartition("; allowed: ")
    if is_ and "://" in field:
        return f"{FILE_NAME}: an address stands where a name belongs; allowed: {allowed.rstrip('.')}."
    if is_ and value and (".addresses" in field or not _PLAIN.fullmatch(value)):
        return f"{field} cannot be used; allowed: {allowed.rstrip('.')}."
    return sentence if sentence.endswith(".") else f"{sentence}."


def masked(address: str, salt: str) -> str:
    """How an address is called wherever people or programs read."""
    kind = address.partition("://")[0]
    return f"{kind}://… ({_digest(salt, address)[:4]})"


def key(contact: Contact, salt: str) -> str:
    """Another one as soon as an address is another: what was proved of the old ones is void."""
    return _digest(salt, *sorted(contact.addresses))[:16]


def _digest(salt: str, *secrets: str) -> str:
    return hashlib.sha256("\n".join((salt, *secrets)).encode()).hexdigest()
