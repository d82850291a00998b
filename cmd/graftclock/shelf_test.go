package main

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"graftclock/internal/caldav"
	"graftclock/internal/cli"
	"graftclock/internal/reference"
	"graftclock/internal/reference/radicale"
)

// calendarDesk is a desk that works at the command line, beside a calendar server
// that others have made.
type calendarDesk struct {
	*testing.T
	server *radicale.Server
	clinic string         // file
	path   string         // of the calendar on the server
	other  *caldav.Client // somebody else at the same server
	now    time.Time
}

const passwordVariable = "GRAFTCLOCK_CALENDAR_PASSWORD"

// openCalendarDesk copies the demo clinic and names a calendar in its file, which the
// server does not have yet. More is what the file says of it besides.
func openCalendarDesk(t *testing.T, server *radicale.Server, name, more string) *calendarDesk {
	t.Helper()
	d := &calendarDesk{T: t, server: server, path: "/" + server.User + "/" + name + "/", now: time.Date(2027, 1, 18, 8, 30, 0, 0, time.UTC)}
	folder := t.TempDir()
	if err := os.CopyFS(folder, os.DirFS(filepath.Join(reference.Root(), "testdata", "demo"))); err != nil {
		t.Fatal(err)
	}
	d.clinic = filepath.Join(folder, "clinic.yaml")
	d.shares(server.URL+d.path[1:], more)
	var err error
	if d.other, err = caldav.New(caldav.Options{URL: server.URL, User: server.User, Password: server.Password}); err != nil {
		t.Fatal(err)
	}
	t.Setenv("GRAFTCLOCK_AS", "Ida Marlow")
	t.Setenv("GRAFTCLOCK_CLINIC", d.clinic)
	t.Setenv(passwordVariable, "")
	return d
}

// shares writes into the clinic file where the calendar is.
func (d *calendarDesk) shares(address, more string) {
	d.Helper()
	data, err := os.ReadFile(d.clinic)
	if err != nil {
		d.Fatal(err)
	}
	house, _, _ := strings.Cut(string(data), "shared_calendar:")
	line := fmt.Sprintf("shared_calendar: {url: %q, user: %s%s}\n", address, d.server.User, more)
	if err := os.WriteFile(d.clinic, []byte(house+line), 0o600); err != nil {
		d.Fatal(err)
	}
}

// run runs the program, wants an exit code and returns what it said. Whatever it says,
// the password is not in it.
func (d *calendarDesk) run(code int, args ...string) (stdout, stderr string) {
	d.Helper()
	var out, problems bytes.Buffer
	got := cli.MainAt(func() time.Time { return d.now }, args, strings.NewReader(""), &out, &problems)
	stdout, stderr = out.String(), problems.String()
	if got != code {
		d.Errorf("graftclock %s: exit code %d, want %d\n%s%s", strings.Join(args, " "), got, code, stdout, stderr)
	}
	for _, password := range []string{d.server.Password, os.Getenv(passwordVariable)} {
		basic := base64.StdEncoding.EncodeToString([]byte(d.server.User + ":" + password))
		for _, secret := range []string{password, url.QueryEscape(password), url.PathEscape(password), basic} {
			if password != "" && strings.Contains(stdout+stderr, secret) {
				d.Errorf("graftclock %s tells the password:\n%s%s", strings.Join(args, " "), stdout, stderr)
			}
		}
	}
	return stdout, stderr
}

// says wants a text in what was said.
func (d *calendarDesk) says(said string, texts ...string) {
	d.Helper()
	for _, text := range texts {
		if !strings.Contains(said, text) {
			d.Errorf("%q is not in\n%s", text, said)
		}
	}
}

// entries returns what lies in the calendar, by title.
func (d *calendarDesk) entries() map[string]caldav.Object {
	d.Helper()
	changes, _, err := d.other.Changes(d.Context(), d.path, "")
	if err != nil {
		d.Fatal(err)
	}
	all := map[string]caldav.Object{}
	for _, c := range changes {
		o, err := d.other.Get(d.Context(), c.Path)
		if err != nil {
			d.Fatal(err)
		}
		if _, after, found := strings.Cut(string(o.Data), "\r\nSUMMARY:"); found {
			title, _, _ := strings.Cut(after, "\r\n")
			all[title] = o
		}
	}
	return all
}

