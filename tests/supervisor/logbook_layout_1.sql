-- A log as layout 1 wrote it, before models and estimates were kept: two firings, the second one left open.
-- Made with sqlite3's own dump of the file. Never edited: it stands for the files that people have.
PRAGMA page_size = 1024;
PRAGMA user_version = 1;
BEGIN TRANSACTION;
CREATE TABLE "_sqlite_migrations" (
   "id" INTEGER PRIMARY KEY,
   "migration_set" TEXT,
   "name" TEXT,
   "applied_at" TEXT
);
INSERT INTO "_sqlite_migrations" VALUES(1,'furnace','m001_the_log','2026-11-27 06:40:01.949982+00:00');
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
    ) STRICT;
INSERT INTO "alarm" VALUES(1,1,6000,1772366400000,'boot-1','sensor-open/1','sensor-open','raised',1,'open circuit',1,'supervisor');
CREATE TABLE clock (
        id INTEGER PRIMARY KEY,
        boot_id TEXT NOT NULL,
        monotonic_ms INTEGER NOT NULL,
        utc_ms INTEGER NOT NULL,
        quality TEXT NOT NULL,
        reason TEXT NOT NULL
    ) STRICT;
INSERT INTO "clock" VALUES(1,'boot-1',100000,1772366400000,'network','start');
INSERT INTO "clock" VALUES(2,'boot-1',100000,1772366400000,'network','firing opened');
INSERT INTO "clock" VALUES(3,'boot-1',165000,1772366400000,'network','firing closed');
INSERT INTO "clock" VALUES(4,'boot-1',100000,1772366400000,'network','firing opened');
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
    ) STRICT;
INSERT INTO "command" VALUES(1,1,7000,1772366400000,'boot-1','c-1','hold','a phone','page',1,'Held at 351 °C.','{"at_c": 351.0}');
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
    ) STRICT;
INSERT INTO "event" VALUES(1,1,5000,1772366400000,'boot-1','note','command line','command line','{}');
INSERT INTO "event" VALUES(2,2,0,1772366400000,'boot-1','note','command line','command line','{}');
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
    ) STRICT;
INSERT INTO "firing" VALUES(1,'Ingots, 2 kg','A-001','Ingots','bench','simulated','{"top_c": 760.0, "version": "0.1.0"}','boot-1',100000,1772366400000,'network','2026-03-01',0,65000,1772366400000,'complete',NULL,'{"peak_c": 751.25, "energy_wh": 1234.5}');
INSERT INTO "firing" VALUES(2,'Ingots, 2 kg',NULL,'Ingots','bench','simulated','{"top_c": 760.0, "version": "0.1.0"}','boot-1',100000,1772366400000,'network','2026-03-01',0,NULL,NULL,NULL,NULL,NULL);
CREATE TABLE identity (
        id INTEGER PRIMARY KEY CHECK (id = 1),
        kind TEXT NOT NULL CHECK (kind IN ('simulated', 'real')),
        furnace TEXT NOT NULL,
        "key" TEXT NOT NULL,
        openings INTEGER NOT NULL
    ) STRICT;
INSERT INTO "identity" VALUES(1,'simulated','bench','aa531c997dff4617a179e42f305521ef',1);
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
    ) STRICT;
INSERT INTO "minute" VALUES(4294967296,1,0,60,60,20.0,27.375,34.75,22.0625,28.375,0.5,1.96666666666666678509e+01);
INSERT INTO "minute" VALUES(4294967297,1,1,5,5,35.0,35.5,36.0,22.0625,36.5,0.5,2.13333333333333321482e+01);
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
    ) STRICT;
