#!/bin/sh
# Builds static binaries for Linux, Windows and macOS into dist/, each with the manual pages, the completions of the shells, the documents
# the licences of all that is linked in and a bill of it (CycloneDX), packages for Debian, and checksums.
# The toolchain is named here because it has fixes that the one in go.mod lacks.
# RELEASE_DIST is where they go, RELEASE_TARGETS what is built, RELEASE_BINARY a binary to take instead of building one, RELEASE_LEVEL how much
# a package is compressed (0 to 9).
set -eu
cd "$(dirname "$0")/.."
export GOTOOLCHAIN="${RELEASE_TOOLCHAIN:-go1.27.3}"
dist=${RELEASE_DIST:-dist}
version=$(sed -n 's/^const Version = "\(.*\)"$/\1/p' internal/cli/cli.go)
[ -n "$version" ] || { echo "release: found no version in internal/cli/cli.go" >&2; exit 1; }
: "${SOURCE_DATE_EPOCH:=$(git log -1 --format=%ct)}"
export SOURCE_DATE_EPOCH
rm -rf "$dist"
mkdir -p "$dist"
extras=$(mktemp -d)
trap 'rm -rf "$extras"' EXIT
go run ./packaging/extras "$extras"
for target in ${RELEASE_TARGETS:-linux/amd64 linux/arm64 windows/amd64 darwin/arm64 darwin/amd64}; do
	os=${target%/*} arch=${target#*/}
	name=evenstroke-$version-$os-$arch
	tree=$dist/$name
	exe=evenstroke
	[ "$os" = windows ] && exe=evenstroke.exe
	mkdir -p "$tree"
	if [ -n "${RELEASE_BINARY:-}" ]; then
		cp "$RELEASE_BINARY" "$tree/$exe"
	else
		CGO_ENABLED=0 GOOS=$os GOARCH=$arch go build -trimpath -ldflags "-s -w" -o "$tree/$exe" ./cmd/evenstroke
	fi
	go run ./packaging/licences "$tree/$exe" >"$tree/LICENCES.txt"
	go run ./packaging/sbom "$tree/$exe" "$version" >"$tree/sbom.cdx.json"
	cp -R "$extras/man" "$extras/completions" "$tree/"
	# what the documents lead to stands where they say
	cp -R LICENSE README.md CHANGELOG.md CONTRIBUTING.md docs "$tree/"
	mkdir -p "$tree/packaging" "$tree/bench/load"
	cp packaging/evenstroke.service packaging/serve.yaml "$tree/packaging/"
	cp bench/load/README.md "$tree/bench/load/"
	if [ "$os" = linux ] && command -v dpkg-deb >/dev/null 2>&1; then
		sh packaging/deb.sh "$tree" "$version" "$arch" "$dist"
	fi
	if [ "$os" = windows ]; then
		go build -o "$extras/zipdir" ./packaging/zipdir
		(cd "$dist" && "$extras/zipdir" "$name")
	else
		tar -C "$dist" --owner=0 --group=0 -czf "$tree.tar.gz" "$name"
	fi
	size=$(wc -c <"$tree/$exe")
	rm -r "$tree"
	echo "$name: binary $((size / 1000000)).$((size / 100000 % 10)) MB"
done
(cd "$dist" && sha256sum evenstroke[-_]* >SHA256SUMS && cat SHA256SUMS)
