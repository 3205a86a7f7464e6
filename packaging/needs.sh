#!/bin/sh
# Installs what the tests need beside Go, from Debian's packages and npm, when it is missing and this is root.
set -eu
cd "$(dirname "$0")/.."
missing=""
need() { # need PACKAGE test-command
	package=$1
	shift
	"$@" >/dev/null 2>&1 || missing="$missing $package"
}
need postgresql sh -c 'ls /usr/lib/postgresql/*/bin/initdb'
need chromium sh -c 'command -v chromium || command -v chromium-browser || command -v google-chrome'
need poppler-utils command -v pdftotext
need qpdf command -v qpdf
need zbar-tools command -v zbarimg
need openssl command -v openssl
need curl command -v curl
need groff-base command -v groff
need dpkg command -v dpkg-deb
need python3 command -v python3
need nodejs command -v node
need npm command -v npm
if [ -n "$missing" ]; then
	if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
		echo "installing:$missing"
		log=$(mktemp)
		export DEBIAN_FRONTEND=noninteractive
		# the package of the server must not start a cluster of its own: the tests make theirs
		mkdir -p /etc/postgresql-common
		[ -e /etc/postgresql-common/createcluster.conf ] || echo "create_main_cluster = false" >/etc/postgresql-common/createcluster.conf
		# shellcheck disable=SC2086
		{ apt-get update && apt-get install -y --no-install-recommends $missing; } >"$log" 2>&1 || { tail -n 20 "$log"; exit 1; }
		rm -f "$log"
	else
		echo "missing:$missing (tests that need them are left out)"
	fi
fi
if [ -f internal/browser/package.json ] && command -v npm >/dev/null 2>&1; then
	if [ ! -d internal/browser/node_modules ] || [ internal/browser/package-lock.json -nt internal/browser/node_modules ]; then
		(cd internal/browser && npm ci --no-audit --no-fund --silent)
	fi
fi
