"""The tables of metal in `book.db`. Rows are only ever added; each has its link in one chain of digests.

No lot, melt or ingot keeps a mass of its own: every kilogram that moves is one row of `movement`, from one holder to
another. What is left of a lot, the balance of a melt, the descent of an ingot, how far a quarantine reaches: that table
has it all. A correction is a new row that names the old one.
"""

from sqlite_utils import Database, Migrations

metal = Migrations("metal")  # oldest first; a released step is never edited, the next one is added

FORMS = ("solid_offcut", "old_casting", "thin_sheet", "swarf_dry", "swarf_oily", "pure_addition", "ingot")
CERTAINTIES = ("measured", "marked", "likely", "guess", "unknown")
SURFACES = ("bare", "painted", "plated", "oily", "not looked")
SHAPES = ("solid", "open", "closed", "not looked")
HOLDERS = ("lot", "ingot", "melt")


def _one_of(values: tuple[str, ...]) -> str:
    return "(" + ", ".join(f"'{value}'" for value in values) + ")"


SIGNED = "utc_ms INTEGER NOT NULL, who TEXT NOT NULL, sent_from TEXT NOT NULL"
"""In every row: when it was written, by whom, on what."""

TABLES = {
    "lot": f"""
        id INTEGER PRIMARY KEY,
        code TEXT NOT NULL UNIQUE,
        {SIGNED}""",
    # What is known of a lot; the newest row counts, older ones say what was believed before.
    "lot_description": f"""
        id INTEGER PRIMARY KEY,
        lot_id INTEGER NOT NULL REFERENCES lot (id),
        name TEXT NOT NULL,
        origin TEXT NOT NULL,
        form TEXT NOT NULL CHECK (form IN {_one_of(FORMS)}),
        alloy TEXT NOT NULL,
        certainty TEXT NOT NULL CHECK (certainty IN {_one_of(CERTAINTIES)}),
        measured TEXT CHECK (measured IS NULL OR json_valid(measured)),
        surface TEXT NOT NULL CHECK (surface IN {_one_of(SURFACES)}),
        shape TEXT NOT NULL CHECK (shape IN {_one_of(SHAPES)}),
        longest_mm REAL CHECK (longest_mm IS NULL OR longest_mm > 0),
        pieces INTEGER CHECK (pieces IS NULL OR pieces > 0),
        note TEXT NOT NULL,
        {SIGNED}""",
    "mould": f"""
        id INTEGER PRIMARY KEY,
        code TEXT NOT NULL UNIQUE,
        name TEXT NOT NULL,
        volume_ml REAL NOT NULL CHECK (volume_ml > 0),
        mass_kg REAL CHECK (mass_kg IS NULL OR mass_kg > 0),
        material TEXT NOT NULL,
        note TEXT NOT NULL,
        {SIGNED}""",
    # A plan is changed by a new version of the same code; the newest counts.
    "plan": f"""
        id INTEGER PRIMARY KEY,
        code TEXT NOT NULL,
        version INTEGER NOT NULL,
        name TEXT NOT NULL,
        profile TEXT NOT NULL,
        answers TEXT NOT NULL CHECK (json_valid(answers)),
        note TEXT NOT NULL,
        {SIGNED},
        UNIQUE (code, version)""",
    "plan_item": f"""
        id INTEGER PRIMARY KEY,
        plan_id INTEGER NOT NULL REFERENCES plan (id),
        holder_kind TEXT NOT NULL CHECK (holder_kind IN ('lot', 'ingot')),
        holder_id INTEGER NOT NULL,
        kg REAL NOT NULL CHECK (kg > 0),
        longest_mm REAL CHECK (longest_mm IS NULL OR longest_mm > 0),
        {SIGNED}""",
    "plan_mould": f"""
        id INTEGER PRIMARY KEY,
        plan_id INTEGER NOT NULL REFERENCES plan (id),
        mould_id INTEGER NOT NULL REFERENCES mould (id),
        {SIGNED}""",
    # Written when a charge is confirmed: that is what reserves its heat number, for ever.
    "melt": f"""
        id INTEGER PRIMARY KEY,
        heat_number TEXT NOT NULL UNIQUE,
        furnace TEXT NOT NULL,
        backend TEXT NOT NULL CHECK (backend IN ('simulated', 'real', 'paper')),
        plan_id INTEGER REFERENCES plan (id),
        continues INTEGER REFERENCES melt (id),
        firing_id INTEGER,
        local_date TEXT NOT NULL,
        mass_kg REAL NOT NULL CHECK (mass_kg > 0),
        alloy TEXT NOT NULL,
        form TEXT NOT NULL,
        unknown INTEGER NOT NULL CHECK (unknown IN (0, 1)),
        solidus_c REAL,
        liquidus_c REAL,
        pour_c REAL,
        note TEXT NOT NULL,
        {SIGNED}""",
    "melt_event": f"""
        id INTEGER PRIMARY KEY,
        melt_id INTEGER NOT NULL REFERENCES melt (id),
        kind TEXT NOT NULL CHECK (kind IN ('addition refused', 'skim', 'dross', 'poured', 'ingots counted',
            'pot drained', 'heel left', 'fire watch', 'masses entered', 'scale check', 'remark', 'put back', 'closed',
            'opened again')),
        detail TEXT NOT NULL CHECK (json_valid(detail)),
        corrects INTEGER REFERENCES melt_event (id),
        {SIGNED}""",
    "ingot": f"""
        id INTEGER PRIMARY KEY,
        melt_id INTEGER NOT NULL REFERENCES melt (id),
        number INTEGER NOT NULL CHECK (number > 0),
        mould_id INTEGER REFERENCES mould (id),
        maker TEXT NOT NULL,
        note TEXT NOT NULL,
        {SIGNED},
        UNIQUE (melt_id, number)""",
    "ingot_event": f"""
        id INTEGER PRIMARY KEY,
        ingot_id INTEGER NOT NULL REFERENCES ingot (id),
        kind TEXT NOT NULL CHECK (kind IN ('note', 'machined', 'used up', 'returned', 'aged', 'label printed',
            'photo')),
        score INTEGER CHECK (score IS NULL OR score BETWEEN 1 AND 5),
        detail TEXT NOT NULL CHECK (json_valid(detail)),
        corrects INTEGER REFERENCES ingot_event (id),
        {SIGNED}""",
    "movement": f"""
        id INTEGER PRIMARY KEY,
        local_date TEXT NOT NULL,
        from_kind TEXT NOT NULL CHECK (from_kind IN ('outside', 'lot', 'ingot', 'melt')),
        from_id INTEGER CHECK ((from_id IS NULL) = (from_kind = 'outside')),
        to_kind TEXT NOT NULL CHECK (to_kind IN ('outside', 'lot', 'ingot', 'melt')),
        to_id INTEGER CHECK ((to_id IS NULL) = (to_kind = 'outside')),
        kg REAL NOT NULL CHECK (kg > 0),
        how TEXT NOT NULL CHECK (how IN ('weighed in', 'charge', 'put back', 'addition', 'picked up', 'heel', 'ingot',
            'dross', 'splash', 'gap', 'used', 'returned', 'sold', 'lost', 'tested', 'correction')),
        melt_id INTEGER REFERENCES melt (id),
        note TEXT NOT NULL,
        corrects INTEGER UNIQUE REFERENCES movement (id),
        void INTEGER NOT NULL CHECK (void IN (0, 1) AND (void = 0 OR corrects IS NOT NULL)),
        {SIGNED},
        CHECK (from_kind <> to_kind OR from_id IS NOT to_id)""",
    "quarantine": f"""
        id INTEGER PRIMARY KEY,
        holder_kind TEXT NOT NULL CHECK (holder_kind IN {_one_of(HOLDERS)}),
        holder_id INTEGER NOT NULL,
        quarantined INTEGER NOT NULL CHECK (quarantined IN (0, 1)),
        reason TEXT NOT NULL CHECK (length(reason) > 0),
        {SIGNED}""",
    # Dry, warm or aged: what a firing, or an oven elsewhere, did to a thing. A dry one ends by itself after 12 h.
    "proof": f"""
        id INTEGER PRIMARY KEY,
        holder_kind TEXT NOT NULL CHECK (holder_kind IN ('lot', 'ingot', 'mould')),
        holder_id INTEGER NOT NULL,
        kind TEXT NOT NULL CHECK (kind IN ('dry', 'warm', 'aged')),
        how TEXT NOT NULL CHECK (how IN ('firing', 'witnessed elsewhere')),
        firing_id INTEGER,
        held_c REAL NOT NULL,
        held_s REAL NOT NULL CHECK (held_s > 0),
        from_utc_ms INTEGER NOT NULL,
        to_utc_ms INTEGER NOT NULL CHECK (to_utc_ms >= from_utc_ms),
        note TEXT NOT NULL,
        {SIGNED}""",
    "proof_end": f"""
        id INTEGER PRIMARY KEY,
        proof_id INTEGER NOT NULL REFERENCES proof (id),
        why TEXT NOT NULL,
        {SIGNED}""",
    "in_firing": f"""
        id INTEGER PRIMARY KEY,
        firing_id INTEGER NOT NULL,
        holder_kind TEXT NOT NULL CHECK (holder_kind IN ('lot', 'ingot', 'mould')),
        holder_id INTEGER NOT NULL,
        why TEXT NOT NULL CHECK (why IN ('dry', 'warm', 'age')),
        taken_out INTEGER NOT NULL CHECK (taken_out IN (0, 1)),
        {SIGNED}""",
    "photo": f"""
        id INTEGER PRIMARY KEY,
        holder_kind TEXT NOT NULL CHECK (holder_kind IN {_one_of((*HOLDERS, "mould"))}),
        holder_id INTEGER NOT NULL,
        file TEXT NOT NULL,
        sha256 TEXT NOT NULL,
        {SIGNED}""",
}
"""Every table of metal and its columns. Each row has its link in `chain`."""

