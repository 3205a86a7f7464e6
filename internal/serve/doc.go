// Package serve runs the workshop: it opens the store, puts the gate before the pages and the API, and listens.
//
// On the machine itself it answers plain HTTP on a loopback address. On the workshop's network it answers HTTPS, but only once
// there is somebody who can sign in; beside it a plain HTTP port leads tablets to the page on which they learn to trust the
// workshop's certificate, and to nothing else.
package serve
