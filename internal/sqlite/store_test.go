package sqlite

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/desk/storetest"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

func TestStoreKeepsItsPromises(t *testing.T) {
	storetest.Run(t, func(t *testing.T) (first, second desk.Store) {
		path := filepath.Join(t.TempDir(), "ledger")
		return desk.Keep(opened(t, path)), desk.Keep(opened(t, path))
	})
}

// opened opens a ledger until the end of the test.
func opened(t testing.TB, path string) *Store {
	t.Helper()
	s, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

var noon = time.Date(2027, time.January, 14, 12, 0, 0, 0, time.UTC)

// admit keeps the first revision of cases.
func admit(t testing.TB, s *Store, ids ...graft.CaseID) {
	t.Helper()
	err := s.Act(func(w *Writer) error {
		for _, id := range ids {
			r := ledger.Revision{Case: id, Number: 1, Patient: "Teni Okafor", Record: []byte("case: " + id), Timeline: []byte("{}"), On: day.Of(noon), At: noon, By: "Dr Alba Quill"}
			if err := w.AddRevision(r, ledger.Entry{At: noon, Case: id, What: "admit"}); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// recall is a booked visit of its own milestone, 20 minutes long, on the n-th
// time from 2027-01-14 08:00 on.
func recall(id graft.CaseID, n int, by string) (ledger.Visit, ledger.Entry) {
	const aDay = 24
	v := ledger.Visit{
		Case: id, Milestone: graft.MilestoneIDOf(graft.Recall, "", fmt.Sprint(n)), State: ledger.Booked, Revision: 1, Booked: noon, At: noon, By: by,
		Slot: graft.Slot{Day: day.Of(noon).AddDays(n / aDay), Start: day.Clock(8*60 + n%aDay*20), Minutes: 20, Room: "Surgery 1", Person: "Dr Alba Quill"},
	}
	return v, ledger.Entry{At: noon, By: ledger.Person{Name: by}, Case: id, Milestone: v.Milestone, What: "book"}
}

// book books recalls in an act of their own each.
func book(t testing.TB, s *Store, id graft.CaseID, numbers ...int) {
	t.Helper()
	for _, n := range numbers {
		if err := bookOne(s, id, n, "Ida Marlow"); err != nil {
			t.Fatal(err)
		}
	}
}

func bookOne(s *Store, id graft.CaseID, n int, by string) error {
	return s.Act(func(w *Writer) error {
		_, err := w.AddVisit(recall(id, n, by))
		return err
	})
}

// wantRefusal wants a refusal of a kind that says the words.
func wantRefusal(t testing.TB, err error, kind graft.RefusalKind, words string) {
	t.Helper()
	var refusal *graft.Refusal
	if !errors.As(err, &refusal) || refusal.Kind != kind || !strings.Contains(refusal.Message, words) {
		t.Errorf("%v; want a refusal of kind %q that says %q", err, kind, words)
	}
}

func TestFilesAreForTheirOwnerOnly(t *testing.T) {
	folder := t.TempDir()
	s := opened(t, filepath.Join(folder, "ledger"))
	admit(t, s, "HR-1")
	if err := s.Backup(filepath.Join(folder, "backup")); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"ledger", "ledger-wal", "ledger-shm", "backup"} {
		info, err := os.Stat(filepath.Join(folder, name))
		if err != nil {
			t.Error(err)
		} else if info.Mode().Perm() != ownerOnly {
			t.Errorf("%s has mode %v", name, info.Mode())
		}
	}
}

func TestLastToCloseLeavesOneFile(t *testing.T) {
	folder := t.TempDir()
	first, second := opened(t, filepath.Join(folder, "ledger")), opened(t, filepath.Join(folder, "ledger"))
	admit(t, first, "HR-1")
	first.View(func(r *Reader) error { _, err := r.Cases(); return err })
	first.Close()
	second.Close()
	if entries, _ := os.ReadDir(folder); len(entries) != 1 {
		t.Errorf("left: %v", entries)
	}
}

func TestPathsOfEveryKindWork(t *testing.T) {
	for _, name := range []string{"a?b=c&d", "a#b", "100%", "%41", "%3f", "a b", "Ärztin 中文 🦷", "+;:@'\"", ":memory:", "file:x?mode=memory", "-wal"} {
		path := filepath.Join(t.TempDir(), name)
		s := opened(t, path)
		admit(t, s, "HR-1")
		if err := s.Backup(path + " copy"); err != nil {
			t.Errorf("%q: %v", name, err)
		}
		s.Close()
		if before, err := Restore(path+" copy", path); err != nil || before != path+".before-1" {
			t.Errorf("%q: %q, %v", name, before, err)
		}
		if entries, _ := os.ReadDir(filepath.Dir(path)); len(entries) != 3 {
			t.Errorf("%q: left %v", name, entries)
		}
		admit(t, opened(t, path), "HR-2")
	}
}

func TestRelativePathMeansTheFolderOfTheDay(t *testing.T) {
	t.Chdir(t.TempDir())
	s := opened(t, "ledger")
	t.Chdir(t.TempDir())
	admit(t, s, "HR-1")
	if err := s.Backup("copy"); err != nil {
		t.Fatal(err)
	}
	if c, err := Check("copy"); err != nil || c.Cases != 1 {
		t.Errorf("%+v, %v", c, err)
	}
}

// foreign are files that Open and Restore must leave alone, with what they say.
func foreign(t *testing.T) map[string]string {
	t.Helper()
	folder := t.TempDir()
	paths := map[string]string{}
	raw := func(name, says string, statements ...string) {
		db, err := sql.Open("sqlite", filepath.Join(folder, name))
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		for _, s := range statements {
			if _, err := db.Exec(s); err != nil {
				t.Fatal(err)
			}
		}
		paths[filepath.Join(folder, name)] = says
	}
	const table = `CREATE TABLE recipes (name TEXT); INSERT INTO recipes VALUES ('soup')`
	raw("database", "another program's database", table)
	raw("shared database", "another program's database", `PRAGMA journal_mode = WAL`, table)
	raw("marked database", "another program's database", table, `PRAGMA application_id = 77`)
	raw("versioned database", "another program's database", `PRAGMA user_version = 2`)
	raw("newer ledger", "newer graftclock: its tables are version 99", table, fmt.Sprintf(`PRAGMA application_id = %d`, applicationID), `PRAGMA user_version = 99`)
	for name, content := range map[string]string{"letter": "x", "text": "Dear colleague,\n", "long text": strings.Repeat("Dear colleague,\n", 1000), "zeros": strings.Repeat("\x00", 8192)} {
		path := filepath.Join(folder, name)
		if err := os.WriteFile(path, []byte(content), 0o644); err != nil {
			t.Fatal(err)
		}
		paths[path] = "no database of SQLite"
	}
	return paths
}

func TestForeignFilesStayUntouched(t *testing.T) {
	paths := foreign(t)
	for path, says := range paths {
		before, _ := os.ReadFile(path)
		_, err := Open(path)
		wantRefusal(t, err, graft.Invalid, says)
		_, err = Check(path)
		wantRefusal(t, err, graft.Invalid, says)
		_, err = Restore(path, filepath.Join(t.TempDir(), "ledger"))
		wantRefusal(t, err, graft.Invalid, says)
		if after, _ := os.ReadFile(path); !bytes.Equal(before, after) {
			t.Errorf("%s was changed", path)
		}
		if entries, _ := os.ReadDir(filepath.Dir(path)); len(entries) != len(paths) {
			t.Errorf("%s: files lie beside it: %v", path, entries)
		}
	}
}

func TestOpenSaysWhatIsWrongWithAPath(t *testing.T) {
	folder := t.TempDir()
	if _, err := Open(filepath.Join(folder, "no", "ledger")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("folder that is not there: %v", err)
	}
	if _, err := Open(folder); err == nil {
		t.Error("a folder was opened")
	}
	empty := filepath.Join(folder, "empty")
	os.WriteFile(empty, nil, 0o600)
	admit(t, opened(t, empty), "HR-1")
}

func TestLinkToALedgerIsFollowed(t *testing.T) {
	folder := t.TempDir()
	path, link := filepath.Join(folder, "ledger"), filepath.Join(t.TempDir(), "link")
	if err := os.Symlink(path, link); err != nil {
		t.Skip(err)
	}
	s := opened(t, link)
	admit(t, s, "HR-1")
	admit(t, opened(t, path), "HR-2")
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != ownerOnly {
		t.Errorf("%v, %v", info, err)
	}
}

// TestProgramThatGrewOldMeanwhile lets a newer program bring the ledger up to date
// while an older one has it open.
func TestProgramThatGrewOldMeanwhile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger")
	old := opened(t, path)
	scripts, err := migrations()
	if err != nil {
		t.Fatal(err)
	}
	young, err := openAt(path, append(scripts, `CREATE TABLE more (x TEXT) STRICT`))
	if err != nil {
		t.Fatal(err)
	}
	defer young.Close()
	wantRefusal(t, old.Act(func(*Writer) error { return nil }), graft.Invalid, "newer graftclock")
	wantRefusal(t, old.View(func(*Reader) error { return nil }), graft.Invalid, "newer graftclock")
	_, err = Open(path)
	wantRefusal(t, err, graft.Invalid, "newer graftclock")
}

// TestManyFirstOpens opens a ledger that is not there from many goroutines at
// once; children of other processes do the same in TestProcessesOpenFirst.
func TestManyFirstOpens(t *testing.T) {
	for round := range rounds(10) {
		path := filepath.Join(t.TempDir(), "ledger")
		var wait sync.WaitGroup
		for n := range 12 {
			wait.Go(func() {
				s, err := Open(path)
				if err != nil {
					t.Errorf("round %d: %v", round, err)
					return
				}
				defer s.Close()
				if err := s.Act(func(w *Writer) error { return w.AddEntry(ledger.Entry{What: fmt.Sprint(n)}) }); err != nil {
					t.Errorf("round %d: %v", round, err)
				}
			})
		}
		wait.Wait()
		if c, err := Check(path); err != nil || c.Entries != 12 || len(c.Faults) > 0 {
			t.Errorf("round %d: %+v, %v", round, c, err)
		}
	}
}
