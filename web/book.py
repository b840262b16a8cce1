"""The book (`book.db`), as far as the pages write it: paired phones, one-time codes, how things look.

A rollback journal and synchronous=EXTRA: what was written before the plug was pulled is there afterwards. Every call
opens the file, does one thing and closes it; nothing here is done at more than a person's pace.
"""

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, Literal, NamedTuple

from sqlite_utils import Database, Migrations
from sqlite_utils.db import NotFoundError

from supervisor.book.renewing import renew
from supervisor.logbook.database import UNREADABLE
from supervisor.refusal import InputRefused
from web.roles import Role

Units = Literal["C", "F"]
Light = Literal["auto", "light", "dark", "sun"]

book = Migrations("book")  # oldest first; a released one is never edited, the next one is added


@book()
def m001_phones(db: Database) -> None:
    """Phones that may ask for more than a stop, and the codes that pair them. Only digests of secrets are kept."""
    db.table("phone").create(
        {
            "id": int,
            "name": str,
            "token_sha256": str,
            "paired_utc_ms": int,
            "seen_utc_ms": int,
            "revoked_utc_ms": int,
            "units": str,
            "light": str,
            "cautions_utc_ms": int,
        },
        pk="id",
        not_null={"name", "token_sha256", "paired_utc_ms", "units", "light"},
    )
    db.table("phone").create_index(["token_sha256"], unique=True)
    db.table("pairing_code").create(
        {"id": int, "code_sha256": str, "made_utc_ms": int, "wrong_tries": int, "used_utc_ms": int}, pk="id"
    )
    db.table("access_event").create({"id": int, "utc_ms": int, "kind": str, "who": str, "address": str}, pk="id")


@book()
def m002_address(db: Database) -> None:
    """Where the pages were last served, so that a code made elsewhere can name the address to go to."""
    db.table("address").create({"id": int, "address": str, "utc_ms": int}, pk="id")


@book()
def m003_roles(db: Database) -> None:
    """Phones that only look, and a record of access that says more and is never changed. Who was paired so far runs."""
    db.table("phone").add_column("role", str, not_null_default="run")
    db.table("pairing_code").add_column("role", str, not_null_default="run")
    for column in ("role", "what"):
        db.table("access_event").add_column(column, str, not_null_default="")
    db.table("access_event").add_column("times", int, not_null_default=1)
    for change in ("update", "delete"):
        db.execute(
            f"create trigger access_event_no_{change} before {change} on access_event"
            " begin select raise(abort, 'the record of access is only added to'); end"
        )


class Phone(NamedTuple):
    """A paired phone and how it wants things shown."""

    id: int
    name: str
    role: Role
    paired_utc_ms: int
    seen_utc_ms: int | None
    units: Units
    light: Light
    cautions_utc_ms: int | None  # when its owner read the cautions of the first run


class Code(NamedTuple):
    """A pairing code as kept: its digest, what for, when it was made, how often it was guessed wrong."""

    id: int
    code_sha256: str
    role: Role
    made_utc_ms: int
    wrong_tries: int


class Happened(NamedTuple):
    """One row of the record of access.

    kind: asked, again (`times` more like it within a minute), paired, wrong code, code made or revoked.
    """

    kind: str
    who: str
    role: str
    address: str
    what: str
    utc_ms: int
    times: int = 1


PATIENCE_MS = 5000
"""So long a call waits for another writer."""

_PHONE = ("id", "name", "role", "paired_utc_ms", "seen_utc_ms", "units", "light", "cautions_utc_ms")
_CODE = ("id", "code_sha256", "role", "made_utc_ms", "wrong_tries")
_HAPPENED = ("id", "kind", "who", "role", "address", "what", "utc_ms", "times")
_LACKING = {"role": "'run'", "units": "'C'", "light": "'auto'", "what": "''", "times": "1"}
"""What a column says that a book lacks while it waits to be brought up to date; any other is null."""


def _pick(db: Database, table: str, names: tuple[str, ...]) -> str:
    """`select` of these columns, those that the table lacks as what they would say."""
    there = {name for (name,) in db.execute("select name from pragma_table_info(?)", [table])}
    columns = (name if name in there else f"{_LACKING.get(name, 'null')} as {name}" for name in names)
    return f"select {', '.join(columns)} from {table}"


def _held(db: Database, table: str, row: dict[str, Any]) -> dict[str, Any]:
    """What the table can hold of a row."""
    there = {name for (name,) in db.execute("select name from pragma_table_info(?)", [table])}
    return {name: value for name, value in row.items() if name in there}


