-- +goose Up
-- a PIN that somebody else chose: it lets nobody in before its person has chosen another
ALTER TABLE secret ADD COLUMN given BIGINT NOT NULL DEFAULT 0;
