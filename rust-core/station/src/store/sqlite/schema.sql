-- Schema 1. Every table is keyed by a site, a device or a stream first, so that it can be distributed by that key.
-- Ids are 16 octets, hashes 32, times milliseconds since 1970 UTC.

CREATE TABLE streams (
    device BLOB NOT NULL CHECK (length(device) = 16),
    epoch BLOB NOT NULL CHECK (length(epoch) = 16),
    claimed_by BLOB CHECK (length(claimed_by) = 32),
    claim_device BLOB CHECK (length(claim_device) = 16),
    confirmed INTEGER NOT NULL DEFAULT 0 CHECK (confirmed IN (0, 1)),
    announced INTEGER NOT NULL DEFAULT 0,
    first_ms INTEGER NOT NULL,
    seen_ms INTEGER NOT NULL,
    PRIMARY KEY (device, epoch)
) STRICT, WITHOUT ROWID;

CREATE TABLE entries (
    device BLOB NOT NULL,
    epoch BLOB NOT NULL,
    seq INTEGER NOT NULL CHECK (seq >= 1),
    hash BLOB NOT NULL CHECK (length(hash) = 32),
    previous BLOB NOT NULL CHECK (length(previous) = 32),
    bytes BLOB NOT NULL CHECK (length(bytes) <= 65536),
    reading TEXT NOT NULL CHECK (reading IN ('site', 'device', 'undecodable')),
    site BLOB CHECK (length(site) = 16),
    visit BLOB CHECK (length(visit) = 16),
    remark TEXT,
    received_ms INTEGER NOT NULL,
    PRIMARY KEY (device, epoch, seq, hash),
    FOREIGN KEY (device, epoch) REFERENCES streams (device, epoch),
    CHECK ((reading = 'site') = (site IS NOT NULL))
) STRICT;
CREATE INDEX entries_by_previous ON entries (device, epoch, seq, previous);

CREATE TRIGGER entries_stay BEFORE UPDATE ON entries BEGIN SELECT RAISE(ABORT, 'an entry is never changed'); END;
CREATE TRIGGER entries_last BEFORE DELETE ON entries BEGIN SELECT RAISE(ABORT, 'an entry is never deleted'); END;
CREATE TRIGGER entries_once BEFORE INSERT ON entries
    WHEN EXISTS (SELECT 1 FROM entries WHERE device = NEW.device AND epoch = NEW.epoch AND seq = NEW.seq AND hash = NEW.hash)
    BEGIN SELECT RAISE(ABORT, 'an entry is written once'); END;

-- Places of entries that a phone could not hand over. A row goes when its entry comes.
CREATE TABLE holes (
    device BLOB NOT NULL,
    epoch BLOB NOT NULL,
    seq INTEGER NOT NULL CHECK (seq >= 1),
    hash BLOB NOT NULL CHECK (length(hash) = 32),
    previous BLOB NOT NULL CHECK (length(previous) = 32),
    reason TEXT NOT NULL,
    received_ms INTEGER NOT NULL,
    PRIMARY KEY (device, epoch, seq, hash),
    FOREIGN KEY (device, epoch) REFERENCES streams (device, epoch)
) STRICT, WITHOUT ROWID;

-- The ends of a stream's branches; more than one where it forked.
CREATE TABLE heads (
    device BLOB NOT NULL,
    epoch BLOB NOT NULL,
    seq INTEGER NOT NULL,
    hash BLOB NOT NULL,
    PRIMARY KEY (device, epoch, seq, hash)
) STRICT, WITHOUT ROWID;

