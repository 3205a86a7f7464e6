package gate

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"hash/crc32"
	"net/http"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// An API token is "es_", 64 hexadecimal digits of randomness (256 bits) and 8 of their CRC-32: whatever looks for secrets in files
// that should hold none finds it by es_[0-9a-f]{72} and can tell it from something else by the sum.
const tokenPrefix = "es_"

// tokenLife is the longest life of a token.
const tokenLife = 366 * 24 * time.Hour

func newToken() string {
	b := make([]byte, secretBytes)
	rand.Read(b)
	s := hex.EncodeToString(b)
	return tokenPrefix + s + tokenSum(s)
}

func tokenSum(s string) string { return fmt.Sprintf("%08x", crc32.ChecksumIEEE([]byte(s))) }

func isToken(s string) bool {
	s, ok := strings.CutPrefix(s, tokenPrefix)
	if !ok || len(s) != 2*secretBytes+8 || strings.Trim(s, "0123456789abcdef") != "" {
		return false
	}
	if _, err := hex.DecodeString(s); err != nil || strings.ToLower(s) != s {
		return false
	}
	return tokenSum(s[:2*secretBytes]) == s[2*secretBytes:]
}

// bearer reads the token of a request (RFC 6750 section 2.1). It is never taken from the query, a form or a cookie. none says
// that the request has no such header; other schemes are left alone, a proxy may use them.
func bearer(h http.Header) (token string, none bool, err error) {
	all := h.Values("Authorization")
	found := 0
	for _, v := range all {
		scheme, rest, _ := strings.Cut(v, " ")
		if !strings.EqualFold(scheme, "Bearer") {
			continue
		}
		found++
		token = strings.TrimLeft(rest, " ")
	}
	if found == 0 {
		return "", true, nil
	}
	if found != 1 || len(all) != 1 || !isToken(token) {
		return "", false, badToken()
	}
	return token, false, nil
}

func badToken() *record.Fault {
	return record.Faultf(record.NotAllowed, "Authorization", "a token that is not known, over or revoked", "Authorization: Bearer es_…", "make a new token")
}

// byToken finds out in whose name a program comes. Its role is that of the person now, but at most office.
func (g *Gate) byToken(ctx context.Context, token string) (Who, error) {
	t, err := g.st.TokenBySecret(ctx, token)
	if err != nil {
		return Who{}, err
	}
	if t == nil {
		return Who{}, badToken()
	}
	p, err := g.person(ctx, t.Person)
	if err != nil {
		return Who{}, err
	}
	if p == nil {
		return Who{}, badToken()
	}
	who := Who{Person: t.Person, P: *p, Token: true, Scope: t.Scope, Whole: p.Role, Since: t.Created}
	if rank(who.P.Role) > rank(record.Office) {
		who.P.Role = record.Office
	}
	return who, nil
}

// MakeToken makes a token for a program in the name of a person: office and owners for themselves, owners also for others who are
// not owners. scope is "read" or "write"; it ends within a year. The secret is shown once: only its digest is kept.
func (g *Gate) MakeToken(ctx context.Context, who Who, person int64, name, scope string, expires time.Time) (secret string, id int64, err error) {
	if err := g.mayMakeToken(ctx, who, person); err != nil {
		return "", 0, err
	}
	name = strings.TrimSpace(name)
	if err := checkName(name); err != nil {
		return "", 0, err
	}
	if scope != "read" && scope != "write" {
		return "", 0, record.Faultf(record.Invalid, "scope", fmt.Sprintf("%.20q", scope), "read or write", "")
	}
	if now := g.opt.Now(); !expires.After(now) || expires.After(now.Add(tokenLife)) {
		return "", 0, record.Faultf(record.Invalid, "expires", expires.Format(time.DateOnly), "a day within a year from now", "")
	}
	secret = newToken()
	id, err = g.st.AddToken(ctx, secret, store.Token{Person: person, Name: name, Scope: scope, Expires: expires})
	if err != nil {
		return "", 0, err
	}
	g.opt.Log.InfoContext(ctx, "token made", "token", id, "for", person, "by", who.Person, "scope", scope)
	return secret, id, nil
}

func (g *Gate) mayMakeToken(ctx context.Context, who Who, person int64) error {
	if err := May(who, MakeToken); err != nil {
		return err
	}
	if err := g.fresh(who, string(MakeToken)); err != nil {
		return err
	}
	if person == who.Person {
		return nil
	}
	if err := May(who, KeepOwner); err != nil {
		return err
	}
	p, err := g.person(ctx, person)
	if err != nil {
		return err
	}
	if p == nil || p.Role == record.Owner {
		return record.Faultf(record.NotAllowed, string(MakeToken), "another owner, or nobody", "somebody who works here and is no owner", "an owner makes tokens for himself")
	}
	return nil
}

// Tokens lists the tokens of the shop.
func (g *Gate) Tokens(ctx context.Context, who Who) ([]store.Token, error) {
	if err := May(who, MakeToken); err != nil {
		return nil, err
	}
	return g.st.Tokens(ctx)
}

// RevokeToken ends a token at once.
func (g *Gate) RevokeToken(ctx context.Context, who Who, id int64) error {
	if err := May(who, MakeToken); err != nil {
		return err
	}
	g.opt.Log.InfoContext(ctx, "token revoked", "token", id, "by", who.Person)
	return g.st.RevokeToken(ctx, id)
}

// mostName is the length of the name of a token or passkey.
const mostName = 80

// checkName refuses an empty or long name, and one with control characters.
func checkName(s string) error {
	odd := func(r rune) bool { return unicode.IsControl(r) || r == utf8.RuneError }
	if s == "" || utf8.RuneCountInString(s) > mostName || strings.IndexFunc(s, odd) >= 0 {
		return record.Faultf(record.Invalid, "name", "something else", fmt.Sprintf("1 to %d characters", mostName), "say what it is for")
	}
	return nil
}