CHAIN = """
    id INTEGER PRIMARY KEY,
    table_name TEXT NOT NULL,
    row_id INTEGER NOT NULL,
    digest TEXT NOT NULL,
    UNIQUE (table_name, row_id)"""

MOVES_VIEW = """
    CREATE VIEW moves AS
    SELECT m.* FROM movement m
    WHERE m.void = 0 AND NOT EXISTS (SELECT 1 FROM movement c WHERE c.corrects = m.id)"""

LOTS_VIEW = """
    CREATE VIEW lots AS
    SELECT l.id, l.code, l.utc_ms AS came_utc_ms, d.name, d.origin, d.form, d.alloy, d.certainty, d.measured, d.surface,
           d.shape, d.longest_mm, d.pieces, d.note,
           coalesce((SELECT sum(kg) FROM moves WHERE to_kind = 'lot' AND to_id = l.id), 0)
           - coalesce((SELECT sum(kg) FROM moves WHERE from_kind = 'lot' AND from_id = l.id), 0) AS kg
    FROM lot l JOIN lot_description d
        ON d.id = (SELECT max(n.id) FROM lot_description n WHERE n.lot_id = l.id)"""

INDEXES = (
    "CREATE INDEX lot_description_lot ON lot_description (lot_id)",
    "CREATE INDEX plan_item_plan ON plan_item (plan_id)",
    "CREATE INDEX plan_item_holder ON plan_item (holder_kind, holder_id)",
    "CREATE INDEX plan_mould_plan ON plan_mould (plan_id)",
    "CREATE INDEX melt_event_melt ON melt_event (melt_id)",
    "CREATE INDEX ingot_event_ingot ON ingot_event (ingot_id)",
    "CREATE INDEX movement_from ON movement (from_kind, from_id)",
    "CREATE INDEX movement_to ON movement (to_kind, to_id)",
    "CREATE INDEX quarantine_holder ON quarantine (holder_kind, holder_id)",
    "CREATE INDEX proof_holder ON proof (holder_kind, holder_id)",
    "CREATE INDEX proof_end_proof ON proof_end (proof_id)",
)


