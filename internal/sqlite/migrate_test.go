package sqlite

import (
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/ledger"
)

// TestEveryEarlierVersionIsBroughtUpToDate makes a ledger as each earlier version
// had it, with rows, and opens it: the rows are there and the tables are those of
// a new ledger.
func TestEveryEarlierVersionIsBroughtUpToDate(t *testing.T) {
	scripts, err := migrations()
	if err != nil {
		t.Fatal(err)
	}
	if len(scripts) < 2 {
		t.Fatal("there is no earlier version")
	}
	fresh := opened(t, filepath.Join(t.TempDir(), "new"))
	for version := 1; version < len(scripts); version++ {
		path := filepath.Join(t.TempDir(), "ledger")
		earlier, err := openAt(path, scripts[:version])
		if err != nil {
			t.Fatal(err)
		}
		admit(t, earlier, "HR-1", "HR-2")
		book(t, earlier, "HR-1", 0, 1, 2)
		want := kept(t, earlier)
		earlier.Close()
		if c, err := Check(path); err != nil || c.Version != version {
			t.Errorf("version %d: %+v, %v", version, c, err)
		}
		s := opened(t, path)
		if diff := cmp.Diff(want, kept(t, s)); diff != "" {
			t.Errorf("version %d:\n%s", version, diff)
		}
		if diff := cmp.Diff(schema(t, fresh.db), schema(t, s.db)); diff != "" {
			t.Errorf("version %d:\n%s", version, diff)
		}
		if found, err := s.Integrity(); err != nil || len(found) > 0 {
			t.Errorf("version %d: %v, %v", version, found, err)
		}
		book(t, s, "HR-2", 3)
	}
}

// kept returns the lines of the ledger that a migration must not lose.
func kept(t *testing.T, s *Store) (lines []string) {
	t.Helper()
	err := s.View(func(r *Reader) error {
		cases, err := r.Cases()
		revisions, err2 := r.Current()
		visits, err3 := r.AllVisits()
		entries, err4 := r.History("")
		lines = []string{fmt.Sprint(cases), fmt.Sprint(revisions), fmt.Sprint(visits), fmt.Sprint(entries)}
		return errors.Join(err, err2, err3, err4)
	})
	if err != nil {
		t.Fatal(err)
	}
	return lines
}

func schema(t *testing.T, db *sql.DB) (lines []string) {
	t.Helper()
	rows, err := db.Query(`SELECT type || ' ' || name || ': ' || coalesce(sql, '') FROM sqlite_schema ORDER BY 1`)
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

// TestMigrationThatFailsLeavesTheVersionBefore runs a script that breaks off.
func TestMigrationThatFailsLeavesTheVersionBefore(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger")
	s := opened(t, path)
	admit(t, s, "HR-1")
	before := schema(t, s.db)
	scripts, _ := migrations()
	if _, err := openAt(path, append(scripts, `CREATE TABLE half (x TEXT) STRICT; CREATE TABLE half (x TEXT) STRICT`)); err == nil {
		t.Fatal("it did not fail")
	}
	if diff := cmp.Diff(before, schema(t, s.db)); diff != "" {
		t.Error(diff)
	}
	if err := s.Act(func(w *Writer) error { return w.AddEntry(ledger.Entry{}) }); err != nil {
		t.Error(err)
	}
}
