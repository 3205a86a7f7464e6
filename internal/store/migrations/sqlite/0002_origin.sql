-- +goose Up
-- what an entry of another shop says as it was written, and hashed, there
CREATE TABLE origin (
	entry      INTEGER PRIMARY KEY,
	subject_id INTEGER NOT NULL,
	person     INTEGER NOT NULL,
	device     INTEGER NOT NULL,
	body       TEXT    NOT NULL,
	here       BLOB    NOT NULL, -- digest of the entry as it stands here
	shop       TEXT    NOT NULL,
	taken      INTEGER NOT NULL,
	taken_by   INTEGER NOT NULL
) STRICT;

-- the digests by which other shops know a value of the catalogue
CREATE TABLE item_alias (
	kind TEXT    NOT NULL,
	name BLOB    NOT NULL,
	id   INTEGER NOT NULL,
	PRIMARY KEY (kind, name)
) STRICT, WITHOUT ROWID;
CREATE INDEX item_alias_id ON item_alias (kind, id);
CREATE INDEX entry_first ON entry (hash) WHERE seq = 1;
