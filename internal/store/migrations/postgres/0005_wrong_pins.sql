-- +goose Up
-- wrong PINs are counted for a person at a device: one at which the person signed in before has a count of its own, all others share that
-- in the table secret
CREATE TABLE pin_count (
	person       BIGINT NOT NULL,
	device       BIGINT NOT NULL,
	signed_in    BIGINT NOT NULL, -- when the person last signed in there; 0: never, or too long ago to count
	failures     BIGINT NOT NULL, -- in a row
	locked_until BIGINT NOT NULL, -- of a device that is known to the person
	tried        BIGINT NOT NULL,
	PRIMARY KEY (person, device)
);
CREATE INDEX pin_count_device ON pin_count (device);
INSERT INTO pin_count (person, device, signed_in, failures, locked_until, tried)
	SELECT person, device, max(stored), 0, 0, 0 FROM entry WHERE person <> 0 AND device <> 0 GROUP BY person, device;

-- wrong PINs, so that their person and the owner can be told
CREATE TABLE wrong_pin (
	person BIGINT NOT NULL,
	device BIGINT NOT NULL,
	at     BIGINT NOT NULL,
	n      BIGINT NOT NULL, -- how many at this moment
	told   BIGINT NOT NULL, -- 1: the person has read of it
	PRIMARY KEY (person, device, at)
);
CREATE INDEX wrong_pin_at ON wrong_pin (at);
