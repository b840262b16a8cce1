"""A lot as JSON and in words."""

from datetime import UTC, datetime, timedelta
from typing import Any

from hardware.clock import utc_ms
from supervisor.book.lots import Lot
from supervisor.book.proofs import proof_of
from supervisor.book.quarantine import State
from supervisor.book.writing import Book
from supervisor.metal import dryness
from supervisor.metal.alloys import UNKNOWN
from supervisor.metal.descent import Holder
from supervisor.metal.forms import FORMS


def as_json_of(book: Book, lot: Lot, held: State, now_ms: int) -> dict[str, Any]:
    """A lot with the names that docs/metal.md lists."""
    proof = proof_of(book, ("lot", lot.id))
    why = dryness.refusal(lot.code, proof, now_ms)
    return {
        **lot._asdict(),
        "measured": dict(lot.measured),
        "dry": not why,
        "dry_why_not": why,
        "dry_until_utc_ms": None if proof is None else dryness.until_ms(proof),
        "quarantine": held.why(Holder("lot", lot.id)),
    }


def lines(row: dict[str, Any]) -> list[str]:
    """One lot for a person."""
    known = row["alloy"] != UNKNOWN
    taken = f"Taken for {row['alloy']} ({row['certainty']})." if known else "Nobody can say what it is."
    lines = [
        f"{row['code']}, {row['name']}: {row['kg']:.3f} kg left, {FORMS[row['form']].words}, surface {row['surface']}.",
        f"{taken} From limits, not measured." if known and not row["measured"] else taken,
        f"Dry until {until(row['dry_until_utc_ms'])}." if row["dry"] else row["dry_why_not"],
    ]
    if row["quarantine"]:
        lines.append(row["quarantine"])
    inside = row.get("composition_pct", {})
    shown = sorted((e for e in inside if inside[e]["high"] >= 0.1), key=lambda e: -inside[e]["high"])
    for element in shown:
        at = inside[element]
        likely = "not known" if at["likely"] is None else f"{at['likely']:.2f} %"
        lines.append(f"  {element:<3}{likely:>10}   {at['low']:.2f} to {at['high']:.2f}")
    return lines


def until(at_ms: int | None) -> str:
    """When a proof ends, by this machine's clock."""
    if at_ms is None:
        return "–"
    local = datetime.fromtimestamp(at_ms / 1000, UTC).astimezone()
    today = datetime.fromtimestamp(utc_ms() / 1000, UTC).astimezone().date()
    if local.date() == today:
        return f"{local:%H:%M}"
    return f"tomorrow {local:%H:%M}" if local.date() == today + timedelta(days=1) else f"{local:%d %b %H:%M}"
