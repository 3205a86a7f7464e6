#!/bin/sh
# Looks for known vulnerabilities in what evenstroke calls: in its modules and in Go itself. The database is a Go module too, so that the Go proxy is
# enough; nothing is asked of a server of vulnerabilities. VULNDB is its version, latest by default.
# Exit code 0: none is called; 3: some are, printed above; 2: nothing was looked at, since the database or the tool could not be had.
set -eu
cd "$(dirname "$0")/.."
export GOFLAGS=-mod=mod
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cannot() {
	echo "vulnerabilities: NOT SCANNED: $1; try again where the Go proxy can be reached" >&2
	exit 2
}
# a module of its own: the tools must not lift the versions of the program
tree=$PWD
cd "$work"
go mod init scan >/dev/null 2>&1
go get "golang.org/x/vulndb@${VULNDB:-latest}" golang.org/x/vuln@v1.9.0 >get.txt 2>&1 || cannot "the database or the tool could not be fetched: $(tail -n 1 get.txt)"
go build -o indexdb golang.org/x/vulndb/cmd/indexdb >build.txt 2>&1 && go build -o govulncheck golang.org/x/vuln/cmd/govulncheck >>build.txt 2>&1 ||
	cannot "the tool could not be built: $(tail -n 1 build.txt)"
./indexdb -vulns "$(go list -m -f '{{.Dir}}' golang.org/x/vulndb)/data/osv" -out db >index.txt 2>&1 || cannot "the database could not be read: $(tail -n 1 index.txt)"
echo "database $(go list -m -f '{{.Version}}' golang.org/x/vulndb), $(find db/ID -name '*.json' | wc -l) entries; $(go version | cut -d' ' -f3)"
cd "$tree"
GOFLAGS= "$work/govulncheck" -db "file://$work/db" ./...