@metal()
def m001_metal(db: Database) -> None:
    """Lots, plans, melts, ingots, moulds; movements between them, proofs, quarantine; and the chain of digests."""
    for table, columns in (*TABLES.items(), ("chain", CHAIN)):
        db.execute(f"CREATE TABLE {table} ({columns}) STRICT")
        for what in ("deleted", "changed"):
            before = "DELETE" if what == "deleted" else "UPDATE"
            db.execute(
                f"CREATE TRIGGER {table}_never_{what} BEFORE {before} ON {table}"
                f" BEGIN SELECT RAISE(ABORT, 'rows of {table} are never {what}; a correction is a new row'); END"
            )
    for statement in (MOVES_VIEW, LOTS_VIEW, *INDEXES):
        db.execute(statement)


CARE_KINDS = (
    "mains voltage",
    "cold ohms",
    "ice check",
    "boiling check",
    "sensor class",
    "second probe",
    "crucible look",
    "near miss",
)
CARE_TABLES = {
    # What somebody measured, saw or did at the furnace itself; value is in the kind's own unit.
    "care_entry": f"""
        id INTEGER PRIMARY KEY,
        kind TEXT NOT NULL CHECK (kind IN {_one_of(CARE_KINDS)}),
        firing_id INTEGER,
        value REAL,
        detail TEXT NOT NULL CHECK (json_valid(detail)),
        note TEXT NOT NULL,
        {SIGNED}""",
    # What a closed firing says of the furnace, where that takes seconds to reckon: once for each.
    "care_figure": f"""
        id INTEGER PRIMARY KEY,
        firing_id INTEGER NOT NULL,
        figures TEXT NOT NULL CHECK (json_valid(figures)),
        {SIGNED}""",
}


@metal()
def m002_care(db: Database) -> None:
    """What is measured and seen of the furnace itself, and what its firings say of element and sensor."""
    for table, columns in CARE_TABLES.items():
        db.execute(f"CREATE TABLE {table} ({columns}) STRICT")
        for what in ("deleted", "changed"):
            before = "DELETE" if what == "deleted" else "UPDATE"
            db.execute(
                f"CREATE TRIGGER {table}_never_{what} BEFORE {before} ON {table}"
                f" BEGIN SELECT RAISE(ABORT, 'rows of {table} are never {what}; a correction is a new row'); END"
            )
    db.execute("CREATE INDEX care_figure_firing ON care_figure (firing_id)")
