package desk_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// fetches are the feeds of a clinic in which anything may happen.
type fetches struct {
	*play
	at      time.Time               // of the latest fetch
	changed map[string]int          // by person
	before  map[string]deskFeedFile // by person
}

// deskFeedFile is a feed of the desk as it was handed out.
type deskFeedFile struct {
	data    []byte
	changed time.Time
}

// byFeed fills a feed by what the keeper remembers, or by planning every case in another
// process.
func (f *fetches) byFeed(person string, every bool) deskFeedFile {
	f.t.Helper()
	f.at = f.at.Add(time.Minute)
	fill := f.keeper.FillDeskFeed
	if every {
		fill = desk.NewKeeper(f.keeper.Desk, f.other).EveryDeskFeed
	}
	data, changed, err := fill(ledger.Feed{Person: person}, f.on, f.at)
	if err != nil {
		f.t.Fatal(err)
	}
	return deskFeedFile{data, changed}
}

// givesOut gives the files of a case out to the desk, as they would be on a later day.
func (f *fetches) givesOut() string {
	id := f.cases[f.random.IntN(len(f.cases))]
	if _, _, err := desk.NewKeeper(f.keeper.Desk, f.other).GiveOut(id, f.on.AddDays(f.random.IntN(3)), f.at); err != nil {
		f.t.Fatal(err)
	}
	return "given out " + string(id)
}

// TestADeskFeedIsWhatPlanningEveryCaseShows lets anything happen between fetches of the
// feeds of all and of two people, and compares each, to the byte, with one that plans
// every case. What the first has kept the second finds, whichever comes first.
func TestADeskFeedIsWhatPlanningEveryCaseShows(t *testing.T) {
	t.Parallel()
	seeds, steps := 2, 66
	if testing.Short() || underRace {
		seeds = 1
	}
	for seed := range seeds {
		f := &fetches{play: newPlay(t, uint64(42+seed)), changed: map[string]int{}, before: map[string]deskFeedFile{}}
		var log []string
		for range steps {
			id, what := graft.CaseID(""), "nothing"
			if f.random.IntN(8) > 0 {
				id, what = f.step()
			}
			if opening := f.on.Time().Add(8 * time.Hour); f.at.Before(opening) {
				f.at = opening
			}
			if f.random.IntN(5) == 0 {
				what += ", " + f.givesOut()
			}
			log = append(log, fmt.Sprintf("%s %s %s", f.on, id, what))
			for _, person := range []string{"", "Nurse Wyn Tate", "Dr Alba Quill"} {
				if f.random.IntN(3) > 0 && !f.same(person) {
					t.Fatalf("seed %d, after:\n%s", seed, strings.Join(log, "\n"))
				}
			}
		}
		f.enough()
	}
}

// same compares a feed with the one that plans every case, in a drawn order.
func (f *fetches) same(person string) bool {
	f.t.Helper()
	everyFirst := f.random.IntN(2) == 0
	first := f.byFeed(person, everyFirst)
	second := f.byFeed(person, !everyFirst)
	if !bytes.Equal(first.data, second.data) {
		f.t.Errorf("the feed of %q differs; every case was planned first: %v\n%s", person, everyFirst, gocmp.Diff(string(first.data), string(second.data)))
		return false
	}
	again := f.byFeed(person, false)
	if !bytes.Equal(again.data, second.data) || again.changed.After(f.at) {
		f.t.Errorf("the feed of %q, fetched again at %s, is of %s:\n%s", person, f.at, again.changed, gocmp.Diff(string(second.data), string(again.data)))
		return false
	}
	if !bytes.Equal(again.data, f.before[person].data) {
		f.changed[person]++
	}
	f.before[person] = again
	return true
}

// enough wants each feed to have shown something, and to have changed often.
func (f *fetches) enough() {
	f.t.Helper()
	f.t.Logf("changes of feeds: %v", f.changed)
	for person, changes := range f.changed {
		if changes < 5 {
			f.t.Errorf("the feed of %q changed %d times: too few to tell", person, changes)
		}
	}
	if len(f.changed) < 3 || len(f.before[""].data) == 0 {
		f.t.Errorf("too little was shown: %v", f.changed)
	}
}

// TestADeskFeedOfAnUnchangedLedgerPlansNothing fetches again from a ledger that lets no
// case be read.
func TestADeskFeedOfAnUnchangedLedgerPlansNothing(t *testing.T) {
	k, store := keeping(t)
	withCheck(t, k)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	hiding := &hiding{Store: store}
	k = desk.NewKeeper(k.Desk, hiding)
	for _, person := range []string{"", "Nurse Wyn Tate", "Dr Alba Quill"} {
		fill := func(minutes int) deskFeedFile {
			t.Helper()
			data, changed, err := k.FillDeskFeed(ledger.Feed{Person: person}, ida.On, ida.At.Add(time.Duration(minutes)*time.Minute))
			if err != nil {
				t.Fatal(err)
			}
			return deskFeedFile{data, changed}
		}
		hiding.hides = false
		first := fill(1)
		hiding.hides = true
		again := fill(2)
		if !bytes.Equal(again.data, first.data) || !again.changed.Equal(first.changed) {
			t.Errorf("%q: changed %s, then %s", person, first.changed, again.changed)
		}
		if len(first.data) > 0 && &again.data[0] != &first.data[0] {
			t.Errorf("%q: the same calendar was written anew", person)
		}
		if err := store.Act(func(w desk.Writing) error {
			return w.AddEntry(ledger.Entry{At: ida.At, By: ida.Person, What: ledger.SignIn})
		}); err != nil {
			t.Fatal(err)
		}
		if again := fill(3); !bytes.Equal(again.data, first.data) {
			t.Errorf("%q: another feed after a sign-in", person)
		}
	}
	if _, err := k.Live("HR-2041", ida.On); err == nil {
		t.Error("cases were not hidden")
	}
}

// hiding is a store whose cases cannot be read.
type hiding struct {
	desk.Store
	hides bool
}

func (h *hiding) View(look func(desk.Ledger) error) error {
	return h.Store.View(func(l desk.Ledger) error {
		if h.hides {
			l = hidden{l}
		}
		return look(l)
	})
}

type hidden struct{ desk.Ledger }

func (hidden) Case(graft.CaseID) (ledger.Kept, error) {
	return ledger.Kept{}, fmt.Errorf("a case was read")
}

func (hidden) TakenOn(day.Span) ([]ledger.Visit, error) { return nil, fmt.Errorf("visits were read") }
