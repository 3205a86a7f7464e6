// Package browser tests the pages of the workshop in a real browser: whole jobs by touch, by the keyboard alone and without scripts, the
// live hold with its network cut, every page in every look for WCAG 2.2 A and AA. The scenarios are Node scripts in scenarios/; the test
// builds the program, lets run.mjs start it on free loopback ports, and reports what each scenario found.
package browser
