"""The tables of `furnace.db`.

Tables are named in the singular, the views that people read in the plural. Rows of the log are only ever added;
triggers hold that for every program, ours included. The key of a sample is firing << 32 | t_ms: rows arrive in key
order, so that a batch touches few pages and no index is needed.
"""

from sqlite_utils import Database, Migrations

from supervisor.logbook import commissioning, learned_tables, seals
from supervisor.logbook.left_open import FOUND_OPEN

furnace_log = Migrations("furnace")  # oldest first; a released step is never edited, the next one is added

TABLES = (
    """
    CREATE TABLE identity (
        id INTEGER PRIMARY KEY CHECK (id = 1),
        kind TEXT NOT NULL CHECK (kind IN ('simulated', 'real')),
        furnace TEXT NOT NULL,
        "key" TEXT NOT NULL,
        openings INTEGER NOT NULL
    ) STRICT""",
    """
    CREATE TABLE firing (
        id INTEGER PRIMARY KEY CHECK (id BETWEEN 1 AND 2147483647),
        name TEXT NOT NULL,
        heat_number TEXT UNIQUE,
        profile TEXT NOT NULL,
        furnace TEXT NOT NULL,
        backend TEXT NOT NULL,
        frozen TEXT NOT NULL CHECK (json_valid(frozen)),
        boot_id TEXT NOT NULL,
        started_monotonic_ms INTEGER NOT NULL,
        started_utc_ms INTEGER NOT NULL,
        clock_quality TEXT NOT NULL,
        started_local_date TEXT NOT NULL,
        utc_offset_min INTEGER NOT NULL,
        closed_t_ms INTEGER,
        closed_utc_ms INTEGER,
        state TEXT CHECK (state IN ('complete', 'stopped', 'aborted', 'interrupted')),
        first_cause TEXT,
        results TEXT CHECK (results IS NULL OR json_valid(results)),
        CHECK ((state IS NULL) = (closed_t_ms IS NULL) AND (state IS NULL) = (results IS NULL))
    ) STRICT""",
    """
    CREATE TABLE sample (
        id INTEGER PRIMARY KEY CHECK (id = (firing_id << 32) | t_ms),
        firing_id INTEGER NOT NULL REFERENCES firing (id),
        t_ms INTEGER NOT NULL CHECK (t_ms BETWEEN 0 AND 4294967295),
        hot_junction_c REAL,
        cold_junction_c REAL,
        setpoint_c REAL,
        duty REAL NOT NULL,
        energy_wh REAL NOT NULL,
        inputs INTEGER NOT NULL,
        state TEXT NOT NULL,
        raw_word INTEGER NOT NULL,
        residual_k REAL
    ) STRICT""",
    """
    CREATE TABLE minute (
        id INTEGER PRIMARY KEY CHECK (id = (firing_id << 32) | minute),
        firing_id INTEGER NOT NULL REFERENCES firing (id),
        minute INTEGER NOT NULL CHECK (minute >= 0),
        samples INTEGER NOT NULL,
        readings INTEGER NOT NULL,
        hot_junction_min_c REAL,
        hot_junction_mean_c REAL,
        hot_junction_max_c REAL,
        cold_junction_mean_c REAL,
        setpoint_mean_c REAL,
        duty_mean REAL NOT NULL,
        energy_wh REAL NOT NULL
    ) STRICT""",
    """
    CREATE TABLE event (
        id INTEGER PRIMARY KEY,
        firing_id INTEGER REFERENCES firing (id),
        t_ms INTEGER NOT NULL,
        utc_ms INTEGER NOT NULL,
        boot_id TEXT NOT NULL,
        kind TEXT NOT NULL,
        who TEXT NOT NULL,
        sent_from TEXT NOT NULL,
        detail TEXT NOT NULL CHECK (json_valid(detail))
    ) STRICT""",
    """
    CREATE TABLE alarm (
        id INTEGER PRIMARY KEY,
        firing_id INTEGER REFERENCES firing (id),
        t_ms INTEGER NOT NULL,
        utc_ms INTEGER NOT NULL,
        boot_id TEXT NOT NULL,
        alarm TEXT NOT NULL,
        watch TEXT NOT NULL,
        step TEXT NOT NULL CHECK (step IN ('raised', 'acknowledged', 'returned', 'reset')),
        priority INTEGER NOT NULL,
        evidence TEXT NOT NULL,
        first_out INTEGER NOT NULL CHECK (first_out IN (0, 1)),
        who TEXT NOT NULL
    ) STRICT""",
    """
    CREATE TABLE command (
        id INTEGER PRIMARY KEY,
        firing_id INTEGER REFERENCES firing (id),
        t_ms INTEGER NOT NULL,
        utc_ms INTEGER NOT NULL,
        boot_id TEXT NOT NULL,
        command_id TEXT NOT NULL,
        kind TEXT NOT NULL,
        who TEXT NOT NULL,
        sent_from TEXT NOT NULL,
        accepted INTEGER NOT NULL CHECK (accepted IN (0, 1)),
        sentence TEXT NOT NULL,
        detail TEXT NOT NULL CHECK (json_valid(detail))
    ) STRICT""",
    """
    CREATE TABLE clock (
        id INTEGER PRIMARY KEY,
        boot_id TEXT NOT NULL,
        monotonic_ms INTEGER NOT NULL,
        utc_ms INTEGER NOT NULL,
        quality TEXT NOT NULL,
        reason TEXT NOT NULL
    ) STRICT""",
    "CREATE INDEX event_firing ON event (firing_id)",
    "CREATE INDEX alarm_firing ON alarm (firing_id)",
    "CREATE INDEX alarm_alarm ON alarm (alarm)",
    "CREATE INDEX command_firing ON command (firing_id)",
    "CREATE INDEX clock_boot ON clock (boot_id)",
)

