package desk_test

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/table"
)

// aboutNoCase are the entries about no case.
func aboutNoCase(t *testing.T, store desk.Store) []ledger.Entry {
	t.Helper()
	var about []ledger.Entry
	if err := store.View(func(l desk.Ledger) error {
		all, err := l.History("")
		for _, e := range all {
			if e.Case == "" {
				about = append(about, e)
			}
		}
		return err
	}); err != nil {
		t.Fatal(err)
	}
	return about
}

func burst() casefile.AddClosure {
	return casefile.AddClosure{Closure: clinic.Closure{From: on("2027-01-25"), To: on("2027-01-25"), Name: "burst pipe"}}
}

func TestAChangedClinicStandsInFileAndHistory(t *testing.T) {
	k, store := keeping(t)
	files := clinicOnShelf(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	changes := []casefile.ClinicChange{burst(), casefile.SetHours{Weekday: time.Friday}, casefile.SetAfterCare{Key: "flying", Days: 14}}
	d, err := k.ChangeClinic(ida, files, k.Seen(), changes, "no water")
	if err != nil {
		t.Fatal(err)
	}
	if n := len(d.Clinic.Closures); n != 2 || d.Clinic.Hours[time.Friday] != nil || d.Seen() == k.Seen() || d.Seen() != files.keeper(t, store).Seen() {
		t.Errorf("%d closures, Fridays %v, seen %s", n, d.Clinic.Hours[time.Friday], d.Seen())
	}
	want := []string{"clinic:  -> closed 2027-01-25 (burst pipe), no water", "clinic: open on Fridays 08:30-13:00 -> closed on Fridays, no water"}
	var got []string
	for _, e := range aboutNoCase(t, store) {
		if e.By != ida.Person || !e.At.Equal(ida.At) {
			t.Errorf("by %v at %v", e.By, e.At)
		}
		got = append(got, fmt.Sprintf("%s: %s -> %s, %s", e.What, e.Was, e.Now, e.Why))
	}
	if !slices.Equal(got, want) {
		t.Errorf("the history says %q, want %q", got, want)
	}
}

// TestAClinicFileOfAnotherTextIsLeftAlone has somebody else change the file, by hand or
// by a page, between the look and the act.
func TestAClinicFileOfAnotherTextIsLeftAlone(t *testing.T) {
	k, store := keeping(t)
	files := clinicOnShelf(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	seen := k.Seen()
	files.texts["clinic.yaml"] += "# by hand\n"
	by := files.texts["clinic.yaml"]
	_, err := k.ChangeClinic(ida, files, seen, []casefile.ClinicChange{burst()}, "")
	refusalOf(t, err, graft.Conflict, "the clinic file was changed meanwhile")
	k = files.keeper(t, store)
	if _, err = k.ChangeClinic(ida, files, k.Seen(), []casefile.ClinicChange{burst()}, ""); err != nil {
		t.Fatal(err)
	}
	if files.texts["clinic.yaml"] == by || !strings.HasSuffix(files.texts["clinic.yaml"], "# by hand\n") {
		t.Errorf("what was written by hand is gone:\n%s", files.texts["clinic.yaml"])
	}
	if list := aboutNoCase(t, store); len(list) != 2 || list[0].What != ledger.Refused || !strings.Contains(list[0].Now, "clinic: the clinic file was changed meanwhile") || list[1].What != "clinic" {
		t.Errorf("%+v", list)
	}
}

// TestWhoMayChangeTheClinic goes through every role and every kind of change. OWASP
// ASVS 8.2.1: what a person may do is checked where it is done.
func TestWhoMayChangeTheClinic(t *testing.T) {
	const rules, clinicOnly = "rules", "clinic"
	run := clinic.Closure{From: on("2027-05-10"), To: on("2027-05-10"), Name: "x"}
	changes := map[string]struct {
		change casefile.ClinicChange
		may    string // roles
	}{
		"closure":       {casefile.AddClosure{Closure: run}, "surgeon desk"},
		"half day":      {casefile.SetHalfDay{SpecialDay: clinic.SpecialDay{Day: run.From, Hours: []day.Hours{{From: 540, To: 720}}, Name: "x"}}, "surgeon desk"},
		"hours":         {casefile.SetHours{Weekday: time.Friday}, "surgeon desk"},
		"absence":       {casefile.AddAbsence{Who: "Nurse Wyn Tate", Closure: run}, "surgeon desk"},
		"person":        {casefile.AddPerson{Name: "Nurse Una Vale", Role: "nurse", Days: 2}, "surgeon desk terminal"},
		"surgeon":       {casefile.AddPerson{Name: "Dr Otto Brandt", Role: "surgeon", Days: 2}, "surgeon terminal"},
		"weekdays":      {casefile.SetPersonDays{Name: "Ida Marlow", Days: 2}, "surgeon desk"},
		"person leaves": {casefile.RemovePerson{Name: "Ida Marlow"}, "surgeon desk"},
		"room":          {casefile.SetRoom{Name: "Surgery 2", For: []string{"surgery"}}, "surgeon desk"},
		"preset":        {casefile.SetAfterCare{Key: "flying", Days: 3}, "surgeon desk"},
		"rules' file":   {casefile.SetProtocol{File: "own.yaml"}, "surgeon"},
	}
	who := map[string]func(k *desk.Keeper) desk.Actor{
		"surgeon": func(k *desk.Keeper) desk.Actor { return acting(t, k, "Dr Alba Quill", "2027-01-18") },
		"desk":    func(k *desk.Keeper) desk.Actor { return acting(t, k, "Ida Marlow", "2027-01-18") },
		"nurse":   func(k *desk.Keeper) desk.Actor { return acting(t, k, "Nurse Wyn Tate", "2027-01-18") },
		"hygienist": func(*desk.Keeper) desk.Actor {
			return desk.Actor{Person: ledger.Person{Name: "Una Vale", Role: "hygienist"}, On: on("2027-01-18")}
		},
		"nobody":   func(*desk.Keeper) desk.Actor { return desk.Actor{On: on("2027-01-18")} },
		"terminal": func(*desk.Keeper) desk.Actor { return desk.Terminal(time.Now(), on("2027-01-18")) },
	}
	for _, role := range slices.Sorted(maps.Keys(who)) {
		for _, name := range slices.Sorted(maps.Keys(changes)) {
			t.Run(role+" "+name, func(t *testing.T) {
				k, store := keeping(t)
				files := clinicOnShelf(t)
				files.texts["own.yaml"] = "rules: 1\nadopted_by: Dr Alba Quill\nadopted_on: 2026-12-01\nchanges: []\n"
				was := files.texts["clinic.yaml"]
				c := changes[name]
				_, err := k.ChangeClinic(who[role](k), files, k.Seen(), []casefile.ClinicChange{burst(), c.change}, "why")
				if role == "terminal" {
					_, err = k.ChangeClinic(who[role](k), files, k.Seen(), []casefile.ClinicChange{c.change}, "why")
				}
				may := slices.Contains(strings.Fields(c.may), role)
				if may && err != nil || may == (files.texts["clinic.yaml"] == was) {
					t.Errorf("may %v, but %v", may, err)
				}
				if !may {
					refusalOf(t, err, graft.Invalid, "needs a surgeon")
				}
				if list := aboutNoCase(t, store); len(list) == 0 || may == (list[len(list)-1].What == ledger.Refused) {
					t.Errorf("the history says %+v", list)
				}
			})
		}
		t.Run(role+" "+rules, func(t *testing.T) {
			k, store := keeping(t)
			files := clinicOnShelf(t)
			_, err := k.AdoptRule(who[role](k), files, k.Seen(), "share-to-hold", "0.9", "dense bone here")
			_, err2 := files.keeper(t, store).TakeBackRule(who[role](k), files, files.keeper(t, store).Seen(), "share-to-hold", "no more")
			if role == "surgeon" {
				if err != nil || err2 != nil {
					t.Error(err, err2)
				}
				return
			}
			refusalOf(t, err, graft.Invalid, "needs a surgeon")
			refusalOf(t, err2, graft.Invalid, "needs a surgeon")
			if list := aboutNoCase(t, store); len(list) != 2 || list[0].What != ledger.Refused || list[1].What != ledger.Refused || files.swaps > 0 {
				t.Errorf("%d files replaced, %+v", files.swaps, list)
			}
		})
	}
}

func TestAChangeOfTheClinicThatCannotBe(t *testing.T) {
	noDay := "clinic: 1"
	for _, c := range []struct {
		name    string
		changes []casefile.ClinicChange
		kind    graft.RefusalKind // of a refusal
		fault   string            // else the path of a fault
	}{
		{"nothing", nil, graft.Invalid, ""},
		{"what is so already", []casefile.ClinicChange{casefile.SetAfterCare{Key: "flying", Days: 14}}, graft.Conflict, ""},
		{"what is not there", []casefile.ClinicChange{casefile.RemoveClosure{Closure: burst().Closure}}, graft.Invalid, ""},
		{"a faulty value", []casefile.ClinicChange{burst(), casefile.SetAfterCare{Key: "flying", Days: 999}}, "", "after_care.flying"},
		{"a week without a day", []casefile.ClinicChange{casefile.SetHours{Weekday: 1}, casefile.SetHours{Weekday: 2}, casefile.SetHours{Weekday: 3}, casefile.SetHours{Weekday: 4}, casefile.SetHours{Weekday: 5}}, "", "hours"},
	} {
		t.Run(c.name, func(t *testing.T) {
			k, store := keeping(t)
			files := clinicOnShelf(t)
			was := files.texts["clinic.yaml"]
			_, err := k.ChangeClinic(acting(t, k, "Ida Marlow", "2027-01-18"), files, k.Seen(), c.changes, "")
			var faults table.Faults
			if c.kind != "" {
				refusalOf(t, err, c.kind, "")
			} else if !errors.As(err, &faults) || faults[0].Path != c.fault {
				t.Errorf("got %v, want a fault at %s", err, c.fault)
			}
			if files.texts["clinic.yaml"] != was || !strings.HasPrefix(was, noDay) || files.swaps > 0 {
				t.Errorf("the file was changed:\n%s", files.texts["clinic.yaml"])
			}
			for _, e := range aboutNoCase(t, store) {
				if e.What != ledger.Refused {
					t.Errorf("%+v", e)
				}
			}
		})
	}
}

// TestNeitherFileNorEntryWithoutTheOther has the disk, and then the ledger, fail in the
// middle of a change.
func TestNeitherFileNorEntryWithoutTheOther(t *testing.T) {
	k, store := keeping(t)
	quill := acting(t, k, "Dr Alba Quill", "2027-01-18")
	full := errors.New("no space left")
	both := map[string]func(*desk.Keeper, *shelfOfFiles) error{
		"clinic": func(k *desk.Keeper, f *shelfOfFiles) error {
			_, err := k.ChangeClinic(quill, f, k.Seen(), []casefile.ClinicChange{burst()}, "")
			return err
		},
		"rules": func(k *desk.Keeper, f *shelfOfFiles) error {
			_, err := k.AdoptRule(quill, f, k.Seen(), "share-to-hold", "0.9", "dense bone here")
			return err
		},
	}
	for name, change := range both {
		files := clinicOnShelf(t)
		was := maps.Clone(files.texts)
		files.fails["clinic.yaml"] = full
		if err := change(k, files); !errors.Is(err, full) || !maps.Equal(files.texts, was) {
			t.Errorf("%s: %v; files %v", name, err, slices.Sorted(maps.Keys(files.texts)))
		}
		files = clinicOnShelf(t)
		broken := failing{store, full}
		if err := change(desk.NewKeeper(k.Desk, broken), files); !errors.Is(err, full) || !maps.Equal(files.texts, was) {
			t.Errorf("%s, with the ledger's disk full: %v; files %v", name, err, slices.Sorted(maps.Keys(files.texts)))
		}
	}
	if list := aboutNoCase(t, store); len(list) != 0 {
		t.Errorf("%+v", list)
	}
}

// failing is a ledger that fails at the very end of each act.
type failing struct {
	desk.Store
	err error
}

func (f failing) Act(do func(desk.Writing) error) error {
	return f.Store.Act(func(w desk.Writing) error {
		if err := do(w); err != nil {
			return err
		}
		return f.err
	})
}

// TestOfTwoWhoSawTheSameOneChangesTheClinic has many change the clinic at once, all by
// what they saw before: one does, the others are told.
func TestOfTwoWhoSawTheSameOneChangesTheClinic(t *testing.T) {
	k, store := keeping(t)
	files := clinicOnShelf(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	const many = 6
	errs := make([]error, many)
	var all sync.WaitGroup
	for n := range many {
		all.Go(func() {
			run := clinic.Closure{From: on("2027-05-10").AddDays(n), Name: "x"}
			_, errs[n] = k.ChangeClinic(ida, files, k.Seen(), []casefile.ClinicChange{casefile.AddClosure{Closure: run}}, "")
		})
	}
	all.Wait()
	won := 0
	for _, err := range errs {
		if err == nil {
			won++
			continue
		}
		refusalOf(t, err, graft.Conflict, "was changed meanwhile")
	}
	if list := aboutNoCase(t, store); won != 1 || files.swaps != 1 || len(list) != many {
		t.Errorf("%d won, %d files replaced, the history has %d entries", won, files.swaps, len(list))
	}
}
