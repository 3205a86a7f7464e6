// Package record holds what a shop writes down: entries about jobs, pumps, people, tools and prices, and what follows from
// reading them in order.
//
// Everything is an Entry. An entry says who wrote it, when, on which device, about which Subject; it is never changed. A
// correction is another entry that names the one it corrects, so that the old value stays readable. The present state of a
// job is the fold of its entries in order (Fold); a summary small enough for a board is kept beside it (Summary).
//
// Entries of one subject are chained: each carries the SHA-256 digest of itself and of the entry before it (Seal), so that a
// later edit shows. The package is pure: no clock, no files, no database.
package record
