package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/cli"
	"graftclock/internal/reference"
	"graftclock/internal/reference/thunderbird"
)

// mailDesk is a desk at the command line with one case, of a patient who chose to be
// told by mail and to get the letter along.
type mailDesk struct {
	*testing.T
	folder string // clinic file, ledger, and what is written
	mails  int    // written so far
	now    time.Time
}

const (
	mailedCase    = "HR-2041"
	mailedPatient = "nora.fenwick@example.org"
	deskMember    = "Ida Marlow"
	surgeon       = "Dr Alba Quill"
)

// openMailDesk copies the demo clinic, gives it a mail address, and takes in and
// approves the case.
func openMailDesk(t *testing.T) *mailDesk {
	t.Helper()
	d := &mailDesk{T: t, folder: t.TempDir(), now: time.Date(2027, 1, 18, 8, 30, 0, 0, time.UTC)}
	if err := os.CopyFS(d.folder, os.DirFS(filepath.Join(reference.Root(), "testdata", "demo"))); err != nil {
		t.Fatal(err)
	}
	d.rewrites("clinic.yaml", "after_care:", "mail: {from: desk@harbour-row.example, server: 127.0.0.1, port: 9, security: none}\nafter_care:")
	d.rewrites("fenwick.yaml", "letter: false", "letter: true")
	d.run("admit", filepath.Join(d.folder, "fenwick.yaml"), "--as", deskMember)
	d.run("approve", mailedCase, "--as", surgeon)
	return d
}

// rewrites replaces a text in a file of the desk.
func (d *mailDesk) rewrites(name, old, replaced string) {
	d.Helper()
	path := filepath.Join(d.folder, name)
	data, err := os.ReadFile(path)
	if err != nil || !bytes.Contains(data, []byte(old)) {
		d.Fatalf("%s has no %q: %v", name, old, err)
	}
	if err := os.WriteFile(path, bytes.Replace(data, []byte(old), []byte(replaced), 1), 0o600); err != nil {
		d.Fatal(err)
	}
}

// run runs the program an hour after it ran last and returns what it printed.
func (d *mailDesk) run(args ...string) string {
	d.Helper()
	d.now = d.now.Add(time.Hour)
	var out, problems bytes.Buffer
	args = append(args, "--clinic", filepath.Join(d.folder, "clinic.yaml"))
	if code := cli.MainAt(func() time.Time { return d.now }, args, strings.NewReader(""), &out, &problems); code != 0 {
		d.Fatalf("graftclock %s: exit code %d\n%s%s", strings.Join(args, " "), code, &out, &problems)
	}
	return out.String()
}

// tells has the patient told and returns the one mail that was written.
func (d *mailDesk) tells() []byte {
	d.Helper()
	folder := filepath.Join(d.folder, "mails")
	d.run("invite", mailedCase, "--out", folder, "--as", deskMember)
	entries, err := os.ReadDir(folder)
	d.mails++
	if err != nil || len(entries) != d.mails {
		d.Fatalf("%d mails in the folder, want %d: %v", len(entries), d.mails, err)
	}
	data, err := os.ReadFile(filepath.Join(folder, fmt.Sprintf("mail-%d.eml", d.mails)))
	if err != nil {
		d.Fatal(err)
	}
	return data
}

// gives writes the files of the case and returns one of them.
func (d *mailDesk) gives(name string) []byte {
	d.Helper()
	d.run("plan", mailedCase, "--each", "--out", filepath.Join(d.folder, "out"))
	data, err := os.ReadFile(filepath.Join(d.folder, "out", name))
	if err != nil {
		d.Fatal(err)
	}
	return data
}

// names calls events by letters in the order in which they were first seen.
type names map[string]string

// list is the items, sorted.
func (n names) list(items []thunderbird.Item) []string {
	all := []string{}
	for _, i := range items {
		if n[i.UID] == "" {
			n[i.UID] = string(rune('a' + len(n)))
		}
		all = append(all, fmt.Sprintf("%s %s to %s, %s %d, %s, %s", n[i.UID], i.Start, i.End, i.Status, i.Sequence, i.Title, i.Location))
	}
	slices.Sort(all)
	return all
}

// item is a visit as the patient's calendar has it.
func item(name, start, end string, sequence int) string {
	return fmt.Sprintf("%s %s to %s, CONFIRMED %d, Appointment: Harbour Row, Harbour Row, 4 Harbour Row, Carrick Vale", name, start, end, sequence)
}

