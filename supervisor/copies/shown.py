"""What stands on the page of a record: from the archive that it was read back into, so nothing else can be on it."""

import tempfile
from collections.abc import Sequence
from pathlib import Path

from supervisor.book.telling import metal_lines, metal_record
from supervisor.copies.importing import read_in
from supervisor.copies.page import Shown, page
from supervisor.copies.record import Record
from supervisor.logbook.in_words import facts, timeline
from supervisor.logbook.reading import open_log
from supervisor.strip import strip


def page_of(whole: Record, *, utc_ms: int) -> str:
    """The page of a record. It is read back into an archive first: what is not in the file is not on the page.

    Raises:
        InputRefused: it cannot be read back.
    """
    with tempfile.TemporaryDirectory(prefix="meltkeeper-") as place:
        archive = Path(place) / "archive"
        read_in(whole, archive, utc_ms=utc_ms)
        metal = metal_record(archive, whole.heat_number)
        return page(whole, shown(archive, whole, metal_lines(metal) if metal is not None else []))


def shown(archive: Path, of: Record, metal: Sequence[str]) -> Shown:
    """metal: what there is to say of its metal, in sentences.

    Raises:
        InputRefused: the archive cannot be read.
    """
    with open_log(archive) as log:
        firing = log.firing(of.firing)
        rows = (log.events(firing.id), log.alarms(firing.id), log.commands(firing.id))
        what = f"Melt {firing.heat_number}" if firing.heat_number else f"Firing {firing.id}"
        title = (
            f"{what}: {firing.name}, {firing.started_local_date}"
            if firing.name != firing.heat_number
            else (f"{what}, {firing.started_local_date}")
        )
        caption = f"minutes; °C{'; simulated' if of.kind == 'simulated' else ''}"
        picture = strip(log, firing.id, what, caption=caption)
        happened = [(at, kind, said) for at, kind, said, _ in timeline(*rows)]
        return Shown(title, facts(firing, log.frozen(firing.id)), metal, happened, picture)
