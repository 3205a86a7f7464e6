// Package localca gives a workshop's own web server HTTPS from the first day, without a public name and without the
// internet: a small certificate authority that lives in one file beside the data.
//
// The authority is made once, on the first start. Its root certificate is installed by hand on each tablet (the root's
// fingerprint is compared by reading it aloud), and from then on the server issues and renews its own certificates for the
// addresses and names by which the tablets reach it.
//
// A root on a tablet is a power to be kept small. This one can vouch only for web servers (extended key usage), only for
// private, loopback and link-local addresses, and only for names that cannot exist in the public domain name system, plus the
// machine's own host name where that cannot be taken for somebody else's domain (critical name constraints, RFC 5280 section
// 4.2.1.10). Its own key signs one issuer with the same constraints, which can make no further authorities (path length 0), and is
// then forgotten: what lies on the disk is the issuer's key, and whoever steals that still cannot imitate a public site.
//
// A workshop that has a certificate of its own gives its files to FromFiles instead.
//
// Sources: RFC 5280 (certificates, name constraints, validity), RFC 1918, RFC 3927, RFC 4193, RFC 4291 and RFC 1122 (address
// ranges), RFC 6762 (.local), RFC 8375 (.home.arpa), RFC 6761 (localhost), ICANN Board resolution of 29 July 2024
// (.internal), RFC 9325 (TLS versions and cipher suites), CA/Browser Forum Baseline Requirements section 6.3.2 (a server
// certificate lives at most 398 days; later editions shorten this for public authorities, not for a root installed by hand).
// ".lan" is common practice of routers, no published source.
package localca

import "time"

const (
	authorityLife = 10             // years
	leafDays      = 397            // one less than the 398 of the Baseline Requirements, section 6.3.2
	backdate      = 24 * time.Hour // by which a certificate starts early, for tablets whose clock is behind
	warnDays      = 90             // days before the authority's end from which Trouble speaks of it: our own choice
)

// lookEvery is how long the machine's names and addresses are taken as unchanged.
const lookEvery = 2 * time.Second

// pollEvery is how long given certificate files are taken as unchanged.
const pollEvery = time.Minute
