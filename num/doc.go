// Package num holds the small numerical tools that the physics and the
// statistics share: bracketed roots and minima, tails of the normal
// distribution, sums that keep their digits, weighted quantiles and
// low-discrepancy points, and the error for an argument out of range.
//
// Everything is a pure function of its arguments.
package num