// edit has somebody else change an entry.
func (d *calendarDesk) edit(title string, pairs ...string) {
	d.Helper()
	o, found := d.entries()[title]
	changed := strings.NewReplacer(pairs...).Replace(string(o.Data))
	if !found || changed == string(o.Data) {
		d.Fatalf("nothing to edit in %q:\n%s", title, o.Data)
	}
	if _, err := d.other.Put(d.Context(), o.Path, o.ETag, []byte(changed)); err != nil {
		d.Fatal(err)
	}
}

const woundEntry = "HR-2041 Nora Fenwick: wound-check"

// visits takes the demo case in and books two of its visits.
func (d *calendarDesk) visits() {
	d.Helper()
	d.run(0, "admit", filepath.Join(filepath.Dir(d.clinic), "fenwick.yaml"))
	d.run(0, "book", "HR-2041", "wound-check", "2027-01-26", "10:00")
	d.run(0, "book", "HR-2041", "uncovering", "2027-08-24", "09:00")
}

// TestTheSharedCalendarAtTheCommandLine works with publish and pull as a desk does,
// against a server that others have made.
func TestTheSharedCalendarAtTheCommandLine(t *testing.T) {
	server := radicale.Start(t)
	for _, c := range []struct {
		name string
		test func(*testing.T, *radicale.Server)
	}{
		{"a calendar that is not there is named, and made on request", missingCalendar},
		{"dragged, taken over, put back", draggedAtTheDesk},
		{"one visit that cannot be put back holds none of the others up", unsettledAtTheDesk},
		{"the password comes from the environment or from a file of one's own", passwords},
		{"another calendar than before leaves entries behind, and says so once", otherCalendar},
		{"an address that would show the password is refused", openAddress},
		{"a server that is not there is one sentence", absentServer},
	} {
		t.Run(c.name, func(t *testing.T) { c.test(t, server) })
	}
}

func missingCalendar(t *testing.T, server *radicale.Server) {
	d := openCalendarDesk(t, server, "front", "")
	t.Setenv(passwordVariable, server.Password)
	d.visits()
	if err := d.other.Make(t.Context(), "/"+server.User+"/holidays/", "Holidays"); err != nil {
		t.Fatal(err)
	}
	for _, command := range [][]string{{"publish"}, {"publish", "--dry-run"}, {"pull"}, {"pull", "--accept"}, {"pull", "--put-back"}} {
		_, stderr := d.run(1, command...)
		d.says(stderr, "the server has no calendar at "+d.path, "graftclock publish --create", "/"+server.User+"/holidays/")
	}
	stdout, _ := d.run(0, "publish", "--dry-run", "--create")
	d.says(stdout, "WOULD", "wound-check", "Tue 2027-01-26 10:00", "uncovering, right bridge")
	if _, _, err := d.other.Changes(t.Context(), d.path, ""); !caldav.IsMissing(err) {
		t.Errorf("a dry run has made the calendar: %v", err)
	}
	stdout, _ = d.run(0, "publish", "--create")
	d.says(stdout, "DID", "add", "wound-check")
	if len(d.entries()) != 2 {
		t.Errorf("%d entries", len(d.entries()))
	}
	_, all, err := d.other.Collections(t.Context())
	if err != nil || !strings.Contains(fmt.Sprint(all), "{"+d.path+" Harbour Row}") {
		t.Errorf("the server has %v, %v", all, err)
	}
	stdout, _ = d.run(0, "publish", "--create")
	d.says(stdout, "Nothing to write")
	stdout, _ = d.run(0, "pull")
	d.says(stdout, "The shared calendar says what graftclock wrote there")
}

