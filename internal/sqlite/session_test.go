package sqlite

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	sqlite3 "modernc.org/sqlite/lib"

	"graftclock/internal/ledger"
)

// signedIn writes one of everything that belongs to a sign-in.
func signedIn(t testing.TB, s *Store) {
	t.Helper()
	err := s.Act(func(w *Writer) error {
		e := ledger.Entry{By: ledger.Person{Name: "Ida Marlow"}}
		if err := w.SetAccount(ledger.Account{Name: "Ida Marlow", Hash: "$hash", Version: 2, At: noon, By: "Dr Alba Quill"}, e); err != nil {
			return err
		}
		if err := w.AddFeed(ledger.Feed{Token: "the desk's", At: noon}, e); err != nil {
			return err
		}
		if err := w.RevokeFeed(ledger.Feed{Revoked: noon}, e); err != nil {
			return err
		}
		if err := w.AddFeed(ledger.Feed{Token: "the next", At: noon}, e); err != nil {
			return err
		}
		return w.SetDraft(ledger.Draft{Who: "Ida Marlow", Form: "record", Fields: []byte("typed by Ida"), At: noon})
	})
	if err != nil {
		t.Fatal(err)
	}
}

// clock is a clock that a test sets.
type clock struct{ time.Time }

func (c *clock) now() time.Time { return c.Time }

func TestSessionsAreKeptUntilTheyRunOut(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger")
	at := &clock{noon}
	first, second := opened(t, path).Sessions(at.now), opened(t, path).Sessions(at.now)
	want := func(what, token string, b []byte) {
		t.Helper()
		got, found, err := second.Find(token)
		if err != nil || found != (b != nil) || !bytes.Equal(got, b) {
			t.Errorf("%s: %q, %v, %v; want %q", what, got, found, err, b)
		}
	}
	commit := func(token, data string, lasts time.Duration) {
		t.Helper()
		if err := first.Commit(token, []byte(data), noon.Add(lasts)); err != nil {
			t.Fatal(err)
		}
	}
	want("one that never was", "a", nil)
	commit("a", "\x00\xff of a", time.Hour)
	commit("b", "of b", 2*time.Hour)
	want("kept", "a", []byte("\x00\xff of a"))
	commit("a", "", 3*time.Hour)
	want("kept anew, empty", "a", []byte{})
	if err := first.Delete("a"); err != nil {
		t.Fatal(err)
	}
	if err := first.Delete("a"); err != nil {
		t.Errorf("to delete what is not there: %v", err)
	}
	want("deleted", "a", nil)
	at.Time = noon.Add(2*time.Hour - time.Second)
	want("a second before its end", "b", []byte("of b"))
	at.Time = noon.Add(2 * time.Hour)
	want("at its end", "b", nil)
	if n := count(t, first.store, "sessions"); n != 1 {
		t.Errorf("%d sessions before the next is kept", n)
	}
	commit("c", "of c", 4*time.Hour)
	if n := count(t, first.store, "sessions"); n != 1 {
		t.Errorf("%d sessions after it: the one that ran out stays", n)
	}
	want("the next", "c", []byte("of c"))
	if first.Commit("", nil, noon.Add(9*time.Hour)) == nil {
		t.Error("a session without a token is kept")
	}
}