INSERT INTO "sample" VALUES(4294967296,1,0,20.0,22.0625,21.0,0.5,0.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294968296,1,1000,20.25,22.0625,21.25,0.5,3.33333333333333314829e-01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294969296,1,2000,20.5,22.0625,21.5,0.5,6.66666666666666629659e-01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294970296,1,3000,20.75,22.0625,21.75,0.5,1.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294971296,1,4000,21.0,22.0625,22.0,0.5,1.33333333333333325931e+00,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294972296,1,5000,21.25,22.0625,22.25,0.5,1.66666666666666674068e+00,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294973296,1,6000,21.5,22.0625,22.5,0.5,2.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294974296,1,7000,21.75,22.0625,22.75,0.5,2.33333333333333348136e+00,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294975296,1,8000,22.0,22.0625,23.0,0.5,2.66666666666666651863e+00,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294976296,1,9000,22.25,22.0625,23.25,0.5,3.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294977296,1,10000,22.5,22.0625,23.5,0.5,3.33333333333333348136e+00,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294978296,1,11000,22.75,22.0625,23.75,0.5,3.66666666666666651863e+00,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294979296,1,12000,23.0,22.0625,24.0,0.5,4.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294980296,1,13000,23.25,22.0625,24.25,0.5,4.33333333333333303727e+00,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294981296,1,14000,23.5,22.0625,24.5,0.5,4.66666666666666696272e+00,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294982296,1,15000,23.75,22.0625,24.75,0.5,5.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294983296,1,16000,24.0,22.0625,25.0,0.5,5.33333333333333303727e+00,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294984296,1,17000,24.25,22.0625,25.25,0.5,5.66666666666666696272e+00,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294985296,1,18000,24.5,22.0625,25.5,0.5,6.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294986296,1,19000,24.75,22.0625,25.75,0.5,6.33333333333333303727e+00,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294987296,1,20000,25.0,22.0625,26.0,0.5,6.66666666666666696272e+00,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294988296,1,21000,25.25,22.0625,26.25,0.5,7.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294989296,1,22000,25.5,22.0625,26.5,0.5,7.33333333333333303727e+00,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294990296,1,23000,25.75,22.0625,26.75,0.5,7.66666666666666696272e+00,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294991296,1,24000,26.0,22.0625,27.0,0.5,8.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294992296,1,25000,26.25,22.0625,27.25,0.5,8.33333333333333392545e+00,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294993296,1,26000,26.5,22.0625,27.5,0.5,8.66666666666666607454e+00,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294994296,1,27000,26.75,22.0625,27.75,0.5,9.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294995296,1,28000,27.0,22.0625,28.0,0.5,9.33333333333333392545e+00,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294996296,1,29000,27.25,22.0625,28.25,0.5,9.66666666666666607454e+00,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294997296,1,30000,27.5,22.0625,28.5,0.5,10.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294998296,1,31000,27.75,22.0625,28.75,0.5,1.0333333333333333925e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4294999296,1,32000,28.0,22.0625,29.0,0.5,1.06666666666666660741e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295000296,1,33000,28.25,22.0625,29.25,0.5,11.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295001296,1,34000,28.5,22.0625,29.5,0.5,1.13333333333333339252e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295002296,1,35000,28.75,22.0625,29.75,0.5,1.16666666666666660743e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295003296,1,36000,29.0,22.0625,30.0,0.5,12.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295004296,1,37000,29.25,22.0625,30.25,0.5,1.23333333333333339254e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295005296,1,38000,29.5,22.0625,30.5,0.5,1.26666666666666660745e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295006296,1,39000,29.75,22.0625,30.75,0.5,13.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295007296,1,40000,30.0,22.0625,31.0,0.5,1.33333333333333339256e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295008296,1,41000,30.25,22.0625,31.25,0.5,1.36666666666666660747e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295009296,1,42000,30.5,22.0625,31.5,0.5,14.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295010296,1,43000,30.75,22.0625,31.75,0.5,1.43333333333333339258e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295011296,1,44000,31.0,22.0625,32.0,0.5,1.46666666666666660749e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295012296,1,45000,31.25,22.0625,32.25,0.5,15.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295013296,1,46000,31.5,22.0625,32.5,0.5,1.5333333333333333925e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295014296,1,47000,31.75,22.0625,32.75,0.5,1.56666666666666660741e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295015296,1,48000,32.0,22.0625,33.0,0.5,16.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295016296,1,49000,32.25,22.0625,33.25,0.5,1.6333333333333332149e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295017296,1,50000,32.5,22.0625,33.5,0.5,1.66666666666666678513e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295018296,1,51000,32.75,22.0625,33.75,0.5,17.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295019296,1,52000,33.0,22.0625,34.0,0.5,1.73333333333333321495e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295020296,1,53000,33.25,22.0625,34.25,0.5,1.76666666666666678504e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295021296,1,54000,33.5,22.0625,34.5,0.5,18.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295022296,1,55000,33.75,22.0625,34.75,0.5,1.8333333333333332149e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295023296,1,56000,34.0,22.0625,35.0,0.5,1.86666666666666678509e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295024296,1,57000,34.25,22.0625,35.25,0.5,19.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295025296,1,58000,34.5,22.0625,35.5,0.5,1.9333333333333332149e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295026296,1,59000,34.75,22.0625,35.75,0.5,1.96666666666666678509e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295027296,1,60000,35.0,22.0625,36.0,0.5,20.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295028296,1,61000,35.25,22.0625,36.25,0.5,2.0333333333333332149e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295029296,1,62000,35.5,22.0625,36.5,0.5,2.066666666666666785e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295030296,1,63000,35.75,22.0625,36.75,0.5,21.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(4295031296,1,64000,36.0,22.0625,37.0,0.5,2.13333333333333321482e+01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(8589934592,2,0,20.0,22.0625,21.0,0.5,0.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(8589935592,2,1000,20.25,22.0625,21.25,0.5,3.33333333333333314829e-01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(8589936592,2,2000,20.5,22.0625,21.5,0.5,6.66666666666666629659e-01,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(8589937592,2,3000,20.75,22.0625,21.75,0.5,1.0,5592405,'running',4660,NULL);
INSERT INTO "sample" VALUES(8589938592,2,4000,21.0,22.0625,22.0,0.5,1.33333333333333325931e+00,5592405,'running',4660,NULL);
CREATE UNIQUE INDEX "idx__sqlite_migrations_migration_set_name"
    ON "_sqlite_migrations" ("migration_set", "name");
CREATE INDEX event_firing ON event (firing_id);
CREATE INDEX alarm_firing ON alarm (firing_id);
CREATE INDEX alarm_alarm ON alarm (alarm);
CREATE INDEX command_firing ON command (firing_id);
CREATE INDEX clock_boot ON clock (boot_id);
CREATE VIEW firings AS
    SELECT f.id, f.name, f.heat_number, f.profile, f.furnace, f.backend,
           CASE WHEN f.state IS NOT NULL THEN f.state
                WHEN EXISTS (SELECT 1 FROM event e WHERE e.firing_id = f.id AND e.kind = 'found without closing record')
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
    ) c ON c.id = f.id;
CREATE VIEW samples AS
    SELECT f.name, f.heat_number, s.firing_id, s.t_ms / 1000.0 AS t_s, s.hot_junction_c, s.cold_junction_c,
           s.setpoint_c, s.duty, s.energy_wh, s.inputs, s.state, s.raw_word, s.residual_k
    FROM firing f CROSS JOIN sample s ON s.id BETWEEN f.id << 32 AND (f.id << 32) | 4294967295;
CREATE VIEW minutes AS
    SELECT f.name, f.heat_number, m.firing_id, m.minute, m.samples, m.readings, m.hot_junction_min_c,
           m.hot_junction_mean_c, m.hot_junction_max_c, m.cold_junction_mean_c, m.setpoint_mean_c, m.duty_mean,
           m.energy_wh
    FROM firing f CROSS JOIN minute m ON m.id BETWEEN f.id << 32 AND (f.id << 32) | 4294967295;
CREATE VIEW events AS
            SELECT f.name, f.heat_number, r.* FROM event r LEFT JOIN firing f ON f.id = r.firing_id;
CREATE VIEW alarms AS
            SELECT f.name, f.heat_number, r.* FROM alarm r LEFT JOIN firing f ON f.id = r.firing_id;
CREATE VIEW commands AS
            SELECT f.name, f.heat_number, r.* FROM command r LEFT JOIN firing f ON f.id = r.firing_id;
CREATE TRIGGER sample_never_deleted BEFORE DELETE ON sample
            BEGIN SELECT RAISE(ABORT, 'rows of sample are never deleted'); END;
CREATE TRIGGER minute_never_deleted BEFORE DELETE ON minute
            BEGIN SELECT RAISE(ABORT, 'rows of minute are never deleted'); END;
CREATE TRIGGER event_never_deleted BEFORE DELETE ON event
            BEGIN SELECT RAISE(ABORT, 'rows of event are never deleted'); END;
CREATE TRIGGER alarm_never_deleted BEFORE DELETE ON alarm
            BEGIN SELECT RAISE(ABORT, 'rows of alarm are never deleted'); END;
CREATE TRIGGER command_never_deleted BEFORE DELETE ON command
            BEGIN SELECT RAISE(ABORT, 'rows of command are never deleted'); END;
CREATE TRIGGER clock_never_deleted BEFORE DELETE ON clock
            BEGIN SELECT RAISE(ABORT, 'rows of clock are never deleted'); END;
CREATE TRIGGER firing_never_deleted BEFORE DELETE ON firing
            BEGIN SELECT RAISE(ABORT, 'rows of firing are never deleted'); END;
CREATE TRIGGER sample_never_changed BEFORE UPDATE ON sample
            BEGIN SELECT RAISE(ABORT, 'rows of sample are never changed; a correction is a new row'); END;
CREATE TRIGGER minute_never_changed BEFORE UPDATE ON minute
            BEGIN SELECT RAISE(ABORT, 'rows of minute are never changed; a correction is a new row'); END;
CREATE TRIGGER event_never_changed BEFORE UPDATE ON event
            BEGIN SELECT RAISE(ABORT, 'rows of event are never changed; a correction is a new row'); END;
CREATE TRIGGER alarm_never_changed BEFORE UPDATE ON alarm
            BEGIN SELECT RAISE(ABORT, 'rows of alarm are never changed; a correction is a new row'); END;
CREATE TRIGGER command_never_changed BEFORE UPDATE ON command
            BEGIN SELECT RAISE(ABORT, 'rows of command are never changed; a correction is a new row'); END;
CREATE TRIGGER clock_never_changed BEFORE UPDATE ON clock
            BEGIN SELECT RAISE(ABORT, 'rows of clock are never changed; a correction is a new row'); END;
CREATE TRIGGER firing_opening_never_changed BEFORE UPDATE OF id, name, heat_number, profile, furnace, backend, frozen, boot_id, started_monotonic_ms, started_utc_ms, clock_quality, started_local_date, utc_offset_min ON firing
        BEGIN SELECT RAISE(ABORT, 'the opening of a firing is never changed'); END;
CREATE TRIGGER firing_closed_once BEFORE UPDATE ON firing WHEN OLD.state IS NOT NULL
        BEGIN SELECT RAISE(ABORT, 'a firing is closed once'); END;
COMMIT;
