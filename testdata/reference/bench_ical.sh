#!/bin/sh
# Measures, in one run, how fast 10,000 events are built and written here and how
# fast libical alone writes the same ones, by turns and on one core each. It prints
# the median of both and their ratio, and fails where that is below 1.5. Needs Go, a C
# compiler and libical.
#
# usage: bench_ical.sh [TURNS]
set -eu
cd "$(dirname "$0")/../.."
turns=${1:-9}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

go test -c -o "$work/ics.test" ./internal/ics
turn=0
while [ "$turn" -lt "$turns" ]; do
	(cd internal/ics && GRAFTCLOCK_REFERENCES=required "$work/ics.test" -test.run '^$' -test.cpu 1 -test.benchtime 0.5s -test.bench '^BenchmarkTenThousand$')
	turn=$((turn + 1))
done | tee "$work/all"

# The median of the turns.
middle() {
	awk -v who="$1" '$1 ~ "TenThousand/" who { for (i = 2; i < NF; i++) if ($(i + 1) == "events/s") print $i }' "$work/all" |
		sort -n | awk '{ v[NR] = $1 } END { print v[int((NR + 1) / 2)] }'
}
ours=$(middle graftclock)
theirs=$(middle libical)
awk -v a="$ours" -v b="$theirs" 'BEGIN { printf "graftclock %d events/s, libical %d events/s, ratio %.2f\n", a, b, a / b; exit a < 1.5 * b }'
