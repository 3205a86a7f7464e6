// Package report writes what was found and done on one job, for the shop as a report and for the customer as one page in plain words,
// each in two faces: one HTML file that needs nothing else (no script, no font, nothing fetched; it reads well on a hand-held screen and
// a desk, in light and dark, and prints), and one PDF/A-2a file for keeping, set by this package and written by the folio library.
//
// The report computes nothing. Numbers come from the results that the Document holds and are written by package unit; pictures
// come from package draw, and their texts are set on paper as text, in the fonts that the file carries. Fixed words are looked up
// (see Words), so that another language is a matter of other words.
//
// A build with the tag small has the first face only: the demo of the terminal writes a page, and the libraries of PDF would be half of what is
// compiled for it.
package report
