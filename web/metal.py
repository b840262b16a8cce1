"""The book of metal as the pages read and write it: one short transaction each, in the name of the phone that asks."""

import sqlite3
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from uuid import uuid4

from flask import Response, request

from supervisor.book.holders import Holder
from supervisor.book.proofs import dried, stored_cold
from supervisor.book.writing import Book, open_book, read_book
from supervisor.link.cold import is_cold
from web.access import wants_json, who
from web.asking import Answer
from web.asking import number as number_typed
from web.once import wrote
from web.parts import parts
from web.replies import as_answer, go_to
from web.typed import typed

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


@contextmanager
def writing() -> Iterator[Book]:
    """Open the book for one transaction."""
    config = parts().config
    now_ms = config.utc_ms()
    with open_book(
        config.book, who=who()[:64], sent_from="page", utc_ms=now_ms, cold=lambda: is_cold(config.data, now_ms)
    ) as book:
        yield book


@contextmanager
def reading() -> Iterator[Book]:
    """Open the book to read.

    Raises:
        InputRefused: it is there and cannot be read.
    """
    with read_book(parts().config.book) as book:
        yield book


def written(back: str, write: Callable[[Book], str]) -> Response:
    """Write into the book and go back to a page, which then shows what became of it; its own script shows it there."""
    answer = kept(write)
    return as_answer(answer) if wants_json() else go_to(f"{back}?answer={answer.id}")


def kept(write: Callable[[Book], str], *, again: bool = True) -> Answer:
    """Write into the book: done with its sentence, or refused with the reason, and then nothing is written.

    again: what was typed into a refused form stands in it again. Not so where ticks say that somebody looked.
    """
    asking, sent = parts().asking, typed(request.path, request.form.to_dict(flat=False)) if again else None
    try:
        with writing() as book:
            sentence = write(book)
    except ValueError as refused:  # InputRefused is one
        return asking.refuse(str(refused), sent)
    except (sqlite3.Error, OSError) as error:
        return asking.keep(Answer(uuid4().hex, "refused", f"The book cannot be written ({error}); nothing was.", sent))
    wrote()
    return asking.keep(Answer(uuid4().hex, "accepted", sentence))


def proof_entered(book: Book, holder: Holder, name: str, what: str, form: Mapping[str, str]) -> str:
    """Write down that a lot, an ingot or a mould came out of the oven ('dry'), or that its proof ended ('cold')."""
    if what == "cold":
        stored_cold(book, holder)
        return f"{name} counts as dry no more."
    dried(book, [holder], number_typed(form, "at_c", "°C"), number_typed(form, "minutes", "min"))
    return f"{name} counts as dry for 12 h, unless it is stored cold."


def count_word(count: int) -> str:
    """A count in words as far as people count in words."""
    return NUMBERS[count] if count < len(NUMBERS) else str(count)


def number(count: int, one: str, many: str = "") -> str:
    """A count with its noun: 'three ingots'."""
    return f"{count_word(count)} {one if count == 1 else many or f'{one}s'}"


def sentence_case(text: str) -> str:
    """The same, as a sentence begins."""
    return text[:1].upper() + text[1:]
