#!/bin/sh
# Puts the pages under load: 10,000 cases, some 3,000 open bookings, 100 clients on
# Morning, cases and slots for a minute, beside a server of plain files. Making the
# cases takes some minutes; with GRAFTCLOCK_LOAD_FOLDER they are kept for the next run.
set -eu
cd "$(dirname "$0")/../.."
GRAFTCLOCK_LOAD_CASES="${GRAFTCLOCK_LOAD_CASES:-10000}" GRAFTCLOCK_LOAD_SECONDS="${GRAFTCLOCK_LOAD_SECONDS:-60}" \
	go test -run '^$' -bench HundredClients -benchtime 1x -timeout 60m ./internal/web
