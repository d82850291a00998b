package desk_test

import (
	"math/rand/v2"
	"reflect"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/protocol"
)

// TestHitsArePlannedWhereTheyMayBe compares the hits of changed clinics with those that
// are found by planning every case.
func TestHitsArePlannedWhereTheyMayBe(t *testing.T) {
	k, store := bookedClinic(t, 6)
	onDay := on("2027-01-18")
	r := rand.New(rand.NewPCG(20270118, 2))
	rounds, found := 18, 0
	for round := range rounds {
		changed, changes := changedAtRandom(t, k.Clinic, r, round)
		other := desk.NewKeeper(desk.New(changed, protocol.Default()), store)
		want, err := other.EveryHit(onDay)
		if err != nil {
			t.Fatal(err)
		}
		got, err := other.Hits(onDay)
		if err != nil || len(got)+len(want) > 0 && !reflect.DeepEqual(got, want) {
			t.Errorf("%+v: %v\n%d hits\n%+v\nwant %d\n%+v", changes, err, len(got), got, len(want), want)
		}
		wantHitCases(t, other, onDay, got)
		found += len(want)
	}
	if found < rounds {
		t.Errorf("%d hits in %d rounds: too few to tell", found, rounds)
	}
}

// wantHitCases compares cases that are hit with the hits and with the cases as they are
// looked up one by one.
func wantHitCases(t *testing.T, k *desk.Keeper, onDay day.Day, hits []desk.Settlement) {
	t.Helper()
	cases, err := k.HitCases(onDay)
	if err != nil {
		t.Fatal(err)
	}
	var all []desk.Settlement
	for _, c := range cases {
		all = append(all, c.Hits...)
		live, err := k.Live(c.Case, onDay)
		if err != nil {
			t.Fatal(err)
		}
		if len(c.Hits) == 0 || !reflect.DeepEqual(c.Unsettled, live.Unsettled()) || c.Head != live.Kept.Head || c.OtherRules != live.OtherRules {
			t.Errorf("%s: %+v; the case has %+v", c.Case, c, live.Unsettled())
		}
	}
	if len(all)+len(hits) > 0 && !reflect.DeepEqual(all, hits) {
		t.Errorf("the cases have %+v, listed are %+v", all, hits)
	}
}
