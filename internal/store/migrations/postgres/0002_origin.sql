-- +goose Up
-- what an entry of another shop says as it was written, and hashed, there
CREATE TABLE origin (
	entry      BIGINT PRIMARY KEY,
	subject_id BIGINT NOT NULL,
	person     BIGINT NOT NULL,
	device     BIGINT NOT NULL,
	body       TEXT   NOT NULL,
	here       BYTEA  NOT NULL, -- digest of the entry as it stands here
	shop       TEXT   NOT NULL,
	taken      BIGINT NOT NULL,
	taken_by   BIGINT NOT NULL
);

-- the digests by which other shops know a value of the catalogue
CREATE TABLE item_alias (
	kind TEXT   NOT NULL,
	name BYTEA  NOT NULL,
	id   BIGINT NOT NULL,
	PRIMARY KEY (kind, name)
);
CREATE INDEX item_alias_id ON item_alias (kind, id);
CREATE INDEX entry_first ON entry (hash) WHERE seq = 1;