class Book:
    """The book at one path; made on first use, readable by its owner alone.

    One of an older meltkeeper is brought up to date when the furnace is known to be cold and at rest, and is used as it
    is until then. cold: tells that.
    """

    def __init__(self, path: Path, cold: Callable[[], bool] = lambda: False):
        self.path = path
        if not path.exists():
            path.parent.mkdir(parents=True, exist_ok=True)
            path.touch(mode=0o600)
        # A book that cannot be read, or not changed now, keeps no page from being served: it pairs nobody.
        with suppress(*UNREADABLE, InputRefused), self._open() as db:
            renew(db.conn, path, book, cold)

    @contextmanager
    def _open(self, patience_ms: int = PATIENCE_MS) -> Iterator[Database]:
        db = Database(self.path)
        try:
            db.execute(f"pragma busy_timeout = {patience_ms}")
            db.execute("pragma journal_mode = delete")
            db.execute("pragma synchronous = extra")
            yield db
        finally:
            db.close()

    def phone_with(self, token_sha256: str, patience_ms: int | None = None) -> Phone | None:
        """The paired phone whose token has this digest, unless it was revoked. patience_ms: for another writer."""
        with self._open(PATIENCE_MS if patience_ms is None else patience_ms) as db:
            row = db.execute(
                f"{_pick(db, 'phone', _PHONE)} where token_sha256 = ? and revoked_utc_ms is null", [token_sha256]
            ).fetchone()
        return Phone(*row) if row else None

    def phones(self) -> list[Phone]:
        """All phones that are paired now, oldest first."""
        with self._open() as db:
            return [
                Phone(*row)
                for row in db.execute(f"{_pick(db, 'phone', _PHONE)} where revoked_utc_ms is null order by id")
            ]

    def add_phone(self, name: str, role: Role, token_sha256: str, utc_ms: int) -> int:
        """Pair a phone; returns its id."""
        with self._open() as db:
            row = {
                "name": name,
                "role": role,
                "token_sha256": token_sha256,
                "paired_utc_ms": utc_ms,
                "seen_utc_ms": utc_ms,
            }
            pk = db.table("phone").insert(_held(db, "phone", {**row, "units": "C", "light": "auto"})).last_pk
        assert isinstance(pk, int)
        return pk

    def revoke(self, phone_id: int, utc_ms: int) -> None:
        """From now on the phone's token opens nothing."""
        self._change(phone_id, {"revoked_utc_ms": utc_ms})

    def seen(self, phone_id: int, utc_ms: int) -> None:
        """Note that the phone was here."""
        self._change(phone_id, {"seen_utc_ms": utc_ms})

    def cautions_read(self, phone_id: int, utc_ms: int) -> None:
        """Note that the phone's owner says to have read the cautions."""
        self._change(phone_id, {"cautions_utc_ms": utc_ms})

    def show_as(self, phone_id: int, units: Units, light: Light) -> None:
        """Keep how the phone wants things shown."""
        self._change(phone_id, {"units": units, "light": light})

    def _change(self, phone_id: int, values: dict[str, int | str]) -> None:
        with self._open() as db:
            try:
                db.table("phone").update(phone_id, values)
            except NotFoundError:
                raise LookupError(f"phone is {phone_id}; there is no such phone") from None

    def put_code(self, code_sha256: str, role: Role, utc_ms: int) -> None:
        """Keep a new pairing code; any older one dies."""
        with self._open() as db, db.atomic():
            db.execute("update pairing_code set used_utc_ms = ? where used_utc_ms is null", [utc_ms])
            row = {"code_sha256": code_sha256, "role": role, "made_utc_ms": utc_ms, "wrong_tries": 0}
            db.table("pairing_code").insert(_held(db, "pairing_code", row))

    def open_code(self) -> Code | None:
        """The newest code that nobody has used yet."""
        with self._open() as db:
            row = db.execute(
                f"{_pick(db, 'pairing_code', _CODE)} where used_utc_ms is null order by id desc limit 1"
            ).fetchone()
        return Code(*row) if row else None

    def wrong_try(self, code_id: int) -> None:
        """Count a wrong guess against a code."""
        with self._open() as db, db.atomic():
            db.execute("update pairing_code set wrong_tries = wrong_tries + 1 where id = ?", [code_id])

    def use_code(self, code_id: int, utc_ms: int) -> bool:
        """Use a code up. False: somebody else was faster."""
        with self._open() as db, db.atomic():
            used = db.execute(
                "update pairing_code set used_utc_ms = ? where id = ? and used_utc_ms is null", [utc_ms, code_id]
            )
            return bool(used.rowcount == 1)

    def served_at(self, address: str, utc_ms: int) -> None:
        """Keep where the pages are served from now on."""
        with self._open() as db:
            db.table("address").upsert({"id": 1, "address": address, "utc_ms": utc_ms}, pk="id")

    def address(self) -> str | None:
        """Where the pages were last served."""
        with self._open() as db:
            row = db.execute("select address from address where id = 1").fetchone()
        return str(row[0]) if row else None

    def remember(self, rows: Iterable[Happened]) -> None:
        """Add to the record of access."""
        with self._open() as db, db.atomic():
            db.table("access_event").insert_all([_held(db, "access_event", row._asdict()) for row in rows])

    def remembered(self, most: int, before: int | None = None) -> list[tuple[int, Happened]]:
        """The newest rows of the record of access with their numbers, or those before a row."""
        with self._open() as db:
            found = db.execute(
                f"{_pick(db, 'access_event', _HAPPENED)} where id < ? order by id desc limit ?",
                [2**62 if before is None else before, most],
            ).fetchall()
        return [(number, Happened(*row)) for number, *row in found]
