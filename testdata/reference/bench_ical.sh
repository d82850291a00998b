#!/bin/sh
# Measures, in one run, how fast 10,000 events are built and written here and how
# fast libical alone writes the same ones, which it has in memory already. The two
# take turns, each warmed up, neither with a file to write, and count the processor's
# time; that they write as many events and as many octets, but for a few in a hundred,
# is checked. It prints the medians and the median of the ratios of the turns, and fails
# where that is below 1.5. Needs Go, a C compiler and libical.
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
	(cd internal/ics && GRAFTCLOCK_REFERENCES=required "$work/ics.test" -test.run '^$' -test.cpu 1 -test.benchtime 0.5s -test.bench '^BenchmarkTenThousand$') >"$work/one" || { cat "$work/one"; exit 1; }
	grep '^Benchmark' "$work/one"
	cat "$work/one" >>"$work/all"
	turn=$((turn + 1))
done

# The figures of one of the two in one unit, turn by turn.
figures() {
	awk -v who="$1" -v unit="$2" '$1 ~ "TenThousand/" who { for (i = 2; i < NF; i++) if ($(i + 1) == unit) print $i }' "$work/all"
}

# The median of what it is given, and the least and the greatest.
middle() {
	sort -n | awk '{ v[NR] = $1 } END { print v[int((NR + 1) / 2)], v[1], v[NR] }'
}

figures graftclock events/s >"$work/ours"
figures libical events/s >"$work/theirs"
paste "$work/ours" "$work/theirs" | awk '{ printf "%.3f\n", $1 / $2 }' | middle >"$work/ratio"
for who in graftclock libical; do
	echo "$who: $(figures $who events/s | middle) events/s (median, least, greatest), $(figures $who octets | head -n 1) octets"
done
echo "ratio: $(cat "$work/ratio") (median, least, greatest)"
awk '{ exit $1 < 1.5 }' "$work/ratio"
