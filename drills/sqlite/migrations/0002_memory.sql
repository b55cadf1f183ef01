-- What the program remembers for convenience; unlike records it changes.
CREATE TABLE material (
	hash       TEXT    PRIMARY KEY, -- of the content
	path       TEXT    NOT NULL,    -- where it was last
	title      TEXT    NOT NULL,
	duration_s REAL    NOT NULL,
	rate_hz    REAL    NOT NULL,
	last_used  INTEGER NOT NULL     -- Unix time, ns
) STRICT;

CREATE TABLE setting (
	key   TEXT PRIMARY KEY,
	value TEXT NOT NULL
) STRICT;
