#!/bin/sh
# Builds static binaries for Linux, Windows and macOS into dist/, with checksums and the licences of all that is linked in.
# The toolchain is named here because it has fixes that the one in go.mod lacks.
set -eu
cd "$(dirname "$0")/.."
export GOTOOLCHAIN="${RELEASE_TOOLCHAIN:-go1.27.3}" CGO_ENABLED=0
version=$(sed -n 's/^const Version = "\(.*\)"$/\1/p' internal/cli/cli.go)
[ -n "$version" ] || { echo "release: found no version in internal/cli/cli.go" >&2; exit 1; }
rm -rf dist
mkdir -p dist
for target in ${RELEASE_TARGETS:-linux/amd64 linux/arm64 windows/amd64 darwin/arm64 darwin/amd64}; do
	os=${target%/*} arch=${target#*/}
	name=evenstroke-$version-$os-$arch
	exe=evenstroke
	[ "$os" = windows ] && exe=evenstroke.exe
	mkdir -p "dist/$name"
	GOOS=$os GOARCH=$arch go build -trimpath -ldflags "-s -w" -o "dist/$name/$exe" ./cmd/evenstroke
	go run ./packaging/licences "dist/$name/$exe" >"dist/$name/LICENCES.txt"
	cp LICENSE README.md CHANGELOG.md "dist/$name/"
	if [ "$os" = linux ]; then
		cp packaging/evenstroke.service packaging/serve.yaml "dist/$name/"
	fi
	if [ "$os" = windows ]; then
		(cd dist && go run ../packaging/zipdir "$name")
	else
		tar -C dist -czf "dist/$name.tar.gz" "$name"
	fi
	size=$(wc -c <"dist/$name/$exe")
	rm -r "dist/$name"
	echo "$name: binary $((size / 1000000)).$((size / 100000 % 10)) MB"
done
(cd dist && sha256sum evenstroke-* >SHA256SUMS && cat SHA256SUMS)
