// Package blind tests package hold on blind cases: package gen makes them, package score counts what hold makes of them, and
// cmd/blind writes docs/blind.md from some thousands. This package holds a small committed set that every test run goes
// through, and the rule that the generator knows nothing of hold.
package blind
