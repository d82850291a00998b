package sqlite

import (
	"bytes"
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
		record(t, earlier, "HR-1")
		var key []byte
		if version >= keyed {
			giveOut(t, earlier, "HR-1")
			key = keyOf(t, earlier)
		}
		want := kept(t, earlier, version)
		earlier.Close()
		if c, err := Check(path); err != nil || c.Version != version {
			t.Errorf("version %d: %+v, %v", version, c, err)
		}
		s := opened(t, path)
		if diff := cmp.Diff(want, kept(t, s, version)); diff != "" {
			t.Errorf("version %d:\n%s", version, diff)
		}
		if got := keyOf(t, s); version >= keyed && !bytes.Equal(got, key) {
			t.Errorf("version %d: the key became %x, was %x", version, got, key)
		}
		if diff := cmp.Diff(schema(t, fresh.db), schema(t, s.db)); diff != "" {
			t.Errorf("version %d:\n%s", version, diff)
		}
		if found, err := s.Integrity(); err != nil || len(found) > 0 {
			t.Errorf("version %d: %v, %v", version, found, err)
		}
		book(t, s, "HR-2", 3)
		giveOut(t, s, "HR-2")
		signedIn(t, s)
	}
}

// kept returns the lines of the ledger, as far as a version has them, that a
// migration must not lose.
func kept(t *testing.T, s *Store, version int) (lines []string) {
	t.Helper()
	err := s.View(func(r *Reader) error {
		cases, err := r.Cases()
		revisions, err2 := r.Current()
		visits, err3 := r.AllVisits()
		entries, err4 := r.History("")
		approvals, err5 := r.Approvals("HR-1")
		overrides, err6 := r.Overrides("HR-1")
		contacts, err7 := r.Contacts("HR-1")
		lines = said(cases, revisions, visits, entries, approvals, overrides, contacts)
		return errors.Join(err, err2, err3, err4, err5, err6, err7)
	})
	if err != nil {
		t.Fatal(err)
	}
	if version >= keyed {
		lines = append(lines, givenOut(t, s)...)
	}
	return lines
}

func givenOut(t *testing.T, s *Store) (lines []string) {
	t.Helper()
	err := s.View(func(r *Reader) error {
		issues, err := r.Issues("HR-1")
		messages, err2 := r.Invitations("HR-1")
		feeds, err3 := r.Feeds("")
		shelved, err4 := r.Shelved("desk", "")
		token, err5 := r.SyncToken("desk")
		lines = said(issues, messages, feeds, shelved, token)
		return errors.Join(err, err2, err3, err4, err5)
	})
	if err != nil {
		t.Fatal(err)
	}
	return lines
}

// said puts lists into words, one a line; an empty one shows that a test lacks rows.
func said(lists ...any) (lines []string) {
	for _, l := range lists {
		lines = append(lines, fmt.Sprint(l))
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
