package claims

// V11, cryptography, and V12, secure communication.
var cryptography = []Break{
	{"11.1.2", "a digest that the inventory does not name", "internal/gate/passkey.go", "	\"crypto/sha256\"\n", "	\"crypto/sha256\"\n	_ \"crypto/sha512\"\n", "sec.TestInventory"},
	{"11.1.2", "a secret that the inventory does not know", "internal/gate/cookie.go", "func newSecret() string {", "func newWord() string {\n	b := make([]byte, 4)\n	rand.Read(b)\n	return string(b)\n}\n\nfunc newSecret() string {", "sec.TestInventory"},
	{"11.2.1", "a broken digest is used", "internal/gate/passkey.go", "	\"crypto/sha256\"\n", "	_ \"crypto/md5\"\n	\"crypto/sha256\"\n", "sec.TestNoWeakCryptography"},
	{"11.2.3", "TLS 1.1 is taken", "internal/localca/config.go", "MinVersion: tls.VersionTLS12,", "MinVersion: tls.VersionTLS10,", "localca.TestVersions"},
	{"11.2.3", "a key of 112 bits of security", "internal/localca/pair.go", "ecdsa.GenerateKey(elliptic.P256(), rand.Reader)", "ecdsa.GenerateKey(elliptic.P224(), rand.Reader)", "localca.TestAuthorityCertificates"},
	{"11.3.1", "a mode with padding is taken", "internal/localca/config.go", "			tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256,", "			tls.TLS_ECDHE_ECDSA_WITH_AES_128_CBC_SHA, tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256,", "localca.TestVersions"},
	{"11.3.2", "an old cipher is taken", "internal/localca/config.go", "			tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256,", "			tls.TLS_ECDHE_ECDSA_WITH_AES_256_CBC_SHA, tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256,", "localca.TestVersions"},
	{"11.4.1", "an entry has a shorter digest", "internal/record/entry.go", "	return Digest(h.Sum(b[:0]))\n", "	var d Digest\n	copy(d[:20], h.Sum(nil))\n	return d\n", "record.TestDigestByAnotherProgram"},
	{"11.4.1", "a short entry has a shorter digest", "internal/record/entry.go", "		return sha256.Sum256(append(b, e.Body...))\n", "		d := Digest(sha256.Sum256(append(b, e.Body...)))\n		return Digest(append(d[:20], make([]byte, 12)...))\n", "record.TestDigestByAnotherProgram"},
	{"11.4.2", "a PIN costs nothing to guess", "internal/gate/hash.go", "Memory: 46 * 1024, Iterations: 2,", "Memory: 46, Iterations: 1,", "gate.TestCost"},
	{"11.4.2", "a hash has a short salt", "internal/gate/hash.go", "SaltLength: 16", "SaltLength: 8", "gate.TestCost"},
	{"11.4.2", "an old hash is kept", "internal/gate/guess.go", "	if stale && !have.Given {", "	if stale && have.Given {", "gate.TestStaleHashIsMadeAnew"},
	{"11.4.1", "a changed entry passes", "internal/record/entry.go", "return e.Hash == e.digest()", "return e.Hash != Digest{}", "record.TestIntact"},
	{"11.6.1", "the authority may make others", "internal/localca/chain.go", "		MaxPathLenZero:              below == 0,\n", "", "localca.TestAuthorityCertificates"},
	{"12.1.1", "TLS 1.0 is taken", "internal/localca/config.go", "MinVersion: tls.VersionTLS12,", "MinVersion: tls.VersionTLS10,", "localca.TestVersions"},
	{"12.1.2", "a suite that nobody should use is taken", "internal/localca/config.go", "			tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256,", "			tls.TLS_ECDHE_ECDSA_WITH_RC4_128_SHA, tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256,", "localca.TestVersions"},
	{"12.1.1", "the newest version is not taken", "internal/localca/config.go", "MinVersion: tls.VersionTLS12,", "MinVersion: tls.VersionTLS12, MaxVersion: tls.VersionTLS12,", "localca.TestVersions"},
	{"11.3.3", "what is encrypted can be changed", "internal/localca/config.go", "			tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256,", "			tls.TLS_ECDHE_ECDSA_WITH_AES_128_CBC_SHA256, tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256,", "localca.TestVersions"},
	{"11.4.2", "the hash of nobody fits", "internal/gate/hash.go", "	return ok && !none, ", "	return ok, ", "gate.TestHash"},
	{"11.6.1", "a passkey need not ask who holds it", "internal/gate/passkey.go", "UserVerification: protocol.VerificationRequired},", "UserVerification: protocol.VerificationDiscouraged},", "gate.TestPasskey"},
}
