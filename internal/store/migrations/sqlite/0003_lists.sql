-- +goose Up
-- lists of jobs by stage, and of those that are in the shop or closed, the newest first
CREATE INDEX job_stage ON job (stage, number DESC);
CREATE INDEX job_is_open ON job (is_open, number DESC);
