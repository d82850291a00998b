package sqlite

import (
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// rounds returns how often a test repeats itself.
func rounds(full int) int {
	if testing.Short() || raceDetector {
		return max(full/5, 1)
	}
	return full
}

// TestProcessesOpenFirst has four processes make one ledger, or bring one from
// before there were keys up to date, at once: all see one key, and it stays.
func TestProcessesOpenFirst(t *testing.T) {
	scripts, err := migrations()
	if err != nil {
		t.Fatal(err)
	}
	var children []*child
	for range 4 {
		children = append(children, startChild(t))
	}
	for round := range rounds(10) {
		path := filepath.Join(t.TempDir(), "ledger")
		if round%2 == 1 {
			old, err := openAt(path, scripts[:keyed-1])
			if err != nil {
				t.Fatal(err)
			}
			old.Close()
		}
		for _, c := range children {
			c.tell(order{verb: "open", path: path})
		}
		keys := map[string]bool{}
		for _, c := range children {
			keys[strings.Join(c.answer(), " ")] = true
		}
		if key := fmt.Sprintf("%x", keyOf(t, opened(t, path))); len(keys) != 1 || !keys[key] {
			t.Errorf("round %d: the key is %s, the desks saw %v", round, key, keys)
		}
		if c, err := Check(path); err != nil || c.Entries != len(children) || len(c.Faults) > 0 {
			t.Fatalf("round %d: %+v, %v", round, c, err)
		}
	}
}

// TestProcessesRaceForSlots has two desks in processes of their own want the same
// ten slots fifty times each: every slot has one winner, and who loses is told who
// won.
func TestProcessesRaceForSlots(t *testing.T) {
	desks := map[string]*child{"Ida Marlow": startChild(t), "Nurse Wyn Tate": startChild(t)}
	for _, c := range desks { // neither shall start late
		c.tell(order{verb: "open", path: filepath.Join(t.TempDir(), "ledger")})
		c.answer()
	}
	wins := map[string]int{}
	for round := range rounds(20) {
		path := filepath.Join(t.TempDir(), "ledger")
		s := opened(t, path)
		for who := range desks {
			admit(t, s, graft.CaseID(who))
		}
		for who, c := range desks {
			c.tell(order{"race", path, who, round, 50})
		}
		winner := map[string]string{}
		var lost []string
		for who, c := range desks {
			for _, line := range c.answer() {
				word, rest, _ := strings.Cut(line, " ")
				if word == "lost" {
					lost = append(lost, rest)
				} else if other, twice := winner[rest]; twice {
					t.Errorf("round %d: slot %s is %s's and %s's", round, rest, who, other)
				} else {
					winner[rest] = who
					wins[who]++
				}
			}
		}
		if len(winner) != 10 || len(lost) != 90 {
			t.Errorf("round %d: %d winners, %d losers", round, len(winner), len(lost))
		}
		for _, line := range lost {
			slot, says, _ := strings.Cut(line, " ")
			if who := winner[slot]; !strings.Contains(says, "is taken") || !strings.HasSuffix(says, "booked by "+who) || !strings.Contains(says, ": "+who+" Teni Okafor") {
				t.Errorf("round %d: slot %s is %s's, but who lost it was told %q", round, slot, who, says)
			}
		}
		wholeLedger(t, s)
	}
	t.Log("won:", wins)
	if len(wins) < 2 && rounds(20) == 20 {
		t.Error("one desk won everything: there was no race")
	}
}

// TestKilledInTheMiddleLosesNothing kills a desk at a random moment of 500
// bookings, again and again on one ledger.
func TestKilledInTheMiddleLosesNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger")
	s := opened(t, path)
	admit(t, s, "HR-1")
	s.Close()
	random := rand.New(rand.NewPCG(3, 4))
	const count = 500
	inTheMiddle, known := 0, map[string]bool{}
	for round := range rounds(12) {
		c := startChild(t)
		c.tell(order{"book", path, "HR-1", round * count, count})
		go func() {
			time.Sleep(time.Duration(random.IntN(250)) * time.Millisecond)
			c.kill()
		}()
		lines := c.answer()
		if n := len(lines); n > 0 && n < count {
			inTheMiddle++
		}
		for _, line := range lines {
			known[strings.TrimPrefix(line, "booked ")] = true
		}
		s := opened(t, path)
		there := wholeLedger(t, s)
		for n := range known {
			if !there[graft.MilestoneIDOf(graft.Recall, "", n)] {
				t.Errorf("round %d: booking %s is lost", round, n)
			}
		}
		s.Close()
	}
	t.Logf("%d bookings, %d desks killed in the middle", len(known), inTheMiddle)
	if inTheMiddle == 0 {
		t.Error("no desk was killed in the middle: the test shows nothing")
	}
}