func count(t testing.TB, s *Store, table string) (n int) {
	t.Helper()
	if err := s.db.QueryRow(`SELECT count(*) FROM ` + table).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

// TestCopyHoldsNobodysSession looks for sessions and drafts in every byte of a copy,
// which has all else, and finds them in the ledger as before.
func TestCopyHoldsNobodysSession(t *testing.T) {
	folder := t.TempDir()
	s := opened(t, filepath.Join(folder, "ledger"))
	admit(t, s, "HR-1")
	signedIn(t, s)
	at := &clock{noon}
	const token, data = "token of a session", "what the session holds"
	long := []byte(strings.Repeat(data, 5000)) // over many pages
	if err := s.Sessions(at.now).Commit(token, long, noon.Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(folder, "copy")
	if err := s.Backup(path); err != nil {
		t.Fatal(err)
	}
	if entries, _ := filepath.Glob(path + "*"); len(entries) != 1 {
		t.Errorf("the copy is more than one file: %v", entries)
	}
	bytesOf, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, secret := range []string{token, data, "typed by Ida"} {
		if bytes.Contains(bytesOf, []byte(secret)) {
			t.Errorf("the copy holds %q", secret)
		}
	}
	if c, err := Check(path); err != nil || len(c.Faults) > 0 || c.Cases != 1 {
		t.Errorf("%+v, %v", c, err)
	}
	copied := opened(t, path)
	for table, want := range map[string]int{"sessions": 0, "drafts": 0, "accounts": 1, "desk_feeds": 2, "served": 2, "cases": 1} {
		if n := count(t, copied, table); n != want {
			t.Errorf("%d rows of %s in the copy, want %d", n, table, want)
		}
	}
	if b, found, err := s.Sessions(at.now).Find(token); !found || err != nil || !bytes.Equal(b, long) || count(t, s, "drafts") != 1 {
		t.Errorf("the ledger itself lost something: %v, %v", found, err)
	}
}

// TestSignInTablesGuardThemselves writes past the program, as another one would.
func TestSignInTablesGuardThemselves(t *testing.T) {
	s := opened(t, filepath.Join(t.TempDir(), "ledger"))
	signedIn(t, s)
	for _, statement := range []string{
		`DELETE FROM accounts`, `UPDATE accounts SET name = 'x'`, `UPDATE accounts SET version = 1`,
		`INSERT OR REPLACE INTO accounts SELECT name, hash, 1, at, who, ended FROM accounts`,
		`DELETE FROM served`, `UPDATE served SET token = 'x'`, `UPDATE served SET hash = zeroblob(32)`,
		`INSERT OR REPLACE INTO served SELECT * FROM served`, `INSERT OR REPLACE INTO served SELECT zeroblob(32), token FROM served LIMIT 1`,
		`INSERT OR REPLACE INTO served SELECT hash, 'x' FROM served LIMIT 1`,
		`DELETE FROM desk_feeds`, `INSERT OR REPLACE INTO desk_feeds SELECT * FROM desk_feeds`,
		`UPDATE desk_feeds SET person = 'x', revoked = 5, revoked_by = 'x' WHERE revoked IS NULL`,
		`UPDATE desk_feeds SET token = 'x', revoked = 5, revoked_by = 'x' WHERE revoked IS NULL`,
		`UPDATE desk_feeds SET at = 5, revoked = 5, revoked_by = 'x' WHERE revoked IS NULL`,
		`UPDATE desk_feeds SET who = 'x', revoked = 5, revoked_by = 'x' WHERE revoked IS NULL`,
		`UPDATE desk_feeds SET id = 9, revoked = 5, revoked_by = 'x' WHERE revoked IS NULL`,
		`UPDATE desk_feeds SET revoked = revoked + 1 WHERE revoked > 0`,
		`UPDATE OR REPLACE desk_feeds SET revoked = NULL, revoked_by = NULL WHERE revoked > 0`,
		`INSERT OR REPLACE INTO desk_feeds (person, token, at, who) SELECT person, token, at, who FROM desk_feeds WHERE revoked > 0`,
		`INSERT OR REPLACE INTO desk_feeds (person, token, at, who) VALUES ('', 'another', 0, '')`,
		`INSERT INTO desk_feeds (person, token, at, who, revoked, revoked_by) VALUES ('x', 'another', 0, '', 0, '')`,
	} {
		if _, err := s.db.Exec(statement); code(err) != sqlite3.SQLITE_CONSTRAINT_TRIGGER {
			t.Errorf("%s: %v", statement, err)
		}
	}
	for _, statement := range []string{
		`INSERT INTO accounts VALUES ('', '$', 1, 0, '', NULL)`, `INSERT INTO accounts VALUES ('x', '$', 0, 0, '', NULL)`,
		`INSERT INTO accounts VALUES ('x', '', 1, 0, '', NULL)`, `INSERT INTO accounts VALUES ('x', '$', 1, 0, '', 5)`, `UPDATE accounts SET hash = ''`, `UPDATE accounts SET ended = 5`,
		`INSERT INTO drafts VALUES ('', 'x', x'', 0)`, `INSERT INTO drafts VALUES ('x', '', x'', 0)`, `INSERT INTO drafts VALUES ('x', 'x', 'text', 0)`,
		`INSERT INTO sessions VALUES ('', x'', 0)`, `INSERT INTO sessions VALUES ('x', x'', 'noon')`,
		`INSERT INTO served VALUES (zeroblob(31), 'x')`, `INSERT INTO served VALUES (zeroblob(32), '')`,
		`INSERT INTO desk_feeds (person, token, at, who) VALUES ('x', 'nobody hands it out', 0, '')`,
	} {
		if _, err := s.db.Exec(statement); code(err)&0xff != sqlite3.SQLITE_CONSTRAINT {
			t.Errorf("%s: %v", statement, err)
		}
	}
	for _, statement := range []string{`UPDATE accounts SET hash = '', ended = 5`, `UPDATE desk_feeds SET revoked = 5, revoked_by = 'x' WHERE revoked IS NULL`, `DELETE FROM drafts`} {
		if _, err := s.db.Exec(statement); err != nil {
			t.Errorf("%s: %v", statement, err)
		}
	}
}

// TestTokensAreLookedForByHash holds the question to the index of hashes: to look
// through tokens would tell by its time how much of one is right.
func TestTokensAreLookedForByHash(t *testing.T) {
	s := opened(t, filepath.Join(t.TempDir(), "ledger"))
	rows, err := s.db.Query(`EXPLAIN QUERY PLAN `+feedOfToken, hashOf("x"), hashOf("x"))
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var plan []string
	for rows.Next() {
		var id, parent, unused int
		var detail string
		if err := rows.Scan(&id, &parent, &unused, &detail); err != nil {
			t.Fatal(err)
		}
		plan = append(plan, detail)
	}
	if said := strings.Join(plan, "\n"); strings.Count(said, "SEARCH s USING PRIMARY KEY (hash=?)") != 2 || strings.Contains(said, "SCAN") {
		t.Error(said)
	}
}
