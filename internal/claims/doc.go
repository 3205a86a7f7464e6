// Package claims proves that the tests which docs/security.md names would go red. Each row of its table breaks one line on which a
// claim of that document rests, and names the test that the document names for it; the runner builds that test with the broken line, by
// an overlay, so that the tree is never touched, and expects it to fail.
//
// The table is checked for rot by an ordinary test; the breaks themselves are run by hand: make claims.
package claims

// Break is one deliberate fault.
type Break struct {
	Claim string // number of the requirement, as in docs/security.md
	What  string // what is broken, in a few words
	File  string // path from the root of the tree, with slashes
	Old   string // a text that stands in the file exactly once
	New   string // what stands there when it is broken
	Test  string // package.TestName, as in docs/security.md; without the package's folder
}

// Breaks is the whole table, in the order of the chapters.
func Breaks() []Break {
	var all []Break
	for _, part := range [][]Break{encoding, logic, frontend, files, authentication, sessions, access, cryptography, configuration, logging} {
		all = append(all, part...)
	}
	return all
}
