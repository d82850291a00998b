package ics

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"testing"

	"graftclock/internal/reference/icalread"
)

// spoilt is a file with a nasty text in one place.
type spoilt struct {
	what string
	cal  Calendar
	file string
}

// spoiltFiles puts every nasty text into every field that takes it, and into the UID
// where it is not refused.
func spoiltFiles(t *testing.T) []spoilt {
	t.Helper()
	folder := t.TempDir()
	var all []spoilt
	add := func(what string, cal Calendar) {
		data, err := Encode(cal)
		if err != nil {
			if !strings.HasPrefix(what, "uid") {
				t.Errorf("%s: %v", what, err)
			}
			return
		}
		if complaints := Lint(data); complaints != nil {
			t.Errorf("%s: %v", what, complaints)
		}
		all = append(all, spoilt{what, cal, write(t, folder, len(all), data)})
	}
	for name, text := range nasty {
		for field, of := range textFields {
			cal := patient()
			*of(&cal) = text
			add(field+"/"+name, cal)
		}
		for role, of := range partyFields {
			cal := message(Request)
			*of(&cal) = text
			add(role+"/"+name, cal)
		}
		cal := patient()
		cal.Events[0].UID = text
		add("uid/"+name, cal)
	}
	return all
}

// bare leaves out the texts of an event, which a reader may have unescaped in its own
// way.
func bare(e icalread.Event) icalread.Event {
	e.Summary, e.Description, e.Location, e.UID = "", "", "", ""
	return e
}

func TestReadersSeeNoMoreThanTheEvents(t *testing.T) {
	files := spoiltFiles(t)
	var paths []string
	for _, f := range files {
		paths = append(paths, f.file)
	}
	t.Logf("%d files with a nasty text, %d readers", len(files), len(icalread.Readers))
	for _, reader := range icalread.Readers {
		t.Run(string(reader), func(t *testing.T) {
			results := icalread.Read(t, reader, paths...)
			for _, f := range files {
				got := results[f.file]
				if len(got.Errors) > 0 || len(got.Events) != len(f.cal.Events) {
					t.Errorf("%s: %d events, want %d; errors %.200q", f.what, len(got.Events), len(f.cal.Events), got.Errors)
					continue
				}
				slices.SortFunc(got.Events, func(a, b icalread.Event) int { return cmp.Compare(a.Start, b.Start) })
				f.compare(t, reader, got.Events)
			}
		})
	}
}

// compare holds what a reader saw, by start, against the calendar.
func (f spoilt) compare(t *testing.T, reader icalread.Reader, got []icalread.Event) {
	t.Helper()
	want := slices.Clone(f.cal.Events)
	slices.SortFunc(want, func(a, b Event) int { return cmp.Compare(a.Day.String(), b.Day.String()) })
	for i, e := range want {
		g := got[i]
		w := icalread.Event{
			UID: e.UID, Summary: visible(e.Summary), Description: visible(e.Description), Location: visible(e.Location),
			Status: strings.ToUpper(string(e.Status)), Method: string(f.cal.Method),
		}
		if f.cal.Method != "" {
			w.Organizer = icalread.Party{Name: f.cal.Organizer.commonName(), Address: "mailto:" + f.cal.Organizer.Address}
		}
		if reader == icalread.Python && strings.Contains(w.UID+w.Summary+w.Description+w.Location, `\`) {
			g, w = bare(g), bare(w)
		}
		if g.UID != w.UID || g.Summary != w.Summary || g.Description != w.Description || g.Location != w.Location ||
			g.Status != w.Status || g.Method != w.Method || g.Organizer != w.Organizer {
			t.Errorf("%s: got %.300s, want %.300s", f.what, fmt.Sprintf("%+v", g), fmt.Sprintf("%+v", w))
		}
		guest := icalread.Party{Name: f.cal.Attendee.commonName(), Address: "mailto:" + f.cal.Attendee.Address}
		if f.cal.Method != "" && (len(g.Attendees) != 1 || g.Attendees[0] != guest) || f.cal.Method == "" && len(g.Attendees) > 0 {
			t.Errorf("%s: attendees %.200s", f.what, fmt.Sprintf("%+v", g.Attendees))
		}
	}
}
