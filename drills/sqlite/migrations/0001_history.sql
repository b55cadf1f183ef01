-- The history of one listener. A record is a fact: it is added, never altered.
PRAGMA application_id = 0x7374726f; -- "stro"

CREATE TABLE record (
	id           INTEGER PRIMARY KEY, -- order of keeping
	at           INTEGER NOT NULL,    -- Unix time of the answer, ns
	session      TEXT    NOT NULL,
	number       INTEGER NOT NULL,    -- in the session, from 1
	tool         TEXT    NOT NULL,
	rung         TEXT    NOT NULL,
	transducer   TEXT    NOT NULL,
	heard        TEXT    NOT NULL,
	seed         INTEGER NOT NULL,    -- the 64 bits, signed
	level        REAL    NOT NULL,    -- on the tool's ladder
	material     TEXT    NOT NULL,    -- content hash
	start_frame  INTEGER NOT NULL,
	frames       INTEGER NOT NULL,
	rate_hz      REAL    NOT NULL,
	asked        TEXT    NOT NULL,    -- settings and errors: JSON, a number for each ID
	truth        TEXT    NOT NULL,
	untouched_db REAL    NOT NULL,
	changed_db   REAL    NOT NULL,
	residual_lu  REAL    NOT NULL,
	guess        TEXT    NOT NULL,
	took_s       REAL    NOT NULL,
	switches     INTEGER NOT NULL,
	"right"      INTEGER NOT NULL,
	errors       TEXT    NOT NULL
) STRICT;

CREATE INDEX record_tool ON record (tool, id);

CREATE TRIGGER record_update BEFORE UPDATE ON record
BEGIN SELECT RAISE(ABORT, 'a record is never altered'); END;

CREATE TRIGGER record_delete BEFORE DELETE ON record
BEGIN SELECT RAISE(ABORT, 'a record is never deleted'); END;

CREATE TRIGGER record_replace BEFORE INSERT ON record WHEN NEW.id IN (SELECT id FROM record)
BEGIN SELECT RAISE(ABORT, 'a record is never replaced'); END;
