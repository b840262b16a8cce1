"""Why an ingot is poor: its evidence, read from book and log, held against the other melts of the same workshop."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import Any

from supervisor.book import ingots, melts, moulds, quarantine, tree
from supervisor.book.holders import name_of
from supervisor.book.ingots import Ingot
from supervisor.book.melts import Melt
from supervisor.book.pedigree import Pedigree
from supervisor.book.phases import Course, course
from supervisor.book.writing import Book
from supervisor.logbook.reading import Firing, Log
from supervisor.metal import dryness
from supervisor.metal.closing import balance
from supervisor.metal.descent import Ledger
from supervisor.metal.dryness import Proof
from supervisor.metal.evidence import Evidence, Usual, symptoms
from supervisor.metal.forms import CHIPS
from supervisor.metal.limits import nearest

POOR_SCORE = 3
OTHERS = 8
"""So many other melts, the nearest in time, say what is usual."""

HOUR_MS = 3_600_000
CAST_SI_PCT = 5.0
ROOF_WORDS = ("hung", "hang", "stands on the wall", "stood on the wall", "leans", "leaned", "bridge", "roof")
MISSING, TOOK_MORE = "metal-missing", "needs-more-power"
NO_ALLOY = ("unknown", "mixed", "")


@dataclass(frozen=True, slots=True)
class Sensor:
    """What the thermocouple read too high in a firing, K, and how sure that is."""

    off_k: float
    sd_k: float | None


def evidence_of(book: Book, log: Log | None, ingot: Ingot, *, seen: str = "", sensor: Sensor | None = None) -> Evidence:
    """Everything that the record has on one ingot. seen: what is wrong with it; empty: as its newest poor note says.

    log: of its furnace; None: there is none.
    """
    melt, ledger = melts.melt_of(book, ingot.melt_id), tree.ledger(book)
    composition = Pedigree(book, ledger).of(ingot.holder)
    text = seen or (ingot.cut if ingot.score is not None and ingot.score <= POOR_SCORE else "")
    near = nearest(composition)
    facts: dict[str, Any] = {
        "symptoms": symptoms(text),
        "likely": dict(composition.likely),
        "near": "" if near is None else near.alloy.name,
        "near_then": "" if melt.alloy in NO_ALLOY or melt.backend == "paper" else melt.alloy,
        "pour_low_c": None if near is None or near.strange else near.alloy.pour_low_c,
        "castings": composition.likely.get("Si", 0.0) > CAST_SI_PCT,
        "contaminated": quarantine.state(book).why(ingot.holder),
        "aged": _aged(book, ingot),
        **_of_what_went_in(book, melt, ledger),
        **_of_the_plan(book, melt),
        **_of_the_dross(book, melt, ledger),
    }
    if log is not None:
        facts |= _of_the_firing(book, log, melt)
    if sensor is not None:
        facts |= {"sensor_off_k": sensor.off_k, "sensor_sd_k": sensor.sd_k}
    return Evidence(**(facts | _of_the_mould(book, melt, ingot, facts.pop("poured_ms", None))))


def _aged(book: Book, ingot: Ingot) -> bool:
    """By a firing's proof, or by what was noted before its newest cut."""
    if book.one("SELECT 1 FROM proof WHERE holder_kind = 'ingot' AND holder_id = ? AND kind = 'aged'", ingot.id):
        return True
    return any("aged" in str(event["detail"].get("text", "")).lower() for event in ingots.events(book, ingot.id)[:-1])


def _of_what_went_in(book: Book, melt: Melt, ledger: Ledger) -> dict[str, Any]:
    rows = book.rows(
        "SELECT m.utc_ms, m.from_kind, m.from_id, m.kg, m.how, m.note, l.form FROM moves m"
        " LEFT JOIN lots l ON m.from_kind = 'lot' AND l.id = m.from_id"
        " WHERE m.to_kind = 'melt' AND m.to_id = ? AND m.from_kind <> 'outside' ORDER BY m.id",
        melt.id,
    )
    whole_kg = sum(row["kg"] for row in rows) or 1.0
    undried, hours = [], []
    for row in rows:
        holder = (row["from_kind"], row["from_id"])
        if row["from_kind"] == "melt" or melt.backend == "paper":
            continue
        proof, name = _proof_at(book, holder, row["utc_ms"]), name_of(book, holder)
        if why := dryness.refusal(name, proof, row["utc_ms"]):
            undried.append(f"{why} It went in all the same.")
        elif proof is not None:
            hours.append((row["utc_ms"] - proof.to_utc_ms) / HOUR_MS)
    chips_kg = sum(row["kg"] for row in rows if row["form"] in CHIPS)
    unknown_kg, found_out = _strangers(book, melt, rows)
    return {
        "undried": tuple(undried),
        "dry_hours": max(hours, default=None),
        "chips_share": chips_kg / whole_kg,
        "usual_chips_share": _usual_chips(book, melt),
        "unknown_share": unknown_kg / whole_kg,
        "found_out": tuple(found_out),
    }


