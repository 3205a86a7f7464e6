// Package browser tests the pages of the workshop in a real browser: whole jobs by touch, by the keyboard alone and without scripts, the
// live hold with its network cut, every page in every look for WCAG 2.2 A and AA. The scenarios are Node scripts in scenarios/; the test
// builds cmd/shop (the workshop with a clock that stands until a scenario moves it), lets run.mjs start one for each scenario on a free
// loopback port, and reports what each found. How to write a scenario stands at the top of kit.mjs.
package browser