APPEND_ONLY = ("sample", "minute", "event", "alarm", "command", "clock")

# A clock that the network, a clock chip or a person set later in the same boot dates a firing that began on a guess.
FIRINGS_VIEW = f"""
    CREATE VIEW firings AS
    SELECT f.id, f.name, f.heat_number, f.profile, f.furnace, f.backend,
           CASE WHEN f.state IS NOT NULL THEN f.state
                WHEN EXISTS (SELECT 1 FROM event e WHERE e.firing_id = f.id AND e.kind = '{FOUND_OPEN}')
                THEN 'interrupted' ELSE 'open' END AS state,
           f.first_cause,
           strftime('%Y-%m-%dT%H:%M:%SZ', coalesce(c.started_utc_ms, f.started_utc_ms) / 1000, 'unixepoch')
                AS started_utc,
           coalesce(c.started_utc_ms, f.started_utc_ms) AS started_utc_ms,
           f.clock_quality NOT IN ('unset', 'saved') OR c.started_utc_ms IS NOT NULL AS clock_confirmed,
           f.started_local_date, f.utc_offset_min,
           coalesce(f.closed_t_ms, (SELECT s.t_ms FROM sample s
                WHERE s.id BETWEEN f.id << 32 AND (f.id << 32) | 4294967295 ORDER BY s.id DESC LIMIT 1)) / 1000.0
                AS lasted_s,
           json_extract(f.results, '$.peak_c') AS peak_c,
           json_extract(f.results, '$.energy_wh') AS energy_wh,
           f.results
    FROM firing f
    LEFT JOIN (
        SELECT g.id, g.started_monotonic_ms + (SELECT k.utc_ms - k.monotonic_ms FROM clock k
            WHERE k.boot_id = g.boot_id AND k.quality IN ('network', 'rtc', 'person')
            ORDER BY CASE k.quality WHEN 'network' THEN 0 WHEN 'rtc' THEN 1 ELSE 2 END, k.id DESC LIMIT 1)
            AS started_utc_ms
        FROM firing g WHERE g.clock_quality IN ('unset', 'saved')
    ) c ON c.id = f.id"""

# CROSS JOIN fixes the order of the loops: the firing is found first, its samples by their keys.
SAMPLES_VIEW = """
    CREATE VIEW samples AS
    SELECT f.name, f.heat_number, s.firing_id, s.t_ms / 1000.0 AS t_s, s.hot_junction_c, s.cold_junction_c,
           s.setpoint_c, s.duty, s.energy_wh, s.inputs, s.state, s.raw_word, s.residual_k
    FROM firing f CROSS JOIN sample s ON s.id BETWEEN f.id << 32 AND (f.id << 32) | 4294967295"""

