package sqlite

import (
	"path/filepath"
	"strings"
	"testing"

	sqlite3 "modernc.org/sqlite/lib"

	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// guardedLedger has a case with two visits in a row and one of everything else.
func guardedLedger(t *testing.T) *Store {
	t.Helper()
	s := opened(t, filepath.Join(t.TempDir(), "ledger"))
	admit(t, s, "HR-1", "HR-2")
	book(t, s, "HR-1", 0, 1)
	record(t, s, "HR-1")
	return s
}

// record writes an approval, an override and a contact about the first visit.
func record(t *testing.T, s *Store, id graft.CaseID) {
	t.Helper()
	err := s.Act(func(w *Writer) error {
		e := ledger.Entry{Case: id}
		if err := w.AddApproval(ledger.Approval{Case: id, Revision: 1}, e); err != nil {
			return err
		}
		if err := w.AddOverride(ledger.Override{Case: id, Revision: 1}, e); err != nil {
			return err
		}
		return w.AddContact(ledger.Contact{Case: id, Outcome: ledger.NoAnswer, Visit: 1}, e)
	})
	if err != nil {
		t.Fatal(err)
	}
}

// TestTablesGuardThemselves writes past the program, as another one would.
func TestTablesGuardThemselves(t *testing.T) {
	s := guardedLedger(t)
	refused := []string{`DELETE FROM cases`, `DELETE FROM visits`, `UPDATE cases SET case_id = 'x'`, `UPDATE cases SET current_revision = 5`, `UPDATE cases SET current_revision = 1`, `INSERT INTO cases VALUES ('HR-3', '', 2)`}
	for _, table := range []string{"revisions", "approvals", "overrides", "contacts", "history"} {
		refused = append(refused, `DELETE FROM `+table, `UPDATE `+table+` SET who = 'x'`, `UPDATE `+table+` SET at = at + 1`, `INSERT OR REPLACE INTO `+table+` SELECT * FROM `+table)
	}
	for _, column := range strings.Split("id, "+visitColumns, ", ") {
		switch column {
		case "state", "at", "who", "why": // may change
		case "id", "start", "minutes", "revision", "booked":
			refused = append(refused, `UPDATE visits SET `+column+` = `+column+` + 5`)
		default:
			refused = append(refused, `UPDATE visits SET `+column+` = 'x'`)
		}
	}
	refused = append(refused, `INSERT OR REPLACE INTO visits SELECT * FROM visits`, `INSERT INTO revisions SELECT case_id, number + 1, patient, record, timeline, rules_version, source, planned, at, who, why FROM revisions`)
	for _, statement := range refused {
		if _, err := s.db.Exec(statement); code(err) != sqlite3.SQLITE_CONSTRAINT_TRIGGER {
			t.Errorf("%s: %v", statement, err)
		}
	}
	for _, statement := range []string{`UPDATE visits SET state = 'attended', at = 5, who = 'x', why = 'y'`, `UPDATE visits SET state = 'booked'`, `UPDATE cases SET patient = 'x', current_revision = current_revision + 1`} {
		if _, err := s.db.Exec(statement); err != nil {
			t.Errorf("%s: %v", statement, err)
		}
	}
}

func TestTablesTakeNoNonsense(t *testing.T) {
	s := guardedLedger(t)
	for _, statement := range []string{
		`UPDATE visits SET state = 'planned'`,
		`UPDATE visits SET state = ''`,
		`INSERT INTO cases VALUES ('', '', 1)`,
		`INSERT INTO contacts (case_id, milestone, outcome, at, who, says) VALUES ('HR-1', '', 'perhaps', 0, '', '')`,
		`INSERT INTO contacts (case_id, milestone, visit, outcome, at, who, says) VALUES ('HR-1', '', 99, 'declined', 0, '', '')`,
		`INSERT INTO contacts (case_id, milestone, outcome, at, who, says) VALUES ('HR-9', '', 'declined', 0, '', '')`,
		`INSERT INTO approvals (case_id, revision, at, who) VALUES ('HR-1', 9, 0, '')`,
		`INSERT INTO approvals (case_id, revision, at, who) VALUES ('HR-1', 1, 'noon', '')`,
		strings.Replace(rawVisit, "'2027-03-01', 600, 20", "'2027-03-01', 1430, 20", 1),
		strings.Replace(rawVisit, "'2027-03-01', 600, 20", "'2027-03-01', -5, 20", 1),
		strings.Replace(rawVisit, "'2027-03-01', 600, 20", "'2027-03-01', 600, -5", 1),
		strings.Replace(rawVisit, "'2027-03-01', 600, 20", "'', 600, 20", 1),
	} {
		if _, err := s.db.Exec(statement); code(err)&primary != sqlite3.SQLITE_CONSTRAINT {
			t.Errorf("%s: %v", statement, err)
		}
	}
	if _, err := s.db.Exec(rawVisit); err != nil {
		t.Error(err)
	}
}

const rawVisit = `INSERT INTO visits (` + visitColumns + `) VALUES ('HR-2', 'review//', 'booked', '2027-03-01', 600, 20, 'Surgery 2', '', '', '', '', '', 1, 0, 0, '', '')`

// TestGuardHoldsWithoutTheCheck books past the check that knows names. The guard
// refuses what that check does, and the writer makes a refusal of it.
func TestGuardHoldsWithoutTheCheck(t *testing.T) {
	s := guardedLedger(t)
	for name, spoil := range map[string]func(*ledger.Visit){
		"room":           func(v *ledger.Visit) { v.Person = "" },
		"person":         func(v *ledger.Visit) { v.Room = "Surgery 2" },
		"patient":        func(v *ledger.Visit) { v.Case, v.Room, v.Person = "HR-1", "", "" },
		"its end":        func(v *ledger.Visit) { v.Start += 39 },
		"its beginning":  func(v *ledger.Visit) { v.Start -= 19 },
		"open milestone": func(v *ledger.Visit) { v.Case, v.State, v.Milestone = "HR-1", ledger.WindowHeld, "recall//0" },
	} {
		v, _ := recall("HR-2", 0, "Ida Marlow")
		spoil(&v)
		err := s.Act(func(w *Writer) error { return w.write("the visit", addVisit, visitFields(&v)...) })
		if err == nil {
			t.Errorf("%s: written", name)
		}
		wantRefusal(t, err, graft.Conflict, "the ledger does not take it")
	}
	for name, spoil := range map[string]func(*ledger.Visit){
		"after":           func(v *ledger.Visit) { v.Start += 40 },
		"before":          func(v *ledger.Visit) { v.Start -= 20 },
		"other day":       func(v *ledger.Visit) { v.Day = v.Day.AddDays(1) },
		"other room":      func(v *ledger.Visit) { v.Room, v.Person, v.Start = "Surgery 2", "Nurse Wyn Tate", v.Start+5 },
		"nobody's room":   func(v *ledger.Visit) { v.Room, v.Person, v.Start = "", "", v.Start+30 },
		"without minutes": func(v *ledger.Visit) { v.Minutes = 0 },
		"cancelled":       func(v *ledger.Visit) { v.State = ledger.Cancelled },
	} {
		v, _ := recall("HR-2", 0, "Ida Marlow")
		spoil(&v)
		v.Milestone = graft.MilestoneID(name)
		if err := s.Act(func(w *Writer) error { return w.write("the visit", addVisit, visitFields(&v)...) }); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if _, err := s.db.Exec(`UPDATE visits SET state = 'moved' WHERE milestone = ?`, name); err != nil {
			t.Error(err)
		}
	}
}

// TestGuardHoldsOnChange brings an ended visit back onto a slot that is taken.
func TestGuardHoldsOnChange(t *testing.T) {
	s := guardedLedger(t)
	v, e := recall("HR-2", 0, "Ida Marlow")
	v.State = ledger.Cancelled
	err := s.Act(func(w *Writer) (err error) { v.ID, err = w.AddVisit(v, e); return err })
	if err != nil {
		t.Fatal(err)
	}
	change := func(id int64, state ledger.State) error {
		return s.Act(func(w *Writer) error { return w.write("the visit", changeVisit, state, 0, "", "", id) })
	}
	wantRefusal(t, change(v.ID, ledger.Booked), graft.Conflict, "the ledger does not take it")
	if _, err := s.db.Exec(`UPDATE visits SET state = 'booked' WHERE id = ?`, v.ID); code(err) != sqlite3.SQLITE_CONSTRAINT_TRIGGER {
		t.Error(err)
	}
	if err := change(1, ledger.Moved); err != nil {
		t.Fatal(err)
	}
	if err := change(v.ID, ledger.Booked); err != nil {
		t.Error(err)
	}
	wantRefusal(t, change(1, ledger.Booked), graft.Conflict, "the ledger does not take it")
}
