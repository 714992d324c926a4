-- The trial file, version 1. Nothing here is ever updated or deleted but `findings`, which can be made again.
-- A record holds in its newest version from a change that is not undone (see history.py).

CREATE TABLE migration (
    version INTEGER PRIMARY KEY,
    made_by TEXT NOT NULL              -- the Evenhand that brought the file to this version, and can read it
) STRICT;

CREATE TABLE header (
    only_one INTEGER PRIMARY KEY CHECK (only_one = 1),
    body TEXT NOT NULL
) STRICT;

CREATE TABLE change (
    number INTEGER PRIMARY KEY,
    at INTEGER NOT NULL,               -- seconds since 1970-01-01T00:00Z
    what TEXT NOT NULL,
    undoes INTEGER REFERENCES change (number) CHECK (undoes < number)
) STRICT;

CREATE TABLE record (
    id TEXT NOT NULL,
    change INTEGER NOT NULL REFERENCES change (number),
    kind TEXT NOT NULL,
    body TEXT,                         -- JSON; NULL where this change withdrew the record
    PRIMARY KEY (id, change)
) STRICT, WITHOUT ROWID;

CREATE TABLE batch (
    number INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    change INTEGER NOT NULL REFERENCES change (number),
    file TEXT NOT NULL,
    sheet TEXT,
    sensor TEXT NOT NULL,
    first INTEGER NOT NULL,            -- its readings are those numbered first .. first + rows - 1
    rows INTEGER NOT NULL CHECK (rows >= 0),
    hash TEXT NOT NULL                 -- SHA-256 of its readings
) STRICT;

CREATE TABLE reading (
    number INTEGER PRIMARY KEY,
    instant INTEGER NOT NULL,          -- seconds since 1970-01-01T00:00Z
    "offset" INTEGER NOT NULL,         -- seconds east of UTC
    value REAL NOT NULL,               -- in the unit recorded
    mmol INTEGER NOT NULL,             -- 1 where recorded in mmol/L, 0 in mg/dL
    flag INTEGER NOT NULL,             -- 0 plain, 1 at most the low limit, 2 at least the high limit
    line INTEGER NOT NULL,             -- in the source file or sheet, from 1
    text TEXT NOT NULL                 -- as recorded
) STRICT;

CREATE TABLE ledger (
    number INTEGER PRIMARY KEY,
    change INTEGER NOT NULL REFERENCES change (number),
    file TEXT NOT NULL,
    sheet TEXT,
    first INTEGER NOT NULL,            -- rows in a row with one fate and reason stand together: first to last line
    last INTEGER NOT NULL CHECK (last >= first),
    fate TEXT NOT NULL,
    reason TEXT NOT NULL
) STRICT;

CREATE TABLE findings (
    number INTEGER PRIMARY KEY,
    edition TEXT NOT NULL UNIQUE,
    data BLOB NOT NULL
) STRICT;