def _proof_at(book: Book, holder: tuple[str, int], at_ms: int) -> Proof | None:
    """The proof of dryness that counted at a moment."""
    row = book.one(
        "SELECT p.to_utc_ms, p.held_c, p.held_s, (SELECT e.why FROM proof_end e WHERE e.proof_id = p.id"
        " AND e.utc_ms <= ?3 ORDER BY e.id LIMIT 1) AS ended FROM proof p WHERE p.holder_kind = ?1"
        " AND p.holder_id = ?2 AND p.kind = 'dry' AND p.utc_ms <= ?3 ORDER BY p.id DESC LIMIT 1",
        *holder,
        at_ms,
    )
    return None if row is None else Proof(row["to_utc_ms"], row["held_c"], row["held_s"], row["ended"] or "")


def _strangers(book: Book, melt: Melt, rows: Sequence[dict[str, Any]]) -> tuple[float, list[str]]:
    """kg of metal that nobody knows, and lots that were found to be something else after they went in."""
    unknown_kg, found_out = 0.0, []
    for row in rows:
        if row["from_kind"] != "lot":
            continue
        said = book.rows("SELECT alloy, utc_ms FROM lot_description WHERE lot_id = ? ORDER BY id", row["from_id"])
        then = [each["alloy"] for each in said if each["utc_ms"] <= row["utc_ms"]]
        before, now = (then or [said[0]["alloy"]])[-1], said[-1]["alloy"]
        name = name_of(book, ("lot", row["from_id"]))
        if now == "unknown":
            unknown_kg += row["kg"]
        elif now != before:
            taken = "unknown metal" if before == "unknown" else before
            found_out.append(f"{name}, {row['kg']:.2f} kg of it, was taken for {taken} and turned out to be {now}.")
    return unknown_kg, found_out


def _usual_chips(book: Book, melt: Melt) -> float:
    rows = book.rows(
        "SELECT m.to_id, sum(m.kg) AS kg, sum(CASE WHEN l.form IN ('swarf_dry', 'swarf_oily') THEN m.kg ELSE 0 END)"
        " AS chips_kg FROM moves m LEFT JOIN lots l ON m.from_kind = 'lot' AND l.id = m.from_id"
        " WHERE m.to_kind = 'melt' AND m.to_id <> ? GROUP BY m.to_id",
        melt.id,
    )
    return median(row["chips_kg"] / row["kg"] for row in rows) if rows else 0.0


def _of_the_plan(book: Book, melt: Melt) -> dict[str, Any]:
    row = book.one("SELECT answers FROM plan WHERE id = ?", melt.plan_id)
    return {"air": "" if row is None else str(json.loads(row["answers"]).get("air", ""))}


def _of_the_dross(book: Book, melt: Melt, ledger: Ledger) -> dict[str, Any]:
    told = {
        row["melt_id"] for row in book.rows("SELECT DISTINCT melt_id FROM melt_event WHERE kind = 'dross'")
    }  # weighed, or said to be none
    form = _main_form(book)
    shares = []
    for each in sorted(melts.melts(book), key=lambda other: abs(other.id - melt.id)):
        if each.id != melt.id and each.id in told and form.get(each.id) == form.get(melt.id):
            of = balance(ledger, each.holder)
            shares += [of.dross_kg / of.in_kg] if of.in_kg > 0.0 else []
    of = balance(ledger, melt.holder)
    here = of.dross_kg / of.in_kg if melt.id in told and of.in_kg > 0.0 else None
    return {"dross_share": here, "usual_dross": usual(shares[: 3 * OTHERS])}


def _main_form(book: Book) -> dict[int, str]:
    """Of what most of each melt was."""
    rows = book.rows(
        "SELECT m.to_id, coalesce(l.form, 'ingot') AS form, sum(m.kg) AS kg FROM moves m LEFT JOIN lots l"
        " ON m.from_kind = 'lot' AND l.id = m.from_id WHERE m.to_kind = 'melt' GROUP BY 1, 2 ORDER BY kg"
    )
    return {row["to_id"]: row["form"] for row in rows}


def usual(values: Sequence[float]) -> Usual | None:
    """Middle and common departure; None: fewer than three say nothing."""
    if len(values) < 3:
        return None
    middle = median(values)
    return Usual(middle, median(abs(value - middle) for value in values), len(values))


