// Package gate says who is at the door: devices, sessions, PINs, passkeys, API tokens, roles, and what every request must
// pass before a page sees it.
//
// Two things let a person in. The first is the device: a browser that was let in once keeps a random secret in a cookie, and
// nothing but a passkey of an office person or an owner works on any other. The second is a PIN or a passkey. A short PIN is
// enough only because of the first: whoever guesses must hold a device of the shop, may guess some times a minute, and is locked out
// ever longer. Whoever steals the database gets no device, session or token out of it (digests of 256 random bits), but may
// find a PIN of six digits within days at most: it is of no use without a device.
//
// What is followed, each from memory: NIST SP 800-63B (rates and lock-out of guesses, lists of PINs too easy, sessions), OWASP
// ASVS 5.0 and the OWASP cheat sheets on password storage, sessions and cross-site request forgery (cost of the hash, cookies,
// headers, limits), RFC 6265bis (cookies and their prefixes), RFC 6750 (bearer tokens), RFC 6797 (HSTS), RFC 9106 (Argon2),
// RFC 9110 (status codes), W3C Web Authentication Level 3 (passkeys), W3C Fetch Metadata. Where the gate departs: a PIN may
// have six digits, where SP 800-63B asks eight characters of a password that somebody chooses; it is verified only from
// a device that is known, and guesses are limited far below the 100 in a row that it permits.
//
// The state of passkey ceremonies and of rates is kept in memory, a process at a time. All that outlives a request otherwise
// is in the store.
package gate
