package demo

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/sqlite"
)

// few is how many cases the demo has in a test: all the stories and one that is
// ordinary.
var few = len(stories) + 1

const secret = "harbour lights at low tide"

// opened is a demo clinic as a program finds it.
type opened struct {
	*Made
	text    []byte
	keeper  *desk.Keeper
	file    *sqlite.Store
	all     []desk.Live
	visits  []ledger.Visit
	history []ledger.Entry
}

// makeFew makes the demo clinic of a day with few cases and opens it.
func makeFew(t *testing.T, on string, seed uint64, cases int) *opened {
	t.Helper()
	today, err := day.Parse(on)
	if err != nil {
		t.Fatal(err)
	}
	made, err := makeCases(filepath.Join(t.TempDir(), "demo"), today, seed, secret, cases)
	if err != nil {
		t.Fatal(err)
	}
	return open(t, made)
}

// open reads what was made from its files.
func open(t *testing.T, made *Made) *opened {
	t.Helper()
	o := &opened{Made: made}
	var err error
	if o.text, err = os.ReadFile(made.Clinic); err != nil {
		t.Fatal(err)
	}
	c, faults := casefile.ReadClinic(made.Clinic, o.text, os.ReadFile)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if o.file, err = sqlite.Open(made.Ledger); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { o.file.Close() })
	store := desk.Keep(o.file)
	o.keeper = keeper(c, store)
	if o.all, err = o.keeper.All(made.Today); err != nil {
		t.Fatal(err)
	}
	err = store.View(func(l desk.Ledger) (err error) {
		if o.visits, err = l.AllVisits(); err != nil {
			return err
		}
		o.history, err = l.History("")
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// booked lists the visits that are booked for a day.
func (o *opened) booked(d day.Day) int {
	n := 0
	for _, v := range o.visits {
		if v.State == ledger.Booked && v.Day == d {
			n++
		}
	}
	return n
}

func TestTheSameDayAndSeedGiveTheSameYear(t *testing.T) {
	t.Parallel()
	const on = "2027-10-13"
	one, again, other := makeFew(t, on, 7, 24), makeFew(t, on, 7, 24), makeFew(t, on, 8, 24)
	if diff := cmp.Diff(string(one.text), string(again.text)); diff != "" {
		t.Errorf("the clinic file differs:\n%s", diff)
	}
	if diff := cmp.Diff(one.history, again.history); diff != "" {
		t.Errorf("the history differs:\n%s", diff)
	}
	if diff := cmp.Diff(one.visits, again.visits, cmp.Comparer(func(a, b day.Day) bool { return a == b })); diff != "" {
		t.Errorf("the visits differ:\n%s", diff)
	}
	for n := range one.all {
		if !slices.Equal(one.all[n].Revision.Record, again.all[n].Revision.Record) {
			t.Errorf("%s: the record differs", one.all[n].Kept.Case)
		}
	}
	if len(one.history) == len(other.history) && cmp.Equal(one.history, other.history) {
		t.Error("another seed gives the same year")
	}
}

// TestOddDays makes the demo on days on which a clinic is closed or a calendar odd.
func TestOddDays(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name, on string
		closed   bool
	}{
		{"29 February", "2028-02-29", false},
		{"1 January", "2027-01-01", true},
		{"a Sunday", "2027-03-14", true},
		{"a public holiday", "2027-03-17", true},
		{"in the middle of the closure", "2026-12-28", true},
		{"a Friday, half a day", "2027-05-21", false},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			o := makeFew(t, test.on, 3, few)
			if open := o.Look == o.Today; open == test.closed {
				t.Errorf("the day with the visits is %s", o.Look)
			}
			o.holds(t)
		})
	}
}

