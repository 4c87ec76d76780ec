-- Schema 2: what the station knows of itself, and which photos a back-up holds.
PRAGMA application_id = 1281712486; -- "Leaf" in ASCII: another program's file is known as such

CREATE TABLE own_stream (
    only_one INTEGER NOT NULL PRIMARY KEY CHECK (only_one = 1),
    device BLOB NOT NULL CHECK (length(device) = 16),
    epoch BLOB NOT NULL CHECK (length(epoch) = 16)
) STRICT;

CREATE TABLE back_ups (
    at_ms INTEGER NOT NULL PRIMARY KEY,
    photos INTEGER NOT NULL
) STRICT;

ALTER TABLE photos ADD COLUMN backed_up_ms INTEGER;
