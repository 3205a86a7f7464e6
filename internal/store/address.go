package store

import (
	"net/netip"
	"net/url"
	"os"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"github.com/evenstroke/evenstroke/internal/record"
)

// How an address of PostgreSQL is encrypted and to whom it leads is said by sslmode, in the address or in PGSSLMODE (documentation of
// PostgreSQL, "SSL Support" of libpq, from memory): verify-full and verify-ca check the certificate of the server; require encrypts without
// asking to whom; prefer, which counts when nothing is said, takes an answer in the clear too. So nothing is not taken for a yes: an address of
// another machine says what its owner wants.

// postgresConfig reads an address of PostgreSQL. One that leads to another machine must check its certificate, or say in so many words
// that it does not.
func postgresConfig(where string) (*pgx.ConnConfig, error) {
	conf, err := pgx.ParseConfig(where)
	if err != nil { // not shown: it may hold a password
		return nil, record.Faultf(record.Invalid, "database address", "one that cannot be read", "postgres://user@host/database", "")
	}
	if host := unchecked(conf); host != "" && sslmode(where) == "" {
		return nil, record.Faultf(record.Invalid, "database address", "another machine, "+quoted(host)+", and no sslmode", "sslmode=verify-full, so that the server proves who it is",
			"end the address with ?sslmode=verify-full&sslrootcert=FILE, where FILE is the certificate of its authority; sslmode=require, prefer or disable is taken too, when it is written there")
	}
	return conf, nil
}

// Unchecked says which other machine an address of PostgreSQL leads to without checking its certificate, as its owner wrote; "" when there is
// none, or where is no such address.
func Unchecked(where string) string {
	if !isAddress(where) {
		return ""
	}
	conf, err := postgresConfig(where)
	if err != nil {
		return ""
	}
	return unchecked(conf)
}

// sslmode is what is written about encryption, "" for nothing.
func sslmode(where string) string {
	_, query, _ := strings.Cut(where, "?")
	q, err := url.ParseQuery(query)
	if err != nil {
		return ""
	}
	if m := q.Get("sslmode"); m != "" {
		return m
	}
	return os.Getenv("PGSSLMODE")
}

// unchecked is the first host of the network that is reached without checking its certificate.
func unchecked(conf *pgx.ConnConfig) string {
	ways := append([]*pgconn.FallbackConfig{{Host: conf.Host, TLSConfig: conf.TLSConfig}}, conf.Fallbacks...)
	i := slices.IndexFunc(ways, func(w *pgconn.FallbackConfig) bool {
		c := w.TLSConfig
		return !localHost(w.Host) && (c == nil || c.InsecureSkipVerify && c.VerifyPeerCertificate == nil && c.VerifyConnection == nil)
	})
	if i < 0 {
		return ""
	}
	return ways[i].Host
}

// localHost says whether a host is this machine: a socket in a folder, or a loopback address.
func localHost(host string) bool {
	if strings.HasPrefix(host, "/") || strings.HasPrefix(host, "@") || host == "localhost" {
		return true
	}
	a, err := netip.ParseAddr(strings.Trim(host, "[]"))
	return err == nil && a.Unmap().IsLoopback()
}

func quoted(s string) string {
	if len(s) > 60 {
		s = s[:60]
	}
	return strings.ToValidUTF8(s, "?")
}