// holds wants of a demo what it must show whatever the day.
func (o *opened) holds(t *testing.T) {
	t.Helper()
	if found, err := o.file.Integrity(); err != nil || len(found) > 0 {
		t.Errorf("the ledger: %v, %v", found, err)
	}
	if n := o.booked(o.Look); n < 6 || n > 10 {
		t.Errorf("%d visits on %s", n, o.Look)
	}
	hits, err := o.keeper.Hits(o.Today)
	if err != nil {
		t.Fatal(err)
	}
	if len(hits) < 2 || !strings.Contains(hits[0].Why, lateClosure) {
		t.Errorf("hit by the late closure: %v", hits)
	}
	if len(hits) > 8 {
		t.Errorf("%d visits are hit: too many for one screen", len(hits))
	}
	for _, e := range o.history {
		if !day.Of(e.At).Before(o.Today) {
			t.Errorf("%s of %s happened on %s", e.What, e.Case, e.At)
		}
	}
	o.fits(t)
}

// fits wants that everything booked fits the clinic and the plan, but for cases with a
// visit that the late closure hits: on its days, or an operation on the last open day
// before it. What follows such a visit may not fit either.
func (o *opened) fits(t *testing.T) {
	t.Helper()
	closures := o.keeper.Clinic.Closures
	late := closures[len(closures)-1]
	const weekend = 3
	hit := func(m diary.Misfit) bool {
		return !m.Booked.Day.Before(late.From.AddDays(-weekend)) && !m.Booked.Day.After(late.To)
	}
	for _, live := range o.all {
		if len(live.Misfits) > 0 && !slices.ContainsFunc(live.Misfits, hit) {
			t.Errorf("%s is not settled: %v", live.Kept.Case, live.Misfits)
		}
		if len(live.Gone) > 0 {
			t.Errorf("%s has visits that its plan does not have: %v", live.Kept.Case, live.Gone)
		}
	}
}

func TestAFolderWithAClinicStaysAsItIs(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	path := filepath.Join(folder, "clinic.yaml")
	if err := os.WriteFile(path, []byte("a clinic's own"), 0o600); err != nil {
		t.Fatal(err)
	}
	for name, make := range map[string]func() (*Made, error){
		"the demo":        func() (*Made, error) { return Make(folder, time.Now(), 1, secret) },
		"very many cases": func() (*Made, error) { return MakeMany(folder, time.Now(), 1, secret, 1, nil) },
	} {
		_, err := make()
		var refusal *graft.Refusal
		if !errors.As(err, &refusal) || refusal.Kind != graft.Conflict {
			t.Errorf("%s: %v", name, err)
		}
	}
	text, err := os.ReadFile(path)
	if err != nil || string(text) != "a clinic's own" {
		t.Errorf("the clinic file is now %q, %v", text, err)
	}
	if _, err := os.Stat(filepath.Join(folder, "clinic.ledger")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a ledger lies beside it: %v", err)
	}
}

// TestTheClinicFile holds the demo's clinic to what its pages are to show.
func TestTheClinicFile(t *testing.T) {
	t.Parallel()
	today := day.New(2027, time.March, 9)
	h, err := housesAround("clinic.yaml", today)
	if err != nil {
		t.Fatal(err)
	}
	roles := map[string]int{}
	for _, p := range h.now.People {
		roles[p.Role]++
	}
	if want := map[string]int{"surgeon": 2, "nurse": 2, "desk": 1}; !cmp.Equal(roles, want) {
		t.Errorf("people %v, want %v", roles, want)
	}
	ahead := func(c clinic.Closure) string {
		return fmt.Sprintf("%s: %d days, in %d", c.Name, c.To.Sub(c.From)+1, c.From.Sub(today))
	}
	var closures []string
	for _, c := range h.now.Closures {
		if c.From.After(today) && c.From.Sub(today) < yearDays/2 {
			closures = append(closures, ahead(c))
		}
	}
	if want := []string{"Annual closure: 19 days, in 125", "New floor: 2 days, in 21"}; !cmp.Equal(closures, want) {
		t.Errorf("closures %q, want %q", closures, want)
	}
	if got, want := ahead(h.now.People[0].Absent[0]), "course: 5 days, in 48"; got != want {
		t.Errorf("absence %q, want %q", got, want)
	}
	if n := len(h.before.Closures); n != len(h.now.Closures)-1 {
		t.Errorf("while the year is played there are %d closures of %d", n, len(h.now.Closures))
	}
}