// wholeLedger wants an undamaged ledger in which every visit has its entry and
// every booking its visit, and returns the milestones that are booked.
func wholeLedger(t *testing.T, s *Store) map[graft.MilestoneID]bool {
	t.Helper()
	if found, err := s.Integrity(); err != nil || len(found) > 0 {
		t.Errorf("damage: %v, %v", found, err)
	}
	type key struct {
		id graft.CaseID
		m  graft.MilestoneID
	}
	booked, entered := map[graft.MilestoneID]bool{}, map[key]int{}
	err := s.View(func(r *Reader) error {
		entries, err := r.History("")
		visits, err2 := r.AllVisits()
		for _, e := range entries {
			if e.What == "book" {
				entered[key{e.Case, e.Milestone}]++
			}
		}
		for _, v := range visits {
			booked[v.Milestone] = true
			entered[key{v.Case, v.Milestone}]--
		}
		return errors.Join(err, err2)
	})
	if err != nil {
		t.Error(err)
	}
	for k, n := range entered {
		if n != 0 {
			t.Errorf("%s, %s: %d more entries than visits", k.id, k.m, n)
		}
	}
	return booked
}

// TestRestoreWhileOthersComeAndGo restores a ledger again and again while two
// desks open it, write an entry and close it. Whatever they were told is written
// is in the ledger or in one of those that it replaced.
func TestRestoreWhileOthersComeAndGo(t *testing.T) {
	folder := t.TempDir()
	path, copied := filepath.Join(folder, "ledger"), filepath.Join(folder, "copy")
	s := opened(t, path)
	admit(t, s, "HR-1")
	if err := s.Backup(copied); err != nil {
		t.Fatal(err)
	}
	s.Close()
	desks, entries := 2, rounds(150)
	answers := make(chan []string)
	for n := range desks {
		c := startChild(t)
		c.tell(order{"note", path, fmt.Sprint("desk ", n), 0, entries})
		go func() { answers <- c.answer() }()
	}
	restored, refused := []string{path}, 0
	var noted []string
	for running := desks; running > 0; {
		select {
		case lines := <-answers:
			noted = append(noted, lines...)
			running--
		default:
			before, err := Restore(copied, path)
			var refusal *graft.Refusal
			switch {
			case err == nil:
				restored = append(restored, before)
			case errors.As(err, &refusal) && refusal.Kind == graft.Conflict:
				refused++
			default:
				t.Fatal(err)
			}
			time.Sleep(time.Millisecond)
		}
	}
	t.Logf("%d entries, %d times restored, %d times in use", len(noted), len(restored)-1, refused)
	if len(noted) != desks*entries || len(restored) < 2 {
		t.Error("the test shows nothing")
	}
	there := map[string]bool{}
	for _, path := range restored {
		s := opened(t, path)
		wholeLedger(t, s)
		s.View(func(r *Reader) error {
			entries, err := r.History("")
			for _, e := range entries {
				there["noted "+e.What] = true
			}
			return err
		})
		s.Close()
	}
	for _, line := range noted {
		if !there[line] {
			t.Errorf("%s is lost", line)
		}
	}
}

// TestWhoWaitsTooLongIsTold has one act wait for another, with less patience than
// desks have.
func TestWhoWaitsTooLongIsTold(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger")
	s := opened(t, path)
	db, err := sql.Open("sqlite", dsn(path, strings.Replace(shared, "10000", "50", 1)))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	hasty := &Store{path, db, s.want}
	err = s.Act(func(*Writer) error {
		wantRefusal(t, hasty.Act(func(*Writer) error { return nil }), graft.Conflict, "the ledger is busy")
		return nil
	})
	if err != nil {
		t.Error(err)
	}
}

// TestLookNeverWaits looks at the ledger while an act is under way.
func TestLookNeverWaits(t *testing.T) {
	s := opened(t, filepath.Join(t.TempDir(), "ledger"))
	admit(t, s, "HR-1")
	err := s.Act(func(w *Writer) error {
		if err := w.AddEntry(ledger.Entry{Case: "HR-1"}); err != nil {
			return err
		}
		started := time.Now()
		err := s.View(func(r *Reader) error {
			kept, err := r.Case("HR-1")
			if kept.Head != 1 {
				t.Errorf("the look sees entry %d", kept.Head)
			}
			return err
		})
		if waited := time.Since(started); waited > time.Second {
			t.Errorf("the look waited %v", waited)
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
}
