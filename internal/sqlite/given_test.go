package sqlite

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	sqlite3 "modernc.org/sqlite/lib"

	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// giveOut writes one of everything that is given out of a case: an issue, a message
// that was sent and one under way, a feed that was revoked and one that stands, and
// a row and the token of a shared calendar.
func giveOut(t testing.TB, s *Store, id graft.CaseID) {
	t.Helper()
	err := s.Act(func(w *Writer) error {
		e := ledger.Entry{Case: id, By: ledger.Person{Name: "Ida Marlow"}}
		sent := ledger.Invitation{Case: id, Milestone: "review//", Revision: 1, Method: ledger.Request, State: ledger.UnderWay, At: noon}
		number, err := w.AddInvitation(sent)
		if err != nil {
			return err
		}
		under := sent
		sent.ID, sent.State = number, ledger.Sent
		f := ledger.Feed{Case: id, Token: "old " + string(id), Folder: "/srv/feeds", At: noon, Revoked: noon.Add(time.Hour)}
		for _, write := range []func() error{
			func() error { return w.EndInvitation(sent, e) },
			func() error { _, err := w.AddInvitation(under); return err },
			func() error { return w.AddFeed(f, e) },
			func() error { return w.RevokeFeed(f, e) },
			func() error { f.Token = "new " + string(id); return w.AddFeed(f, e) },
			func() error {
				return w.AddIssue(ledger.Issue{Case: id, Milestone: "review//", Audience: graft.ForDesk, Revision: 1, At: noon})
			},
			func() error {
				return w.AddShelved(ledger.Shelved{Calendar: "desk", Case: id, Milestone: "review//", State: ledger.AsPut, At: noon})
			},
			func() error { return w.SetSyncToken("desk", "1") },
		} {
			if err := write(); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func keyOf(t testing.TB, s *Store) (key []byte) {
	t.Helper()
	err := s.View(func(r *Reader) (err error) { key, err = r.CalendarKey(); return err })
	if err != nil || len(key) != keyBytes || bytes.Equal(key, make([]byte, keyBytes)) {
		t.Errorf("the calendar key is %x, %v", key, err)
	}
	return key
}

// TestTablesGuardWhatWasGivenOut writes past the program, as another one would.
func TestTablesGuardWhatWasGivenOut(t *testing.T) {
	s := guardedLedger(t)
	giveOut(t, s, "HR-1")
	var refused []string
	for table, columns := range map[string]string{
		"issues":      issueColumns,
		"invitations": "id, case_id, milestone, revision, method, sequence, recipient, message_id, event",
		"feeds":       "id, " + feedColumns,
		"shelved":     shelvedColumns,
		"keys":        "name, value",
	} {
		refused = append(refused, `DELETE FROM `+table, `INSERT OR REPLACE INTO `+table+` SELECT * FROM `+table)
		for _, column := range strings.Split(columns, ", ") {
			refused = append(refused,
				`UPDATE `+table+` SET `+column+` = CASE typeof(`+column+`) WHEN 'integer' THEN `+column+` + 5 WHEN 'blob' THEN zeroblob(32) ELSE 'x' END`+changing[table])
		}
	}
	refused = append(refused,
		`UPDATE invitations SET says = 'x' WHERE state = 'under way'`,
		`UPDATE invitations SET state = 'failed' WHERE state = 'sent'`,
		`UPDATE invitations SET at = 5, who = 'x', says = 'y' WHERE state = 'sent'`,
		`UPDATE OR REPLACE invitations SET state = 'under way' WHERE state = 'sent'`,
		`UPDATE feeds SET revoked = revoked + 1, revoked_by = 'x' WHERE revoked > 0`,
		`UPDATE OR REPLACE feeds SET revoked = NULL, revoked_by = NULL WHERE revoked > 0`,
		`UPDATE feeds SET revoked_by = NULL WHERE revoked IS NULL`,
		replacing("invitations", invitationColumns, `WHERE state = 'under way'`),
		`INSERT INTO invitations (`+invitationColumns+`) VALUES ('HR-1', 'other', 1, 'request', 0, '', '', x'', 'sent', 0, '', '')`,
		replacing("feeds", feedColumns, `WHERE revoked > 0`),
		replacing("feeds", "case_id, token, folder, at, who, revoked, revoked_by", `WHERE revoked > 0`),
		`INSERT OR REPLACE INTO feeds (case_id, token, folder, at, who) VALUES ('HR-1', 'next', '', 0, '')`,
		`INSERT OR REPLACE INTO feeds (case_id, token, folder, at, who) VALUES ('HR-2', 'old HR-1', '', 0, '')`,
		`INSERT INTO feeds (case_id, token, folder, at, who, revoked, revoked_by) VALUES ('HR-2', 'x', '', 0, '', 0, '')`,
		`INSERT OR IGNORE INTO keys VALUES ('calendar', zeroblob(32))`,
		// What stood open before there were calendars.
		strings.Replace(replacing("visits", visitColumns, `WHERE id = 2`), "minutes, room, person, not_before, earliest, target, latest, revision, booked, at, who, why FROM", "0, room, person, not_before, earliest, target, latest, revision, booked, at, who, why FROM", 1),
		`INSERT OR REPLACE INTO cases VALUES ('HR-1', '', 7)`,
	)
	for _, statement := range refused {
		if _, err := s.db.Exec(statement); code(err) != sqlite3.SQLITE_CONSTRAINT_TRIGGER {
			t.Errorf("%s: %v", statement, err)
		}
	}
	for _, statement := range []string{
		`UPDATE invitations SET state = 'failed', at = 5, who = 'x', says = 'y' WHERE state = 'under way'`,
		`UPDATE feeds SET revoked = 5, revoked_by = 'x' WHERE revoked IS NULL`,
		`UPDATE sync_tokens SET token = 'x'`,
	} {
		if _, err := s.db.Exec(statement); err != nil {
			t.Errorf("%s: %v", statement, err)
		}
	}
}

// changing turns the change of a column into one that would be allowed without it.
var changing = map[string]string{
	"invitations": `, state = 'failed' WHERE state = 'under way'`,
	"feeds":       `, revoked = 5, revoked_by = 'x' WHERE revoked IS NULL`,
}

// replacing writes rows again under numbers of their own.
func replacing(table, columns, where string) string {
	return `INSERT OR REPLACE INTO ` + table + ` (` + columns + `) SELECT ` + columns + ` FROM ` + table + ` ` + where
}

// TestNoVisitReplacesAnother brings an ended visit back over the open one of its
// milestone, which has another time.
func TestNoVisitReplacesAnother(t *testing.T) {
	s := guardedLedger(t)
	if _, err := s.db.Exec(`UPDATE visits SET state = 'moved' WHERE id = 2`); err != nil {
		t.Fatal(err)
	}
	v, e := recall("HR-1", 1, "Ida Marlow")
	v.Start += 120
	if err := s.Act(func(w *Writer) error { _, err := w.AddVisit(v, e); return err }); err != nil {
		t.Fatal(err)
	}
	for _, state := range []string{"booked", "window held"} {
		if _, err := s.db.Exec(`UPDATE OR REPLACE visits SET state = ? WHERE id = 2`, state); code(err) != sqlite3.SQLITE_CONSTRAINT_TRIGGER {
			t.Errorf("%s: %v", state, err)
		}
	}
}

func TestCalendarTablesTakeNoNonsense(t *testing.T) {
	s := guardedLedger(t)
	row := func(table, columns string, values ...string) string {
		return `INSERT INTO ` + table + ` (` + columns + `) VALUES (` + strings.Join(values, ", ") + `)`
	}
	for what, sound := range map[string][]string{
		row("issues", issueColumns, "'HR-1'", "''", "'desk'", "1", "0", "0", "0", "x''"): {
			"'HR-1'>'HR-9'", "'desk'>''", "'desk', 1>'desk', 9", "1, 0, 0>1, -1, 0", "0, x''>2, x''", "0, x''>0, ''", "1, 0, 0>1, 0, 'noon'",
		},
		row("invitations", invitationColumns, "'HR-1'", "''", "1", "'cancel'", "0", "''", "''", "x''", "'under way'", "0", "''", "''"): {
			"'HR-1'>'HR-9'", "'', 1>'', 9", "'cancel'>'delete'", "'cancel', 0>'cancel', -1", "'under way'>'lost'", "'under way', 0>'under way', NULL", "x''>''",
		},
		row("feeds", feedColumns, "'HR-1'", "'x'", "''", "0", "''"): {
			"'HR-1'>'HR-9'", "'x'>''", "'x'>NULL",
		},
		row("shelved", shelvedColumns, "'desk'", "'HR-1'", "''", "''", "''", "x''", "'as put'", "0"): {
			"'HR-1'>'HR-9'", "'desk'>''", "'as put'>'lost'", "x''>NULL",
		},
		row("sync_tokens", "calendar, token", "'desk'", "'1'"): {"'desk'>''", "'1'>NULL"},
		row("keys", "name, value", "'next'", "zeroblob(32)"):   {"'next'>''", "32>31", "32>33", "zeroblob(32)>'12345678901234567890123456789012'"},
	} {
		for _, spoil := range sound {
			old, now, _ := strings.Cut(spoil, ">")
			statement := strings.Replace(what, old, now, 1)
			if _, err := s.db.Exec(statement); statement == what || code(err)&primary != sqlite3.SQLITE_CONSTRAINT {
				t.Errorf("%s: %v", statement, err)
			}
		}
		if _, err := s.db.Exec(what); err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
	for _, statement := range []string{`UPDATE feeds SET revoked = 5`, `UPDATE invitations SET state = 'lost'`} {
		if _, err := s.db.Exec(statement); code(err) != sqlite3.SQLITE_CONSTRAINT_CHECK {
			t.Errorf("%s: %v", statement, err)
		}
	}
}

// TestUniqueIndexesHoldByThemselves takes away the guards that say it first.
func TestUniqueIndexesHoldByThemselves(t *testing.T) {
	s := guardedLedger(t)
	giveOut(t, s, "HR-1")
	if _, err := s.db.Exec(`DROP TRIGGER invitations_no_replace; DROP TRIGGER feeds_no_replace`); err != nil {
		t.Fatal(err)
	}
	for _, statement := range []string{
		`INSERT INTO invitations (` + invitationColumns + `) SELECT ` + invitationColumns + ` FROM invitations WHERE state = 'under way'`,
		`INSERT INTO feeds (case_id, token, folder, at, who) VALUES ('HR-1', 'next', '', 0, '')`,
		`INSERT INTO feeds (case_id, token, folder, at, who) VALUES ('HR-2', 'old HR-1', '', 0, '')`,
	} {
		if _, err := s.db.Exec(statement); code(err) != sqlite3.SQLITE_CONSTRAINT_UNIQUE {
			t.Errorf("%s: %v", statement, err)
		}
	}
}

// TestWhoRevokedAFeedIsKept looks for the one who acts, not for the feed's maker.
func TestWhoRevokedAFeedIsKept(t *testing.T) {
	s := guardedLedger(t)
	giveOut(t, s, "HR-1")
	var at int64
	var who string
	if err := s.db.QueryRow(`SELECT revoked, revoked_by FROM feeds WHERE revoked > 0`).Scan(&at, &who); err != nil {
		t.Fatal(err)
	}
	if at != noon.Add(time.Hour).Unix() || who != "Ida Marlow" {
		t.Errorf("revoked at %d by %q", at, who)
	}
}

// TestKeyStaysThroughCopies takes a ledger's key along wherever the ledger goes.
func TestKeyStaysThroughCopies(t *testing.T) {
	folder := t.TempDir()
	path, other := filepath.Join(folder, "ledger"), filepath.Join(folder, "other")
	copied := filepath.Join(folder, "copy")
	s := opened(t, path)
	admit(t, s, "HR-1")
	giveOut(t, s, "HR-1")
	key, lines := keyOf(t, s), kept(t, s, s.want)
	if err := s.Backup(copied); err != nil {
		t.Fatal(err)
	}
	s.Close()
	elsewhere := opened(t, other)
	otherKey := keyOf(t, elsewhere)
	elsewhere.Close()
	if bytes.Equal(key, otherKey) {
		t.Error("two ledgers have one key")
	}
	for _, to := range []string{path, other, filepath.Join(folder, "new")} {
		if _, err := Restore(copied, to); err != nil {
			t.Fatal(err)
		}
		restored := opened(t, to)
		if got := keyOf(t, restored); !bytes.Equal(got, key) {
			t.Errorf("%s: the key is %x, was %x", to, got, key)
		}
		if got := kept(t, restored, restored.want); fmt.Sprint(got) != fmt.Sprint(lines) {
			t.Errorf("%s: kept %v, were %v", to, got, lines)
		}
	}
	if got := keyOf(t, opened(t, other+".before-1")); !bytes.Equal(got, otherKey) {
		t.Errorf("the ledger that was replaced has another key: %x", got)
	}
	if got := keyOf(t, opened(t, copied)); !bytes.Equal(got, key) {
		t.Errorf("the copy has another key: %x", got)
	}
}

// TestOldCopyGetsAKeyWhenItIsOpened restores a copy from before there were keys.
func TestOldCopyGetsAKeyWhenItIsOpened(t *testing.T) {
	folder := t.TempDir()
	copied, path := filepath.Join(folder, "copy"), filepath.Join(folder, "ledger")
	scripts, _ := migrations()
	old, err := openAt(copied, scripts[:keyed-1])
	if err != nil {
		t.Fatal(err)
	}
	admit(t, old, "HR-1")
	old.Close()
	newer := opened(t, path)
	admit(t, newer, "HR-2")
	newer.Close()
	if _, err := Restore(copied, path); err != nil {
		t.Fatal(err)
	}
	if c, err := Check(path); err != nil || c.Version != keyed-1 || c.Cases != 1 {
		t.Errorf("%+v, %v", c, err)
	}
	s := opened(t, path)
	key := keyOf(t, s)
	giveOut(t, s, "HR-1")
	s.Close()
	if got := keyOf(t, opened(t, path)); !bytes.Equal(got, key) {
		t.Errorf("the key became %x, was %x", got, key)
	}
}

// TestListsOfGivenOutUseTheirIndex wants no list to go through a whole table.
func TestListsOfGivenOutUseTheirIndex(t *testing.T) {
	s := guardedLedger(t)
	for query, args := range map[string][]any{
		issuesOfCase: {"HR-1"}, allShelved: {"desk"}, shelvedOfCase: {"desk", "HR-1"}, invitationsOfCase: {"HR-1"}, oneInvitation: {1}, invitationsUnderWay: {"HR-1", "x"},
		feedOfCase: {"HR-1"}, syncToken: {"desk"}, calendarKey: {},
	} {
		rows, err := s.db.Query(`EXPLAIN QUERY PLAN `+query, args...)
		if err != nil {
			t.Fatal(err)
		}
		for rows.Next() {
			var id, parent, unused int
			var step string
			if err := rows.Scan(&id, &parent, &unused, &step); err != nil {
				t.Fatal(err)
			}
			if strings.HasPrefix(step, "SCAN") {
				t.Errorf("%s: %s", query, step)
			}
		}
		rows.Close()
	}
}

// BenchmarkIssues reads the latest issues of every case, one case after the other:
// 300 cases with 15 milestones, each given out to three audiences five times.
func BenchmarkIssues(b *testing.B) {
	const cases, milestones, times = 300, 15, 5
	s := opened(b, filepath.Join(b.TempDir(), "ledger"))
	var ids []graft.CaseID
	for n := range cases {
		ids = append(ids, graft.CaseID(fmt.Sprintf("HR-%04d", n)))
	}
	admit(b, s, ids...)
	event := bytes.Repeat([]byte("x"), 600)
	err := s.Act(func(w *Writer) error {
		for n := range cases * milestones * times {
			for _, who := range []graft.Audience{graft.ForDesk, graft.ForSurgeon, graft.ForPatient} {
				i := ledger.Issue{Case: ids[n%cases], Milestone: graft.MilestoneIDOf(graft.Recall, "", fmt.Sprint(n/cases%milestones)), Audience: who, Revision: 1, Event: event}
				if err := w.AddIssue(i); err != nil {
					return err
				}
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		err := s.View(func(r *Reader) error {
			for _, id := range ids {
				if issues, err := r.Issues(id); err != nil || len(issues) != milestones*3 {
					b.Fatalf("%d issues, %v", len(issues), err)
				}
			}
			return nil
		})
		if err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/cases, "µs/case")
}
