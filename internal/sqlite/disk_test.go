package sqlite

import (
	"errors"
	"path/filepath"
	"strings"
	"testing"

	sqlite3 "modernc.org/sqlite/lib"

	"graftclock/internal/ledger"
)

// TestAFullDiskIsNamed lets the ledger grow by no page more, which SQLite answers as it
// does on a full disk (https://www.sqlite.org/pragma.html, max_page_count).
func TestAFullDiskIsNamed(t *testing.T) {
	path := filepath.Join(t.TempDir(), "clinic.ledger")
	s := opened(t, path)
	admit(t, s, "HR-1")
	s.db.SetMaxOpenConns(1)
	if _, err := s.db.Exec(`PRAGMA max_page_count = 1`); err != nil {
		t.Fatal(err)
	}
	err := s.Act(func(w *Writer) error {
		return w.AddEntry(ledger.Entry{Case: "HR-1", What: "note", Why: strings.Repeat("long ", 10000)})
	})
	var disk *DiskError
	if !errors.As(err, &disk) || disk.Path != path || err.Error() != "the disk of "+path+" is full" {
		t.Errorf("got %v, want an error of the disk of %s", err, path)
	}
	if code(err)&primary != sqlite3.SQLITE_FULL {
		t.Errorf("what SQLite said is lost: %v", err)
	}
}
