-- Finding a record that an import brings again.
CREATE INDEX record_at ON record (at);

-- What was computed from the records up to one of them: a cache, thrown away at will.
CREATE TABLE snapshot (
	name    TEXT    PRIMARY KEY, -- what was computed, and by which version of the computation
	upto    INTEGER NOT NULL,    -- id of the last record in it
	content BLOB    NOT NULL
) STRICT;
