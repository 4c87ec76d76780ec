-- The journal: one row an act's entry, in the exact bytes that are hashed and sent.
CREATE TABLE stream (
    stream INTEGER PRIMARY KEY,
    epoch BLOB NOT NULL UNIQUE CHECK (length(epoch) = 16),
    begun_ms INTEGER NOT NULL,
    sealed TEXT
) STRICT;

CREATE TABLE entry (
    stream INTEGER NOT NULL REFERENCES stream (stream),
    seq INTEGER NOT NULL CHECK (seq >= 1),
    previous BLOB NOT NULL CHECK (length(previous) = 32),
    hash BLOB NOT NULL CHECK (length(hash) = 32),
    site BLOB,
    visit BLOB,
    bytes BLOB NOT NULL,
    PRIMARY KEY (stream, seq)
) STRICT, WITHOUT ROWID;
CREATE INDEX entry_of_visit ON entry (visit) WHERE visit IS NOT NULL;
CREATE INDEX entry_of_site ON entry (site) WHERE site IS NOT NULL AND visit IS NULL;

-- Entries of other devices, as the feeds bring them; both branches of a fork have their place.
CREATE TABLE received (
    device BLOB NOT NULL CHECK (length(device) = 16),
    epoch BLOB NOT NULL CHECK (length(epoch) = 16),
    seq INTEGER NOT NULL CHECK (seq >= 1),
    hash BLOB NOT NULL CHECK (length(hash) = 32),
    previous BLOB NOT NULL CHECK (length(previous) = 32),
    site BLOB,
    visit BLOB,
    bytes BLOB NOT NULL,
    PRIMARY KEY (device, epoch, seq, hash)
) STRICT, WITHOUT ROWID;
CREATE INDEX received_of_visit ON received (visit) WHERE visit IS NOT NULL;
CREATE INDEX received_of_site ON received (site) WHERE site IS NOT NULL AND visit IS NULL;

CREATE TRIGGER entry_is_never_updated BEFORE UPDATE ON entry
BEGIN SELECT RAISE(ABORT, 'the journal is never updated'); END;
CREATE TRIGGER entry_is_never_deleted BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'the journal is never deleted'); END;
CREATE TRIGGER entry_is_never_written_over BEFORE INSERT ON entry
WHEN EXISTS (SELECT 1 FROM entry WHERE stream = NEW.stream AND seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'the journal is never written over'); END;
CREATE TRIGGER received_is_never_updated BEFORE UPDATE ON received
BEGIN SELECT RAISE(ABORT, 'the journal is never updated'); END;
CREATE TRIGGER received_is_never_deleted BEFORE DELETE ON received
BEGIN SELECT RAISE(ABORT, 'the journal is never deleted'); END;
CREATE TRIGGER received_is_never_written_over BEFORE INSERT ON received
WHEN EXISTS (
    SELECT 1 FROM received
    WHERE device = NEW.device AND epoch = NEW.epoch AND seq = NEW.seq AND hash = NEW.hash
)
BEGIN SELECT RAISE(ABORT, 'the journal is never written over'); END;
CREATE TRIGGER stream_is_never_deleted BEFORE DELETE ON stream
BEGIN SELECT RAISE(ABORT, 'a stream is never deleted'); END;
CREATE TRIGGER stream_is_sealed_once BEFORE UPDATE ON stream
WHEN OLD.sealed IS NOT NULL OR NEW.stream <> OLD.stream OR NEW.epoch <> OLD.epoch OR NEW.sealed IS NULL
BEGIN SELECT RAISE(ABORT, 'a stream is sealed once, and nothing else of it changes'); END;
CREATE TRIGGER stream_is_never_written_over BEFORE INSERT ON stream
WHEN EXISTS (SELECT 1 FROM stream WHERE stream = NEW.stream OR epoch = NEW.epoch)
BEGIN SELECT RAISE(ABORT, 'a stream is never written over'); END;

