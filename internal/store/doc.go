// Package store keeps the records of a shop: one API over SQLite (a file, the default) and PostgreSQL (by address).
//
// Both engines run the same SQL text with $N parameters; only the schema scripts differ. Times are microseconds of Unix time,
// numbers of jobs and items come from counters in the database without a gap, digests are 32 bytes. An entry is durable when Append
// returns: SQLite runs with synchronous=FULL in WAL mode, PostgreSQL with its own default. With SQLite, writers that wait for each
// other share one commit (queue.go).
//
// Entries are only ever added (package record says what they are). Beside them stands what a board, a list and a search need:
// one row a job, its words, one row an item; Verify recomputes all of it from the entries and compares.
//
// Photos are kept in the database and not in a folder: one transaction, one backup and one check hold for both, and a picture of
// 300 kB costs some milliseconds more to keep (BenchmarkPhoto).
//
// A backup is one SQLite file whatever the engine, verified before it gets its name, and restores into either engine. Sessions and the
// codes that let devices in are not in it; PIN hashes, passkeys, device secrets and tokens (their digests) are: keep it as safe as the
// store itself. Schemas only go forward; a database of a newer version is refused unchanged.
//
// Every error that has a cause outside the program is a *record.Fault.
package store
