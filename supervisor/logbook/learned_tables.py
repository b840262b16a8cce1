"""The tables of what was learned: each minute's estimate of the metal, and the models of the furnace. Layout 2."""

TABLES = (
    """
    CREATE TABLE estimate (
        id INTEGER PRIMARY KEY CHECK (id = (firing_id << 32) | t_ms),
        firing_id INTEGER NOT NULL REFERENCES firing (id),
        t_ms INTEGER NOT NULL CHECK (t_ms BETWEEN 0 AND 4294967295),
        phase TEXT,
        metal_c REAL,
        low_c REAL,
        high_c REAL,
        share_low REAL,
        share_molten REAL,
        share_high REAL,
        minutes_low REAL,
        minutes_likely REAL,
        minutes_high REAL,
        boost INTEGER NOT NULL CHECK (boost IN (0, 1)),
        why TEXT NOT NULL,
        setpoint_c REAL,
        doubt TEXT NOT NULL
    ) STRICT""",
    """
    CREATE TABLE model (
        id INTEGER PRIMARY KEY,
        firing_id INTEGER REFERENCES firing (id),
        utc_ms INTEGER NOT NULL,
        boot_id TEXT NOT NULL,
        adopted INTEGER NOT NULL CHECK (adopted IN (0, 1)),
        takes INTEGER REFERENCES model (id),
        who TEXT NOT NULL,
        sent_from TEXT NOT NULL,
        model TEXT NOT NULL CHECK (json_valid(model)),
        against TEXT NOT NULL CHECK (json_valid(against)),
        note TEXT NOT NULL
    ) STRICT""",
)

ESTIMATES_VIEW = """
    CREATE VIEW estimates AS
    SELECT f.name, f.heat_number, e.firing_id, e.t_ms / 60000.0 AS minute, e.phase, e.metal_c, e.low_c, e.high_c,
           e.share_low, e.share_molten, e.share_high, e.minutes_low, e.minutes_likely, e.minutes_high, e.boost, e.why,
           e.setpoint_c, e.doubt
    FROM firing f CROSS JOIN estimate e ON e.id BETWEEN f.id << 32 AND (f.id << 32) | 4294967295"""

MODELS_VIEW = """
    CREATE VIEW models AS
    SELECT m.id, m.adopted, strftime('%Y-%m-%dT%H:%M:%SZ', m.utc_ms / 1000, 'unixepoch') AS decided_utc,
           strftime('%Y-%m-%dT%H:%M:%SZ', json_extract(m.model, '$.made_utc_ms') / 1000, 'unixepoch') AS made_utc,
           m.firing_id, json_extract(m.model, '$.learned_from') AS learned_from,
           json_extract(m.model, '$.metered') AS metered, m.takes, m.who, m.sent_from, m.note
    FROM model m"""
