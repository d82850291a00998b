package sqlite

import (
	"fmt"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	sqlite3 "modernc.org/sqlite/lib"

	"graftclock/internal/ledger"
)

// beforeUnderWay is the last version in which no visit could be under way to a shared
// calendar.
const beforeUnderWay = 4

// TestWhatStoodInACalendarStaysWhole brings a ledger up to date that has rows of every
// state a visit could have in a shared calendar before it could be under way, under
// numbers with gaps: each row is there as it was, and the next one gets the next number.
func TestWhatStoodInACalendarStaysWhole(t *testing.T) {
	scripts, err := migrations()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "ledger")
	earlier, err := openAt(path, scripts[:beforeUnderWay])
	if err != nil {
		t.Fatal(err)
	}
	admit(t, earlier, "HR-1", "HR-2")
	shelve(t, earlier, ledger.AsPut, ledger.ChangedThere, ledger.AsPut, ledger.GoneThere, ledger.TakenDown)
	const far = `INSERT INTO shelved (id, calendar, case_id, milestone, path, etag, event, state, at) VALUES (40, 'other', 'HR-2', 'review//', 'é', '', x'00ff', 'as put', -5)`
	if _, err := earlier.db.Exec(far); err != nil {
		t.Fatal(err)
	}
	const underWay = `INSERT INTO shelved (` + shelvedColumns + `) VALUES ('desk', 'HR-1', 'review//', '', '', x'', 'under way', 0)`
	if _, err := earlier.db.Exec(underWay); code(err)&primary != sqlite3.SQLITE_CONSTRAINT {
		t.Errorf("version %d takes a row under way: %v", beforeUnderWay, err)
	}
	want := shelvedRows(t, earlier)
	earlier.Close()

	s := opened(t, path)
	if diff := cmp.Diff(want, shelvedRows(t, s)); diff != "" || len(want) != 11 {
		t.Errorf("%d rows (-before +after):\n%s", len(want), diff)
	}
	if found, err := s.Integrity(); err != nil || len(found) > 0 {
		t.Errorf("%v, %v", found, err)
	}
	shelve(t, s, ledger.UnderWayThere)
	next := []string{
		fmt.Sprintf(`41|desk|HR-1|review//|/desk/1.ics|"1"|7B7D|under way|%d`, noon.Unix()),
		fmt.Sprintf(`42|desk|HR-2|review//|/desk/1.ics|||under way|%d`, noon.Unix()),
	}
	if diff := cmp.Diff(append(want, next...), shelvedRows(t, s)); diff != "" {
		t.Errorf("after the next rows (-want +got):\n%s", diff)
	}
}

// shelve writes a row of each state, for two cases.
func shelve(t *testing.T, s *Store, states ...ledger.ShelfState) {
	t.Helper()
	err := s.Act(func(w *Writer) error {
		for _, state := range states {
			row := ledger.Shelved{Calendar: "desk", Case: "HR-1", Milestone: "review//", Path: "/desk/1.ics", ETag: `"1"`, Event: []byte("{}"), State: state, At: noon}
			if err := w.AddShelved(row); err != nil {
				return err
			}
			row.Case, row.ETag, row.Event = "HR-2", "", nil
			if err := w.AddShelved(row); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// shelvedRows returns every row there ever was, with its number.
func shelvedRows(t *testing.T, s *Store) (lines []string) {
	t.Helper()
	rows, err := s.db.Query(`SELECT id || '|' || calendar || '|' || case_id || '|' || milestone || '|' || path || '|' || etag || '|' || hex(event) || '|' || state || '|' || at FROM shelved ORDER BY id`)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
		var line string
		if err := rows.Scan(&line); err != nil {
			t.Fatal(err)
		}
		lines = append(lines, line)
	}
	return lines
}
