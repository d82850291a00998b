#!/bin/sh
# Installs the reference programs that the tests compare graftclock with, on a
# Debian machine that has Go, and runs all tests. A reference that is missing
# then fails its test.
set -eu
cd "$(dirname "$0")/../.."

as_root() {
	if [ "$(id -u)" = 0 ]; then "$@"; else sudo "$@"; fi
}

missing=""
for package in chromium gcc hyphen-de hyphen-es hyphen-fr hyphen-pl libc6-dev libical-dev pkg-config poppler-utils python3-aiosmtpd python3-bcrypt \
	python3-dateutil python3-icalendar python3-numpy python3-passlib python3-pyphen python3-scipy python3-vobject qpdf radicale thunderbird zbar-tools; do
	dpkg -s "$package" >/dev/null 2>&1 || missing="$missing $package"
done
command -v node >/dev/null || missing="$missing nodejs"
command -v npm >/dev/null || missing="$missing npm"
if [ -n "$missing" ]; then
	as_root apt-get update -q
	# shellcheck disable=SC2086
	as_root apt-get install -q -y --no-install-recommends $missing
fi
(cd testdata/reference && npm ci --no-audit --no-fund)

# The longest package takes five minutes on two cores.
GRAFTCLOCK_REFERENCES=required go test -timeout 18m ./...
# The tests that drive a browser, a module of their own.
(cd internal/browser && GRAFTCLOCK_REFERENCES=required go test -timeout 10m ./...)
# The pages under a light load, beside a server of plain files; load.sh does it in full.
go test -run '^$' -bench HundredClients -benchtime 1x ./internal/web