def _of_the_firing(book: Book, log: Log, melt: Melt) -> dict[str, Any]:
    firings = [each for each in log.firings() if each.heat_number and each.backend != "paper"]
    here = next((each for each in firings if each.heat_number == melt.heat_number), None)
    if here is None:
        return {}
    mine = course(log, here)
    others = [course(log, each) for each in _nearest(firings, here)]
    written = sum(event.kind == "skim" for event in melts.happened(book, melt.id))
    poured = [each for each in others if each.liquid_min is not None]
    facts: dict[str, Any] = {
        "liquid_min": mine.liquid_min,
        "usual_liquid_min": usual([each.liquid_min for each in poured if each.liquid_min is not None]),
        "metal_most_c": mine.metal_most_c,
        "metal_by": mine.by,
        "poured_c": mine.poured_c,
        "cool_min": mine.cool_min,
        "liquidus_c": melt.liquidus_c,
        "skims": max(mine.skims, written),
        "usual_skims": median(each.skims for each in poured) if poured else None,
        "roof": _roof(book, melt, mine),
        "poured_ms": here.started_utc_ms + round(60_000 * mine.minutes),
    }
    if mine.poured_by == "dip" and mine.poured_c is not None:
        facts["metal_most_c"] = max(mine.poured_c, mine.metal_most_c or 0.0)
    return facts


def _nearest(firings: Sequence[Firing], here: Firing) -> list[Firing]:
    others = [each for each in firings if each.id != here.id and each.state == "complete"]
    return sorted(others, key=lambda each: abs(each.id - here.id))[:OTHERS]


def _roof(book: Book, melt: Melt, mine: Course) -> str:
    remarks = [str(event.detail.get("text", "")) for event in melts.happened(book, melt.id) if event.kind == "remark"]
    for text in (*mine.said, *remarks):
        if any(word in text.lower() for word in ROOF_WORDS):
            return f"Noted in the melt: {text}"
    if MISSING in mine.alarms:
        return "The furnace told that part of the metal took up no heat while the rest melted."
    if TOOK_MORE in mine.alarms and mine.liquid_min is not None:
        return "While it was liquid it took much more power than before, with nothing added by the notes."
    return ""


def _of_the_mould(book: Book, melt: Melt, ingot: Ingot, poured_ms: int | None) -> dict[str, Any]:
    known = {each.id: each for each in moulds.moulds(book)}
    mine, others = _mould_ids(book, melt, ingot), _other_moulds(book, melt)
    facts: dict[str, Any] = {}
    if poured_ms is not None and mine:
        proofs = [(known[each].code, _proof_at(book, ("mould", each), poured_ms)) for each in mine]
        facts["mould_undried"] = tuple(
            why for code, proof in proofs if (why := dryness.refusal(f"Mould {code}", proof, poured_ms))
        )
        hours = [(poured_ms - proof.to_utc_ms) / HOUR_MS for _, proof in proofs if proof is not None]
        facts["mould_hours"] = max(hours, default=None)
        facts["usual_mould_hours"] = median(hours_of) if (hours_of := _mould_hours(book, others)) else None
    iron = [known[each].mass_kg for each in mine]
    weighed = [kg for kg in iron if kg is not None]
    if weighed and ingot.cast_kg:
        facts["iron_over_metal"] = sum(weighed) / len(weighed) / ingot.cast_kg
        facts["usual_iron"] = _usual_iron(book, others, {each.id: each.mass_kg for each in known.values()})
    return facts


def _mould_ids(book: Book, melt: Melt, ingot: Ingot) -> list[int]:
    if ingot.mould_id is not None:
        return [ingot.mould_id]
    return [row["mould_id"] for row in book.rows("SELECT mould_id FROM plan_mould WHERE plan_id = ?", melt.plan_id)]


def _other_moulds(book: Book, melt: Melt) -> list[dict[str, Any]]:
    """Moulds of the other planned melts, the nearest ones; and when each charge was confirmed."""
    return book.rows(
        "SELECT m.id AS melt_id, m.utc_ms, p.mould_id FROM melt m JOIN plan_mould p ON p.plan_id = m.plan_id"
        " WHERE m.id <> ?1 AND m.id IN (SELECT id FROM melt WHERE id <> ?1 AND plan_id IS NOT NULL"
        " ORDER BY abs(id - ?1) LIMIT ?2)",
        melt.id,
        OTHERS,
    )


def _mould_hours(book: Book, others: Sequence[dict[str, Any]]) -> list[float]:
    found = []
    for row in others:
        proof = _proof_at(book, ("mould", row["mould_id"]), row["utc_ms"])
        if proof is not None:
            found.append((row["utc_ms"] - proof.to_utc_ms) / HOUR_MS + TO_THE_POUR_H)
    return found


TO_THE_POUR_H = 1.5
"""From confirming a charge to its pour, commonly (our choice): of other melts only the first is looked up."""


def _usual_iron(book: Book, others: Sequence[dict[str, Any]], mass_kg: dict[int, float | None]) -> float | None:
    cast = {
        row["melt_id"]: row["kg"]
        for row in book.rows(
            "SELECT i.melt_id, avg(v.kg) AS kg FROM ingot i JOIN moves v ON v.to_kind = 'ingot' AND v.to_id = i.id"
            " GROUP BY i.melt_id"
        )
    }
    ratios = [
        kg / cast[row["melt_id"]]
        for row in others
        if (kg := mass_kg.get(row["mould_id"])) is not None and cast.get(row["melt_id"])
    ]
    return median(ratios) if ratios else None
