package desk_test

import (
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"graftclock/internal/casefile"
	"graftclock/internal/desk"
	"graftclock/internal/protocol"
)

// TestAPreviewLeavesOutWhatIsHitAlready makes one change after another: what the first
// has hit is no news of the second.
func TestAPreviewLeavesOutWhatIsHitAlready(t *testing.T) {
	k, store := bookedClinic(t, 4)
	onDay := on("2027-01-18")
	r := rand.New(rand.NewPCG(20270118, 3))
	rounds, found, already := 9, 0, 0
	if testing.Short() {
		rounds = 5
	}
	for round := range rounds {
		_, first := changedAtRandom(t, k.Clinic, r, round)
		_, second := changedAtRandom(t, k.Clinic, r, round+1+r.IntN(7))
		_, data := demo(t, "clinic.yaml")
		text, before, _, err := casefile.ChangeClinic("clinic.yaml", data, first, nil)
		if err != nil {
			t.Fatal(err)
		}
		_, after, faults, err := casefile.ChangeClinic("clinic.yaml", text, second, nil)
		if err != nil || len(faults) > 0 {
			continue // both are about the same days
		}
		was, is := desk.NewKeeper(desk.New(before, protocol.Default()), store), desk.New(after, protocol.Default())
		hitBefore, err := was.EveryHit(onDay)
		if err != nil {
			t.Fatal(err)
		}
		want, err := desk.NewKeeper(is, store).EveryHit(onDay)
		if err != nil {
			t.Fatal(err)
		}
		all := len(want)
		want = slices.DeleteFunc(want, func(s desk.Settlement) bool {
			return slices.ContainsFunc(hitBefore, func(b desk.Settlement) bool { return b.Case == s.Case && b.ID == s.ID })
		})
		found, already = found+len(want), already+all-len(want)
		got, err := was.Preview(is, onDay)
		if err != nil || len(got)+len(want) > 0 && !reflect.DeepEqual(got, want) {
			t.Errorf("%+v, then %+v: %v\n%d hits\n%+v\nwant %d\n%+v", first, second, err, len(got), got, len(want), want)
		}
	}
	if found < rounds/2 || already < rounds/2 {
		t.Errorf("%d hits, and %d that there were already: too few to tell", found, already)
	}
}