MINUTES_VIEW = """
    CREATE VIEW minutes AS
    SELECT f.name, f.heat_number, m.firing_id, m.minute, m.samples, m.readings, m.hot_junction_min_c,
           m.hot_junction_mean_c, m.hot_junction_max_c, m.cold_junction_mean_c, m.setpoint_mean_c, m.duty_mean,
           m.energy_wh
    FROM firing f CROSS JOIN minute m ON m.id BETWEEN f.id << 32 AND (f.id << 32) | 4294967295"""


@furnace_log()
def m001_the_log(db: Database) -> None:
    """Firings, their samples, and everything that happened once."""
    for statement in (*TABLES, FIRINGS_VIEW, SAMPLES_VIEW, MINUTES_VIEW):
        db.execute(statement)
    for table in ("event", "alarm", "command"):
        db.execute(f"""CREATE VIEW {table}s AS
            SELECT f.name, f.heat_number, r.* FROM {table} r LEFT JOIN firing f ON f.id = r.firing_id""")
    for table in (*APPEND_ONLY, "firing"):
        db.execute(f"""CREATE TRIGGER {table}_never_deleted BEFORE DELETE ON {table}
            BEGIN SELECT RAISE(ABORT, 'rows of {table} are never deleted'); END""")
    for table in APPEND_ONLY:
        db.execute(f"""CREATE TRIGGER {table}_never_changed BEFORE UPDATE ON {table}
            BEGIN SELECT RAISE(ABORT, 'rows of {table} are never changed; a correction is a new row'); END""")
    db.execute(f"""CREATE TRIGGER firing_opening_never_changed BEFORE UPDATE OF {seals.OPENING} ON firing
        BEGIN SELECT RAISE(ABORT, 'the opening of a firing is never changed'); END""")
    db.execute("""CREATE TRIGGER firing_closed_once BEFORE UPDATE ON firing WHEN OLD.state IS NOT NULL
        BEGIN SELECT RAISE(ABORT, 'a firing is closed once'); END""")
    db.execute("PRAGMA user_version = 1")


@furnace_log()
def m002_what_was_learned(db: Database) -> None:
    """Models of the furnace, and each minute's estimate of the metal."""
    for statement in (*learned_tables.TABLES, learned_tables.ESTIMATES_VIEW, learned_tables.MODELS_VIEW):
        db.execute(statement)
    for table in ("estimate", "model"):
        db.execute(f"""CREATE TRIGGER {table}_never_deleted BEFORE DELETE ON {table}
            BEGIN SELECT RAISE(ABORT, 'rows of {table} are never deleted'); END""")
        db.execute(f"""CREATE TRIGGER {table}_never_changed BEFORE UPDATE ON {table}
            BEGIN SELECT RAISE(ABORT, 'rows of {table} are never changed; a correction is a new row'); END""")
    db.execute("PRAGMA user_version = 2")


SECONDS_VIEW = SAMPLES_VIEW.replace("s.residual_k\n", "s.residual_k, s.mean_c, s.second_word, s.quarters\n")


@furnace_log()
def m003_what_judging_again_needs(db: Database) -> None:
    """What the watches go by in each second and quarter of one, and the raw word of the second thermocouple."""
    db.execute("ALTER TABLE sample ADD COLUMN mean_c REAL")
    db.execute("ALTER TABLE sample ADD COLUMN second_word INTEGER")
    db.execute("ALTER TABLE sample ADD COLUMN quarters INTEGER")
    db.execute("DROP VIEW samples")
    db.execute(SECONDS_VIEW)
    db.execute("PRAGMA user_version = 3")


@furnace_log()
def m004_what_was_proved(db: Database) -> None:
    """Proofs of the equipment, and which of its parts were changed."""
    for statement in commissioning.TABLES:
        db.execute(statement)
    db.execute("PRAGMA user_version = 4")


@furnace_log()
def m005_seals(db: Database) -> None:
    """Seals over every batch from now on, and how many rows there were before; what people noted at hand."""
    db.execute(seals.TABLE)
    db.execute("CREATE INDEX event_notes ON event (firing_id) WHERE kind = 'note'")  # few among many events
    for what, verb in (("deleted", "DELETE"), ("changed", "UPDATE")):
        db.execute(f"""CREATE TRIGGER seal_never_{what} BEFORE {verb} ON seal
            BEGIN SELECT RAISE(ABORT, 'rows of seal are never {what}'); END""")
    seals.seal_the_past(db.conn)
    db.execute("PRAGMA user_version = 5")
