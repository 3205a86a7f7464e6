// Package report writes what was found and done on one job as one HTML file that needs nothing else: no script, no font, nothing
// fetched. It reads well on a hand-held screen and a desk, in light and dark, and prints on A4.
//
// The report computes nothing. Numbers come from the results that the Document holds and are written by package unit; pictures
// come from package draw.
package report
