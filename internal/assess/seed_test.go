package assess

import "flag"

// Random draws start from one seed, so that a red test is red again; `go test -rapid.seed=0` draws anew.
func init() {
	if err := flag.Set("rapid.seed", "1125"); err != nil {
		panic(err)
	}
}