CREATE TABLE sites (
    site BLOB NOT NULL PRIMARY KEY CHECK (length(site) = 16),
    author BLOB NOT NULL,
    since_ms INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE feed (
    site BLOB NOT NULL REFERENCES sites (site),
    number INTEGER NOT NULL CHECK (number >= 1),
    feed_hash BLOB NOT NULL CHECK (length(feed_hash) = 32),
    device BLOB NOT NULL,
    epoch BLOB NOT NULL,
    seq INTEGER NOT NULL,
    hash BLOB NOT NULL,
    PRIMARY KEY (site, number),
    UNIQUE (site, device, epoch, seq, hash),
    FOREIGN KEY (device, epoch, seq, hash) REFERENCES entries (device, epoch, seq, hash)
) STRICT, WITHOUT ROWID;
CREATE TRIGGER feed_stays BEFORE UPDATE ON feed BEGIN SELECT RAISE(ABORT, 'a feed is never changed'); END;
CREATE TRIGGER feed_lasts BEFORE DELETE ON feed BEGIN SELECT RAISE(ABORT, 'a feed is never cut'); END;

CREATE TABLE memberships (
    device BLOB NOT NULL CHECK (length(device) = 16),
    site BLOB NOT NULL CHECK (length(site) = 16),
    since_ms INTEGER NOT NULL,
    PRIMARY KEY (device, site)
) STRICT, WITHOUT ROWID;

CREATE TABLE links (
    of_device BLOB NOT NULL CHECK (length(of_device) = 16),
    by_device BLOB NOT NULL CHECK (length(by_device) = 16),
    since_ms INTEGER NOT NULL,
    PRIMARY KEY (of_device, by_device)
) STRICT, WITHOUT ROWID;

CREATE TABLE tokens (
    token BLOB NOT NULL PRIMARY KEY CHECK (length(token) = 32),
    device BLOB NOT NULL CHECK (length(device) = 16),
    revoked INTEGER NOT NULL DEFAULT 0 CHECK (revoked IN (0, 1)),
    since_ms INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX tokens_by_device ON tokens (device);

CREATE TABLE invitations (
    digest BLOB NOT NULL PRIMARY KEY CHECK (length(digest) = 32),
    prefix BLOB NOT NULL CHECK (length(prefix) = 3),
    name TEXT,
    made_ms INTEGER NOT NULL,
    expires_ms INTEGER NOT NULL,
    tries INTEGER NOT NULL DEFAULT 0,
    used_device BLOB CHECK (length(used_device) = 16),
    used_token BLOB CHECK (length(used_token) = 32)
) STRICT, WITHOUT ROWID;
CREATE INDEX invitations_by_prefix ON invitations (prefix);

CREATE TABLE invitation_sites (
    digest BLOB NOT NULL REFERENCES invitations (digest),
    site BLOB NOT NULL CHECK (length(site) = 16),
    PRIMARY KEY (digest, site)
) STRICT, WITHOUT ROWID;

-- The one table of people: the only place for names, and it may be changed.
CREATE TABLE people (
    id BLOB NOT NULL CHECK (length(id) = 16),
    role TEXT NOT NULL CHECK (role IN ('device', 'coordinator')),
    name TEXT NOT NULL,
    PRIMARY KEY (id, role)
) STRICT, WITHOUT ROWID;

CREATE TABLE grants (
    coordinator BLOB NOT NULL CHECK (length(coordinator) = 16),
    site BLOB NOT NULL CHECK (length(site) IN (0, 16)),
    role INTEGER NOT NULL CHECK (role IN (1, 2, 3)),
    PRIMARY KEY (coordinator, site)
) STRICT, WITHOUT ROWID;

CREATE TABLE sign_in_links (
    link BLOB NOT NULL PRIMARY KEY CHECK (length(link) = 32),
    coordinator BLOB NOT NULL,
    made_ms INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE sessions (
    session BLOB NOT NULL PRIMARY KEY CHECK (length(session) = 32),
    coordinator BLOB NOT NULL,
    used_ms INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE photos (
    device BLOB NOT NULL CHECK (length(device) = 16),
    photo BLOB NOT NULL CHECK (length(photo) = 16),
    site BLOB NOT NULL,
    length INTEGER NOT NULL CHECK (length >= 0),
    hash BLOB NOT NULL CHECK (length(hash) = 32),
    verified_ms INTEGER,
    salt BLOB CHECK (length(salt) = 16),
    erased INTEGER NOT NULL DEFAULT 0 CHECK (erased IN (0, 1)),
    PRIMARY KEY (device, photo)
) STRICT, WITHOUT ROWID;
CREATE INDEX photos_by_site ON photos (site);

CREATE TABLE photo_parts (
    device BLOB NOT NULL,
    photo BLOB NOT NULL,
    part INTEGER NOT NULL CHECK (part >= 0),
    PRIMARY KEY (device, photo, part),
    FOREIGN KEY (device, photo) REFERENCES photos (device, photo)
) STRICT, WITHOUT ROWID;

CREATE TABLE texts (
    hash BLOB NOT NULL PRIMARY KEY CHECK (length(hash) = 32),
    device BLOB NOT NULL CHECK (length(device) = 16),
    salt BLOB CHECK (length(salt) = 16),
    text TEXT,
    since_ms INTEGER NOT NULL,
    CHECK ((salt IS NULL) = (text IS NULL))
) STRICT, WITHOUT ROWID;
CREATE INDEX texts_by_device ON texts (device);

CREATE TABLE text_names (
    site BLOB NOT NULL,
    hash BLOB NOT NULL,
    device BLOB NOT NULL,
    PRIMARY KEY (site, hash, device)
) STRICT, WITHOUT ROWID;
CREATE INDEX text_names_by_hash ON text_names (hash);
CREATE INDEX text_names_by_device ON text_names (device, hash);

CREATE TABLE verdicts (
    device BLOB NOT NULL,
    epoch BLOB NOT NULL,
    number INTEGER NOT NULL CHECK (number >= 1),
    seq INTEGER NOT NULL,
    hash BLOB NOT NULL,
    site BLOB NOT NULL,
    ruling TEXT NOT NULL,
    at_ms INTEGER NOT NULL,
    PRIMARY KEY (device, epoch, number)
) STRICT, WITHOUT ROWID;
CREATE INDEX verdicts_by_site ON verdicts (site, device, epoch, seq, hash, number);

CREATE TABLE judged (
    site BLOB NOT NULL PRIMARY KEY,
    upto INTEGER NOT NULL,
    fold_version INTEGER NOT NULL,
    summary BLOB NOT NULL CHECK (length(summary) = 32)
) STRICT, WITHOUT ROWID;
