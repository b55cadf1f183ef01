-- What was decided about a material and measured of it, by its hash: it goes
-- with the material wherever that lies.
CREATE TABLE material_kept (
	hash    TEXT NOT NULL,
	what    TEXT NOT NULL, -- such as "faders"
	content TEXT NOT NULL, -- JSON
	PRIMARY KEY (hash, what)
) STRICT;

-- Materials under a name: what has a tag, what is in a collection.
CREATE TABLE material_label (
	kind TEXT NOT NULL, -- "tag", "collection"
	name TEXT NOT NULL,
	hash TEXT NOT NULL,
	PRIMARY KEY (kind, name, hash)
) STRICT;

CREATE INDEX material_label_hash ON material_label (hash);
