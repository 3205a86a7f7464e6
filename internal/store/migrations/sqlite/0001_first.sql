-- +goose Up
PRAGMA application_id = 1163285332; -- "EVST": a file of this program

CREATE TABLE entry (
	id         INTEGER PRIMARY KEY AUTOINCREMENT,
	subject    TEXT    NOT NULL,
	subject_id INTEGER NOT NULL,
	seq        INTEGER NOT NULL,
	kind       TEXT    NOT NULL,
	at         INTEGER NOT NULL,
	stored     INTEGER NOT NULL,
	person     INTEGER NOT NULL,
	device     INTEGER NOT NULL,
	key        TEXT    NOT NULL,
	corrects   INTEGER NOT NULL,
	body       TEXT    NOT NULL,
	prev       BLOB    NOT NULL,
	hash       BLOB    NOT NULL,
	UNIQUE (subject, subject_id, seq),
	UNIQUE (subject, subject_id, key)
) STRICT;

CREATE TABLE job (
	number    INTEGER PRIMARY KEY,
	uid       TEXT    NOT NULL UNIQUE,
	key       TEXT    NOT NULL UNIQUE,
	customer  INTEGER NOT NULL,
	pump      INTEGER NOT NULL,
	stage     TEXT    NOT NULL,
	is_open   INTEGER NOT NULL,
	opened    INTEGER NOT NULL,
	changed   INTEGER NOT NULL,
	seq       INTEGER NOT NULL,
	hash      BLOB    NOT NULL,
	summary   TEXT    NOT NULL
) STRICT;
CREATE INDEX job_open ON job (stage, changed DESC, number DESC) WHERE is_open = 1;
CREATE INDEX job_pump ON job (pump, number DESC);
CREATE INDEX job_customer ON job (customer, number DESC);

-- the words under which jobs and items are found
CREATE TABLE word (
	subject    TEXT    NOT NULL,
	word       TEXT NOT NULL,
	subject_id INTEGER NOT NULL,
	PRIMARY KEY (subject, word, subject_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX word_subject ON word (subject, subject_id, word);

CREATE TABLE item (
	kind    TEXT    NOT NULL,
	key     TEXT    NOT NULL, -- under which it was made
	id      INTEGER NOT NULL,
	sort    TEXT NOT NULL, -- by which it is listed
	name    TEXT NOT NULL, -- by which it is looked up
	retired INTEGER NOT NULL,
	value   TEXT    NOT NULL,
	seq     INTEGER NOT NULL,
	hash    BLOB    NOT NULL,
	changed INTEGER NOT NULL,
	PRIMARY KEY (kind, id),
	UNIQUE (kind, key)
) STRICT, WITHOUT ROWID;
CREATE INDEX item_sort ON item (kind, retired, sort, id);
CREATE INDEX item_name ON item (kind, name, id);

CREATE TABLE counter (
	kind TEXT    PRIMARY KEY,
	last INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE photo (
	hash   BLOB    PRIMARY KEY,
	width  INTEGER NOT NULL,
	height INTEGER NOT NULL,
	stored INTEGER NOT NULL,
	size   INTEGER NOT NULL,
	thumb  BLOB    NOT NULL,
	data   BLOB    NOT NULL
) STRICT;

CREATE TABLE link (
	n          INTEGER PRIMARY KEY,
	entry      INTEGER NOT NULL UNIQUE,
	entry_hash BLOB    NOT NULL,
	prev       BLOB    NOT NULL,
	hash       BLOB    NOT NULL
) STRICT;
CREATE TABLE chain (
	id   INTEGER PRIMARY KEY CHECK (id = 1),
	n    INTEGER NOT NULL,
	hash BLOB    NOT NULL
) STRICT;
INSERT INTO chain (id, n, hash) VALUES (1, 0, zeroblob(32));

CREATE TABLE secret (
	person       INTEGER PRIMARY KEY,
	pin          TEXT    NOT NULL,
	failures     INTEGER NOT NULL,
	locked_until INTEGER NOT NULL,
	changed      INTEGER NOT NULL
) STRICT;
CREATE TABLE passkey (
	id         TEXT    PRIMARY KEY,
	person     INTEGER NOT NULL,
	name       TEXT    NOT NULL,
	credential TEXT    NOT NULL,
	created    INTEGER NOT NULL,
	used       INTEGER NOT NULL
) STRICT;
CREATE INDEX passkey_person ON passkey (person);
CREATE TABLE device_secret (
	hash    BLOB    PRIMARY KEY,
	device  INTEGER NOT NULL,
	created INTEGER NOT NULL,
	seen    INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX device_secret_device ON device_secret (device);
CREATE TABLE session (
	hash    BLOB    PRIMARY KEY,
	person  INTEGER NOT NULL,
	device  INTEGER NOT NULL,
	created INTEGER NOT NULL,
	seen    INTEGER NOT NULL,
	expires INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX session_person ON session (person);
CREATE INDEX session_expires ON session (expires);
CREATE TABLE enrolment (
	hash    BLOB    PRIMARY KEY,
	person  INTEGER NOT NULL,
	expires INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE token (
	id      INTEGER PRIMARY KEY,
	hash    BLOB    NOT NULL UNIQUE,
	person  INTEGER NOT NULL,
	name    TEXT    NOT NULL,
	scope   TEXT    NOT NULL,
	created INTEGER NOT NULL,
	seen    INTEGER NOT NULL,
	expires INTEGER NOT NULL,
	revoked INTEGER NOT NULL
) STRICT;
