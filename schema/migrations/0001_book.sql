-- The journal is the truth. Everything below it can be dropped and rebuilt from it.

CREATE TABLE journal (
    seq INTEGER PRIMARY KEY CHECK (seq > 0),
    recorded_at TEXT NOT NULL,
    author TEXT NOT NULL,
    body TEXT NOT NULL,
    prev_hash BLOB NOT NULL CHECK (length(prev_hash) = 32),
    hash BLOB NOT NULL CHECK (length(hash) = 32)
) STRICT;

CREATE TRIGGER journal_is_never_edited BEFORE UPDATE ON journal
BEGIN SELECT RAISE(ABORT, 'journal entries are never edited; void them by a later one'); END;

CREATE TRIGGER journal_is_never_shortened BEFORE DELETE ON journal
BEGIN SELECT RAISE(ABORT, 'journal entries are never removed; void them by a later one'); END;

-- What the tables were last projected under.
CREATE TABLE projection (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    rules_fingerprint TEXT NOT NULL
) STRICT;
INSERT INTO projection VALUES (1, '');

CREATE TABLE voids (
    voided INTEGER PRIMARY KEY,
    seq INTEGER NOT NULL,
    because TEXT NOT NULL
) STRICT;

CREATE TABLE depots (
    depot TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    timezone TEXT NOT NULL,
    elevation_ft REAL,
    rules TEXT NOT NULL,
    digest_to TEXT NOT NULL,
    seq INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE units (
    unit TEXT PRIMARY KEY,
    depot TEXT NOT NULL REFERENCES depots,
    body TEXT NOT NULL,
    vin TEXT,
    plate TEXT NOT NULL,
    model_year INTEGER,
    in_service_on TEXT CHECK (length(in_service_on) = 10),
    retired_on TEXT CHECK (length(retired_on) = 10),
    note TEXT NOT NULL,
    seq INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX units_by_depot ON units (depot);

CREATE TABLE appliances (
    unit TEXT NOT NULL REFERENCES units,
    appliance TEXT NOT NULL,
    btu_h REAL NOT NULL,
    inlet_min_inwc REAL,
    inlet_max_inwc REAL,
    seq INTEGER NOT NULL,
    PRIMARY KEY (unit, appliance)
) STRICT, WITHOUT ROWID;

CREATE TABLE parts (
    part TEXT PRIMARY KEY,
    unit TEXT REFERENCES units,
    kind TEXT NOT NULL,
    position TEXT NOT NULL,
    spec TEXT NOT NULL,
    serial TEXT NOT NULL,
    made TEXT,
    fitted_on TEXT CHECK (length(fitted_on) = 10),
    replace_by TEXT,
    note TEXT NOT NULL,
    scrapped_on TEXT CHECK (length(scrapped_on) = 10),
    scrapped_because TEXT,
    seq INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX parts_by_unit ON parts (unit);

CREATE TABLE marks (
    seq INTEGER PRIMARY KEY,
    part TEXT NOT NULL REFERENCES parts,
    month TEXT NOT NULL,
    method TEXT NOT NULL,
    rin TEXT
) STRICT;
CREATE INDEX marks_by_part ON marks (part);

CREATE TABLE people (
    person TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    email TEXT,
    skills TEXT NOT NULL,
    rin TEXT,
    credential_until TEXT CHECK (length(credential_until) = 10),
    seq INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE gauges (
    gauge TEXT PRIMARY KEY,
    kind TEXT NOT NULL,
    resolution_inwc REAL,
    note TEXT NOT NULL,
    seq INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE gauge_checks (
    seq INTEGER PRIMARY KEY,
    gauge TEXT NOT NULL REFERENCES gauges,
    on_day TEXT NOT NULL CHECK (length(on_day) = 10),
    by_person TEXT REFERENCES people,
    reading TEXT NOT NULL,
    reference TEXT NOT NULL
) STRICT;
CREATE INDEX gauge_checks_by_gauge ON gauge_checks (gauge, on_day);

CREATE TABLE gas_tests (
    seq INTEGER PRIMARY KEY,
    unit TEXT NOT NULL REFERENCES units,
    on_day TEXT NOT NULL CHECK (length(on_day) = 10),
    by_person TEXT REFERENCES people,
    gauge TEXT REFERENCES gauges,
    tap TEXT NOT NULL,
    lockup TEXT,
    lockup_later TEXT NOT NULL,
    flow TEXT,
    load_percent REAL,
    method TEXT,
    drop_start TEXT,
    drop_between TEXT NOT NULL,
    drop_end TEXT,
    minutes REAL,
    air_f REAL,
    air_after_f REAL,
    elevation_ft REAL,
    vent TEXT,
    verdict TEXT NOT NULL CHECK (verdict IN ('pass', 'fail', 'inconclusive')),
    because TEXT NOT NULL
) STRICT;
CREATE INDEX gas_tests_by_unit ON gas_tests (unit, on_day);
CREATE INDEX gas_tests_by_gauge ON gas_tests (gauge, on_day);

CREATE TABLE checks (
    seq INTEGER PRIMARY KEY,
    unit TEXT NOT NULL REFERENCES units,
    part TEXT REFERENCES parts,
    on_day TEXT NOT NULL CHECK (length(on_day) = 10),
    by_person TEXT REFERENCES people,
    rule TEXT NOT NULL,
    result TEXT NOT NULL CHECK (result IN ('pass', 'fail')),
    note TEXT NOT NULL
) STRICT;
CREATE INDEX checks_by_unit ON checks (unit);
CREATE INDEX checks_by_part ON checks (part);

CREATE TABLE events (
    seq INTEGER PRIMARY KEY,
    unit TEXT NOT NULL REFERENCES units,
    on_day TEXT NOT NULL CHECK (length(on_day) = 10),
    event TEXT NOT NULL,
    note TEXT NOT NULL
) STRICT;
CREATE INDEX events_by_unit ON events (unit);

CREATE TABLE holds (
    seq INTEGER PRIMARY KEY,
    unit TEXT NOT NULL REFERENCES units,
    placed_on TEXT NOT NULL CHECK (length(placed_on) = 10),
    reason TEXT NOT NULL,
    lifted_on TEXT CHECK (length(lifted_on) = 10),
    lifted_because TEXT NOT NULL
) STRICT;
CREATE INDEX holds_by_unit ON holds (unit);

CREATE TABLE bookings (
    booking TEXT PRIMARY KEY,
    unit TEXT NOT NULL REFERENCES units,
    out_on TEXT NOT NULL CHECK (length(out_on) = 10),
    back_on TEXT NOT NULL CHECK (length(back_on) = 10),
    seq INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX bookings_by_unit ON bookings (unit, back_on);

CREATE TABLE calendar (
    depot TEXT NOT NULL REFERENCES depots,
    person TEXT NOT NULL,
    day_or_weekday TEXT NOT NULL,
    minutes INTEGER NOT NULL CHECK (minutes BETWEEN 0 AND 144000),
    seq INTEGER NOT NULL,
    PRIMARY KEY (depot, person, day_or_weekday)
) STRICT, WITHOUT ROWID;

CREATE TABLE visits (
    seq INTEGER PRIMARY KEY,
    unit TEXT NOT NULL REFERENCES units,
    on_day TEXT NOT NULL CHECK (length(on_day) = 10),
    by_person TEXT NOT NULL REFERENCES people,
    note TEXT NOT NULL
) STRICT;
CREATE INDEX visits_by_unit ON visits (unit, on_day);

CREATE TABLE house_rules (
    pack TEXT PRIMARY KEY,
    toml TEXT NOT NULL,
    seq INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- Due dates are kept, not searched. A row does not know what day it is: `due_on` NULL is an item that a missing fact
-- leaves undated, and sorts first. `subject` is unit:CODE, part:CODE, gauge:CODE or person:CODE.
CREATE TABLE due (
    subject TEXT NOT NULL,
    rule TEXT NOT NULL,
    depot TEXT,
    unit TEXT,
    part TEXT,
    kind TEXT NOT NULL,
    position TEXT NOT NULL,
    what TEXT NOT NULL,
    due_on TEXT CHECK (length(due_on) = 10),
    notice_from TEXT CHECK (length(notice_from) = 10),
    authority TEXT NOT NULL,
    cite TEXT NOT NULL,
    late TEXT NOT NULL,
    because TEXT NOT NULL,
    basis TEXT NOT NULL,
    PRIMARY KEY (subject, rule)
) STRICT, WITHOUT ROWID;
CREATE INDEX due_in_order ON due (due_on, unit, part, rule);

-- What became of each recipient's digest of each week. Not projected: it is about mail, not about the fleet.
CREATE TABLE outbox (
    recipient TEXT NOT NULL,
    week TEXT NOT NULL,
    copy INTEGER NOT NULL,
    attempts INTEGER NOT NULL,
    progress TEXT NOT NULL CHECK (progress IN ('queued', 'sending', 'sent', 'failed')),
    at TEXT,
    said TEXT NOT NULL,
    next_try TEXT,
    told TEXT NOT NULL,
    PRIMARY KEY (recipient, week)
) STRICT, WITHOUT ROWID;