// TestMailsOfTheProgramInThunderbird plays the mails about two visits, in an order
// that patients read mail in: some twice, some never, some late. The clinic's clocks
// are an hour ahead of UTC in August.
func TestMailsOfTheProgramInThunderbird(t *testing.T) {
	t.Parallel()
	d := openMailDesk(t)
	d.run("book", mailedCase, "wound-check", "2027-01-28", "09:00", "--as", deskMember)
	wound := d.tells()
	d.run("move", mailedCase, "wound-check", "2027-01-27", "10:15", "--as", deskMember)
	woundMoved := d.tells()
	d.run("book", mailedCase, "uncovering", "2027-08-24", "09:00", "--as", deskMember)
	uncovering := d.tells()
	d.run("set", mailedCase, "patient.mail.letter=false", "--as", deskMember)
	d.run("approve", mailedCase, "--as", surgeon)
	d.run("move", mailedCase, "uncovering", "2027-08-26", "14:00", "--as", deskMember)
	uncoveringMoved := d.tells()
	d.run("cancel", mailedCase, "wound-check", "--as", deskMember)
	woundOff := d.tells()
	d.run("book", mailedCase, "wound-check", "2027-01-28", "11:00", "--as", deskMember)
	woundAgain := d.tells()

	booked := item("a", "2027-01-28T09:00:00Z", "2027-01-28T09:20:00Z", 0)
	moved := item("a", "2027-01-27T10:15:00Z", "2027-01-27T10:35:00Z", 1)
	again := item("a", "2027-01-28T11:00:00Z", "2027-01-28T11:20:00Z", 3)
	late := item("b", "2027-08-26T13:00:00Z", "2027-08-26T13:45:00Z", 2) // it was a window, then booked, then moved
	steps := []struct {
		name           string
		mail           []byte
		proposed, done string
		items          []string
	}{
		{"a booked visit is added", wound, "REQUEST", "added", []string{booked}},
		{"the same mail opened again changes nothing", wound, "", "", []string{booked}},
		{"a visit that has moved moves", woundMoved, "REQUEST:UPDATE", "changed", []string{moved}},
		{"where it was before, opened again, changes nothing", wound, "", "", []string{moved}},
		{"a visit told of only where it has moved to comes there", uncoveringMoved, "REQUEST", "added", []string{moved, late}},
		{"where it was before, opened for the first time, changes nothing", uncovering, "", "", []string{moved, late}},
		{"a visit that is off goes, the other stays", woundOff, "CANCEL", "deleted", []string{late}},
		{"booked once more it is back", woundAgain, "REQUEST", "added", []string{again, late}},
		{"where it was first changes nothing", wound, "", "", []string{again, late}},
		{"where it had moved to changes nothing", woundMoved, "", "", []string{again, late}},
	}
	var mails [][]byte
	for _, step := range steps {
		mails = append(mails, step.mail)
	}
	seen := names{}
	for i, got := range thunderbird.Play(t, mailedPatient, mails...) {
		step := steps[i]
		if got.Proposed != step.proposed || got.Done != step.done {
			t.Errorf("%s: proposed %q, done %q, want %q, %q; it said %q", step.name, got.Proposed, got.Done, step.proposed, step.done, got.Label)
		}
		if diff := cmp.Diff(step.items, seen.list(got.Items)); diff != "" {
			t.Errorf("%s: the calendar (-want +got):\n%s", step.name, diff)
		}
	}
}

// TestSecondFileOfTheProgramInThunderbird imports patient.ics as it was when two
// visits were booked, and then as it is when one of them has moved: what README and
// help say of a second file holds.
func TestSecondFileOfTheProgramInThunderbird(t *testing.T) {
	t.Parallel()
	d := openMailDesk(t)
	d.run("book", mailedCase, "wound-check", "2027-01-28", "09:00", "--as", deskMember)
	d.run("book", mailedCase, "uncovering", "2027-08-24", "09:00", "--as", deskMember)
	first := d.gives("patient.ics")
	d.run("move", mailedCase, "wound-check", "2027-01-27", "10:15", "--as", deskMember)
	second, alone := d.gives("patient.ics"), d.gives("visit-2027-01-27.ics")
	for _, file := range [][]byte{second, alone} {
		if !bytes.Contains(file, []byte("SEQUENCE:1\r\n")) || !bytes.Contains(file, []byte("DTSTART;TZID=Europe/Dublin:20270127T101500")) {
			t.Fatalf("the second file tells of no move:\n%s", file)
		}
	}

	got := thunderbird.Import(t, first, second, alone)
	seen := names{}
	items := seen.list(got[0].Items)
	if got[0].Error != "" || len(items) != bytes.Count(first, []byte("BEGIN:VEVENT")) {
		t.Errorf("of the first file came %d events, %q:\n%s", len(items), got[0].Error, first)
	}
	booked := slices.DeleteFunc(slices.Clone(items), func(i string) bool { return !strings.Contains(i, "CONFIRMED") })
	want := []string{item("a", "2027-01-28T09:00:00Z", "2027-01-28T09:20:00Z", 0), item("d", "2027-08-24T08:00:00Z", "2027-08-24T08:45:00Z", 0)}
	if diff := cmp.Diff(want, booked); diff != "" {
		t.Errorf("booked in the first file (-want +got):\n%s", diff)
	}
	for _, again := range got[1:] {
		if diff := cmp.Diff(items, seen.list(again.Items)); diff != "" || again.Error != "duplicate id" {
			t.Errorf("a second file: %q (-before +after):\n%s", again.Error, diff)
		}
	}
}