func draggedAtTheDesk(t *testing.T, server *radicale.Server) {
	d := openCalendarDesk(t, server, "drag", "")
	t.Setenv(passwordVariable, server.Password)
	d.visits()
	d.run(0, "publish", "--create")
	d.edit(woundEntry, "20270126T100000", "20270127T110000", "20270126T102000", "20270127T112000")
	d.edit(`HR-2041 Nora Fenwick: uncovering\, right bridge`, "20270824T0900", "20270729T0900", "20270824T0945", "20270729T0945")
	stdout, _ := d.run(3, "pull")
	d.says(stdout, "Tue 2027-01-26 10:00", "Wed 2027-01-27 11:00", "to Wed 2027-01-27 11:00-11:20, Surgery 1, Nurse Wyn Tate",
		"no: Thursday 29 July 2027 is before its gate", "--accept", "--put-back", "graftclock cancel")
	_, stderr := d.run(1, "pull", "HR-9999")
	d.says(stderr, "HR-9999")
	d.run(2, "pull", "--accept", "--put-back")
	_, stderr = d.run(1, "pull", "--accept", "--as", "Nobody")
	d.says(stderr, "the clinic file has no person")
	stdout, _ = d.run(3, "publish")
	d.says(stdout, "keep", "changed in the calendar: graftclock pull", "2 visits changed or deleted in the calendar by others wait for a decision: graftclock pull")

	stdout, _ = d.run(3, "pull", "--accept")
	d.says(stdout, "wound-check, moved to Wed 2027-01-27 11:00-11:20, Surgery 1, Nurse Wyn Tate", "Tell the patient: graftclock invite HR-2041", "graftclock publish", "before its gate", "pull --put-back")
	stdout, _ = d.run(0, "history", "HR-2041")
	d.says(stdout, "moved in the calendar")
	stdout, _ = d.run(3, "publish")
	d.says(stdout, "wound-check", "change", "Wed 2027-01-27 11:00")
	d.says(string(d.entries()[woundEntry].Data), "Booked: Wed 2027-01-27 11:00-11:20", "SEQUENCE:1")

	stdout, _ = d.run(0, "pull", "--put-back")
	d.says(stdout, "uncovering, right bridge", "change", "Tue 2027-08-24 09:00")
	stdout, _ = d.run(0, "pull", "--put-back")
	d.says(stdout, "Nothing to put back")
	d.run(0, "pull")
	stdout, _ = d.run(0, "publish")
	d.says(stdout, "Nothing to write")

	o := d.entries()[woundEntry]
	if err := d.other.Delete(t.Context(), o.Path, o.ETag); err != nil {
		t.Fatal(err)
	}
	stdout, _ = d.run(3, "publish")
	d.says(stdout, "Nothing to write", "1 visit changed or deleted in the calendar by others waits for a decision: graftclock pull")
	stdout, _ = d.run(3, "pull")
	d.says(stdout, "no: deleted in the calendar")
	d.run(3, "publish")
	d.run(3, "pull", "HR-2041", "--accept")
	d.run(0, "pull", "HR-2041", "--put-back")
	if len(d.entries()) != 2 {
		t.Errorf("%d entries", len(d.entries()))
	}
	d.run(0, "pull")
}

// unsettledAtTheDesk puts two visits back of which one does not fit the plan any more.
func unsettledAtTheDesk(t *testing.T, server *radicale.Server) {
	d := openCalendarDesk(t, server, "unsettled", "")
	t.Setenv(passwordVariable, server.Password)
	d.visits()
	d.run(0, "publish", "--create")
	d.edit(woundEntry, "20270126T100000", "20270127T110000", "20270126T102000", "20270127T112000")
	d.edit(`HR-2041 Nora Fenwick: uncovering\, right bridge`, "20270824T0900", "20270729T0900", "20270824T0945", "20270729T0945")
	d.run(0, "set", "HR-2041", "patient.unavailable+=2027-01-26")
	stdout, _ := d.run(3, "pull", "--put-back")
	d.says(stdout, "keep", "wound-check of HR-2041 does not fit the plan and waits to be settled", "uncovering, right bridge", "change")
	stdout, _ = d.run(3, "pull")
	if strings.Contains(stdout, "uncovering") {
		t.Errorf("the other was not put back:\n%s", stdout)
	}
}