-- Acts of several entries, so that one press takes back the whole of one. Single entries have no row.
CREATE TABLE act_span (
    stream INTEGER NOT NULL REFERENCES stream (stream),
    last INTEGER NOT NULL,
    first INTEGER NOT NULL,
    PRIMARY KEY (stream, last)
) STRICT, WITHOUT ROWID;

-- What can be erased: texts with their salt, photos' places, names of people. None of it enters an entry.
CREATE TABLE text (
    hash BLOB PRIMARY KEY CHECK (length(hash) = 32),
    salt BLOB NOT NULL CHECK (length(salt) = 16),
    text TEXT NOT NULL,
    entry_seq INTEGER,
    stream INTEGER,
    sent INTEGER NOT NULL DEFAULT 0
) STRICT, WITHOUT ROWID;

CREATE TABLE photo (
    photo BLOB PRIMARY KEY CHECK (length(photo) = 16),
    stream INTEGER NOT NULL REFERENCES stream (stream),
    seq INTEGER NOT NULL,
    hash BLOB NOT NULL,
    salt BLOB NOT NULL,
    length INTEGER NOT NULL,
    name TEXT,
    taken_ms INTEGER NOT NULL,
    state TEXT
) STRICT, WITHOUT ROWID;

CREATE TABLE observer (
    observer BLOB PRIMARY KEY CHECK (length(observer) = 16),
    name TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE setting (
    name TEXT PRIMARY KEY,
    value ANY NOT NULL
) STRICT, WITHOUT ROWID;

-- Sync.
CREATE TABLE acknowledged (
    stream INTEGER PRIMARY KEY REFERENCES stream (stream),
    seq INTEGER NOT NULL,
    hash BLOB NOT NULL,
    parked INTEGER NOT NULL DEFAULT 0
) STRICT;

CREATE TABLE hole (
    stream INTEGER NOT NULL REFERENCES stream (stream),
    seq INTEGER NOT NULL,
    reason TEXT NOT NULL,
    offered_by TEXT NOT NULL,
    PRIMARY KEY (stream, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE feed_cursor (
    site BLOB PRIMARY KEY,
    number INTEGER NOT NULL,
    hash BLOB NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE verdict (
    stream INTEGER NOT NULL REFERENCES stream (stream),
    number INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    hash BLOB NOT NULL,
    ruling TEXT NOT NULL,
    PRIMARY KEY (stream, number)
) STRICT, WITHOUT ROWID;

-- Requests that were handed out and whose outcome is not stored. No token ever stands here.
CREATE TABLE job (
    job INTEGER PRIMARY KEY,
    record TEXT NOT NULL,
    file TEXT
) STRICT;

-- State: a cache of the fold. Every row follows from the set of entries alone.
CREATE TABLE site (
    site BLOB PRIMARY KEY,
    name TEXT,
    state TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE visit (
    visit BLOB PRIMARY KEY,
    site BLOB NOT NULL,
    started_ms INTEGER,
    ended_ms INTEGER,
    state TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE plant_check (
    visit BLOB NOT NULL,
    plant_check BLOB NOT NULL,
    number INTEGER NOT NULL,
    standing TEXT NOT NULL,
    state TEXT NOT NULL,
    PRIMARY KEY (visit, plant_check)
) STRICT, WITHOUT ROWID;

CREATE TABLE tally (
    visit BLOB NOT NULL,
    plant_check BLOB NOT NULL,
    what TEXT NOT NULL,
    animal TEXT NOT NULL,
    number INTEGER NOT NULL,
    PRIMARY KEY (visit, plant_check, what, animal)
) STRICT, WITHOUT ROWID;

CREATE TABLE finding (
    visit BLOB NOT NULL,
    message TEXT NOT NULL,
    arguments TEXT NOT NULL,
    PRIMARY KEY (visit, message, arguments)
) STRICT, WITHOUT ROWID;

-- Visits whose rows are still to be folded again.
CREATE TABLE unfolded (
    visit BLOB PRIMARY KEY
) STRICT, WITHOUT ROWID;
