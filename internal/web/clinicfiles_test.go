package web_test

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// folderFiles are the clinic's files in a folder.
type folderFiles string

func (f folderFiles) ClinicName() string { return "clinic.yaml" }
func (f folderFiles) RulesName() string  { return "" }
func (f folderFiles) Read(name string) ([]byte, error) {
	return os.ReadFile(filepath.Join(string(f), name))
}

// Replace puts a text in its place unless the file says something else than was.
func (f folderFiles) Replace(name string, was, now []byte) error {
	path := filepath.Join(string(f), name)
	is, err := os.ReadFile(path)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if !bytes.Equal(is, was) {
		return &graft.Refusal{Kind: graft.Conflict, Message: name + " was changed meanwhile"}
	}
	if now == nil {
		return os.Remove(path)
	}
	return os.WriteFile(path, now, 0o600)
}

// stamp changes with the clinic's files.
func (s *served) stamp() string {
	var all strings.Builder
	names, _ := filepath.Glob(filepath.Join(s.folder, "*.yaml"))
	for _, name := range names {
		data, _ := os.ReadFile(name)
		fmt.Fprintln(&all, name, string(data))
	}
	return all.String()
}

// clinicText is what the clinic file says.
func (s *served) clinicText() string {
	s.t.Helper()
	data, err := os.ReadFile(filepath.Join(s.folder, "clinic.yaml"))
	if err != nil {
		s.t.Fatal(err)
	}
	return string(data)
}

// house is a keeper by the clinic's files as they now stand.
func (s *served) house() *desk.Keeper {
	s.t.Helper()
	d, err := s.options.Load()
	if err != nil {
		s.t.Fatal(err)
	}
	return desk.NewKeeper(d, s.store)
}

// entries are the lines of the history about no case.
func (s *served) entries() []ledger.Entry {
	s.t.Helper()
	all, err := s.keeper.History("")
	if err != nil {
		s.t.Fatal(err)
	}
	return slices.DeleteFunc(all, func(e ledger.Entry) bool { return e.Case != "" || e.What == ledger.SignIn })
}

// booked is a clinic with a visit of a case on a day that the tests close, and one on
// another day.
func booked(t *testing.T) (*served, graft.CaseID, graft.Slot) {
	t.Helper()
	s := serve(t, "2027-01-15 08:30")
	id := s.admit("fenwick")
	first := s.bookFirst(id, "wound-check")
	s.bookFirst(id, "late-check")
	return s, id, first
}

// bookFirst books the best offer of a step.
func (s *served) bookFirst(id graft.CaseID, step graft.Step) graft.Slot {
	s.t.Helper()
	live := s.live(id)
	n := slices.IndexFunc(live.Timeline.Milestones, func(m graft.Milestone) bool { return m.Step == step })
	m := live.Timeline.Milestones[n]
	offers, err := live.Offers(m, day.Span{}, 1)
	if err != nil || len(offers) == 0 {
		s.t.Fatal(err, "no offer of ", step)
	}
	want := offers[0].Slot
	want.Start = offers[0].Starts[0]
	if _, _, err := s.keeper.Book(s.actor(front), id, desk.ChoiceOf(m.ID), want, ""); err != nil {
		s.t.Fatal(err)
	}
	return want
}

// closing is the form of a closure.
func closing(from, to day.Day, name string) url.Values {
	return url.Values{"from": {from.String()}, "to": {to.String()}, "name": {name}}
}

// main is what a page says, without what stands round every page.
func (a answer) main() string {
	_, text, _ := strings.Cut(a.body, "<main")
	text, _, _ = strings.Cut(text, "</main>")
	return text
}

// keep sends a preview again, to be kept.
func keep(t *testing.T, b *browser, preview answer, to string) answer {
	t.Helper()
	form := formTo(t, preview, to, "why")
	form.Set("keep", "yes")
	form.Set("why", "the boiler")
	return b.post(to, form)
}
