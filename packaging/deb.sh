#!/bin/sh
# Makes a package for Debian from the folder of a release: deb.sh TREE VERSION ARCH DIST.
# The service is installed but not started: what it shows to the network is for the shop to decide.
set -eu
tree=$1 version=$2 arch=$3 dist=$4
maintainer="evenstroke <evenstroke@example.org>"
: "${SOURCE_DATE_EPOCH:?seconds since 1970}"
here=$(dirname "$0")
root=$(mktemp -d)
trap 'rm -rf "$root"' EXIT
umask 022
chmod 755 "$root"
put() { install -D -m "$1" "$2" "$root/$3"; }

put 755 "$tree/evenstroke" usr/bin/evenstroke
for page in "$tree"/man/*.1; do
	put 644 "$page" "usr/share/man/man1/$(basename "$page")"
done
gzip -9n "$root"/usr/share/man/man1/*
put 644 "$tree/completions/bash/evenstroke" usr/share/bash-completion/completions/evenstroke
put 644 "$tree/completions/zsh/_evenstroke" usr/share/zsh/vendor-completions/_evenstroke
put 644 "$tree/completions/fish/evenstroke.fish" usr/share/fish/vendor_completions.d/evenstroke.fish
put 644 "$tree/packaging/serve.yaml" etc/evenstroke/serve.yaml
mkdir -p "$root/usr/lib/systemd/system"
# the lines at the top tell how to install by hand
sed -e '1,/^\[Unit\]/{/^#/d}' -e 's#/usr/local/bin/#/usr/bin/#' "$tree/packaging/evenstroke.service" >"$root/usr/lib/systemd/system/evenstroke.service"

grep -q "Apache License" "$tree/LICENSE" || { echo "deb: found another licence than the one that the package names" >&2; exit 1; }
doc=usr/share/doc/evenstroke
for file in README.md CONTRIBUTING.md bench/load/README.md packaging/serve.yaml packaging/evenstroke.service $(cd "$tree" && find docs -type f); do
	put 644 "$tree/$file" "$doc/$file"
done
put 644 "$tree/sbom.cdx.json" "$doc/sbom.cdx.json"
put 644 "$tree/CHANGELOG.md" "$doc/changelog"
printf 'evenstroke (%s-1) unstable; urgency=medium\n\n  * What is new in it: changelog.gz.\n\n -- %s  %s\n' "$version" "$maintainer" "$(date -u -R -d "@$SOURCE_DATE_EPOCH")" >"$root/$doc/changelog.Debian"
gzip -9n "$root/$doc/changelog" "$root/$doc/changelog.Debian"
{
	echo "Format: https://www.debian.org/doc/packaging-manuals/copyright-format/1.0/"
	echo "Upstream-Name: evenstroke"
	echo
	echo "Comment: The program is linked with what is listed below, each under its own licence."
	sed -e 's/^[[:space:]]*$/./' -e 's/^/ /' "$tree/LICENCES.txt"
	echo
	echo "Files: *"
	echo "Copyright: the evenstroke authors"
	echo "License: Apache-2.0"
	echo " The full text is in /usr/share/common-licenses/Apache-2.0."
} >"$root/$doc/copyright"
ln -s ../../common-licenses/Apache-2.0 "$root/$doc/LICENSE"

mkdir "$root/DEBIAN"
echo /etc/evenstroke/serve.yaml >"$root/DEBIAN/conffiles"
install -m 755 "$here/deb.postinst" "$root/DEBIAN/postinst"
install -m 755 "$here/deb.prerm" "$root/DEBIAN/prerm"
(cd "$root" && find usr -type f -print0 | sort -z | xargs -0 md5sum) >"$root/DEBIAN/md5sums"
cat >"$root/DEBIAN/control" <<CONTROL
Package: evenstroke
Version: $version-1
Architecture: $arch
Maintainer: $maintainer
Installed-Size: $(du -sk --exclude=DEBIAN "$root" | cut -f1)
Suggests: postgresql, bash-completion
Section: science
Priority: optional
Description: find what leaks in an airless sprayer's piston pump
 From a gauge, a stopwatch and a ruler it says which seal or valve of a
 reciprocating piston pump lets fluid by, with a probability; it orders the
 rebuild and says when a hold has proven enough. One program for the terminal
 and for the tablets, phones and screens of a workshop.
CONTROL
find "$root" -newermt "@$SOURCE_DATE_EPOCH" -exec touch -h -d "@$SOURCE_DATE_EPOCH" {} +
dpkg-deb --root-owner-group -Zxz "-z${RELEASE_LEVEL:-6}" --build "$root" "$dist/evenstroke_$version-1_$arch.deb" >/dev/null