func passwords(t *testing.T, server *radicale.Server) {
	d := openCalendarDesk(t, server, "passwords", "")
	d.visits()
	_, stderr := d.run(1, "publish", "--create")
	d.says(stderr, "there is no password for "+server.User, "$"+passwordVariable, "password_file")
	t.Setenv(passwordVariable, "harbour row 8")
	for _, command := range [][]string{{"publish"}, {"publish", "--create"}, {"pull"}, {"pull", "--accept"}, {"pull", "--put-back"}} {
		stdout, stderr := d.run(1, command...)
		d.says(stderr, "refuses user or password")
		if lines := strings.Count(stdout+stderr, "\n"); lines != 1 {
			t.Errorf("%v says %d lines:\n%s%s", command, lines, stdout, stderr)
		}
	}
	t.Setenv(passwordVariable, "")
	d.shares(server.URL+d.path[1:], ", password_file: calendar.password")
	_, stderr = d.run(1, "publish")
	d.says(stderr, "read the password", "calendar.password")
	file := filepath.Join(filepath.Dir(d.clinic), "calendar.password")
	write := func(text string, mode os.FileMode) {
		if err := os.WriteFile(file, []byte(text), mode); err != nil {
			t.Fatal(err)
		}
		if err := os.Chmod(file, mode); err != nil {
			t.Fatal(err)
		}
	}
	write(server.Password+"\n", 0o644)
	_, stderr = d.run(1, "publish", "--create")
	d.says(stderr, "can be read by others than its owner", "chmod 600")
	write(server.Password+"\nnot this line\n", 0o600)
	d.run(0, "publish", "--create")
	if len(d.entries()) != 2 {
		t.Errorf("%d entries", len(d.entries()))
	}
	write("another\n", 0o600)
	t.Setenv(passwordVariable, server.Password)
	d.run(0, "pull")
}

// otherCalendar names another calendar in the clinic file than the one that has entries.
func otherCalendar(t *testing.T, server *radicale.Server) {
	d := openCalendarDesk(t, server, "first", "")
	t.Setenv(passwordVariable, server.Password)
	d.visits()
	stdout, _ := d.run(0, "publish", "--create")
	const stay = "stay in the calendar that was named before"
	if strings.Contains(stdout, stay) {
		t.Errorf("there was no calendar before:\n%s", stdout)
	}
	first := server.URL + d.path[1:]
	d.path = "/" + server.User + "/second/"
	d.shares(server.URL+d.path[1:], "")
	d.run(1, "publish")
	for _, command := range [][]string{{"publish", "--create", "--dry-run"}, {"publish", "--create"}} {
		stdout, _ = d.run(0, command...)
		d.says(stdout, "2 entries "+stay+", "+first)
	}
	if stdout, _ = d.run(0, "publish"); strings.Contains(stdout, stay) {
		t.Errorf("said again:\n%s", stdout)
	}
}

// openAddress names calendars that would be reached in the open, on machines that
// nobody asks: each is refused before.
func openAddress(t *testing.T, server *radicale.Server) {
	d := openCalendarDesk(t, server, "open", "")
	t.Setenv(passwordVariable, server.Password)
	d.visits()
	for _, address := range []string{"http://calendar.harbour-row.example/desk/", "http://10.0.0.5:5232/desk/", "http://127.0.0.1.harbour-row.example/desk/"} {
		d.shares(address, "")
		for _, command := range []string{"publish", "pull"} {
			_, stderr := d.run(3, command)
			d.says(stderr, "shared_calendar.url", "https")
		}
	}
	d.shares("https://"+server.User+":"+strings.ReplaceAll(url.QueryEscape(server.Password), "+", "%20")+"@calendar.harbour-row.example/desk/", "")
	d.run(3, "publish")
}

func absentServer(t *testing.T, server *radicale.Server) {
	d := openCalendarDesk(t, server, "absent", "")
	t.Setenv(passwordVariable, server.Password)
	d.visits()
	d.run(0, "publish", "--create")
	d.run(0, "cancel", "HR-2041", "wound-check")
	server.Stop()
	for _, command := range [][]string{{"publish"}, {"pull"}} {
		stdout, stderr := d.run(1, command...)
		d.says(stderr, "calendar server 127.0.0.1", "cannot be reached")
		if lines := strings.Count(stdout+stderr, "\n"); lines != 1 {
			t.Errorf("%v says %d lines:\n%s%s", command, lines, stdout, stderr)
		}
	}
	server.Restart()
	stdout, _ := d.run(0, "publish")
	d.says(stdout, "remove", "wound-check")
	d.run(0, "pull")
}
