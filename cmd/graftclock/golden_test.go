package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"graftclock/internal/casefile"
	"graftclock/internal/cli"
	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/protocol"
	"graftclock/internal/reference"
	"graftclock/internal/reference/icalread"
)

// demos are the invented cases with the day each is planned on.
var demos = []struct{ name, on, shows string }{
	{"fenwick", "2027-01-14", "simultaneous, two implants on one bridge"},
	{"okafor", "2027-02-09", "staged"},
	{"marsh", "2027-03-02", "transcrestal, through the gum"},
	{"lindqvist", "2027-04-06", "rhPDGF-BB, lid repositioned"},
	{"doyle", "2027-04-13", "aborted"},
	{"petrov", "2027-04-20", "both sides, surgery ahead"},
}

// planDemo plans a demo case into a folder and returns the folder.
func planDemo(t *testing.T, name, on string) string {
	t.Helper()
	t.Chdir(reference.Root())
	out := filepath.Join(t.TempDir(), name)
	var stdout, stderr bytes.Buffer
	if code := cli.Main([]string{"plan", "testdata/demo/" + name + ".yaml", "--on", on, "--out", out}, nil, &stdout, &stderr); code != 0 {
		t.Fatalf("exit code %d\n%s%s", code, stdout.String(), stderr.String())
	}
	return out
}

// withoutVersion leaves the rules' hash out of a comparison: it changes with any
// rule, and each rule has tests of its own.
func withoutVersion(data []byte) []byte {
	version := protocol.Default().Version()
	for _, written := range []string{version, strings.ReplaceAll(version, "+", "&#43;")} {
		data = bytes.ReplaceAll(data, []byte(written), []byte("RULES"))
	}
	return data
}

func TestDemoFilesAreAsApproved(t *testing.T) {
	for _, d := range demos {
		t.Run(d.name, func(t *testing.T) {
			out := planDemo(t, d.name, d.on)
			approved := filepath.Join(reference.Root(), "testdata", "golden", d.name)
			entries, err := os.ReadDir(out)
			if err != nil || len(entries) != 6 {
				t.Fatalf("%d files, %v", len(entries), err)
			}
			for _, e := range entries {
				data, err := os.ReadFile(filepath.Join(out, e.Name()))
				if err != nil {
					t.Fatal(err)
				}
				same(t, filepath.Join(approved, e.Name()), withoutVersion(data))
			}
		})
	}
}

// same compares with an approved file, or rewrites it with -update.
func same(t *testing.T, path string, got []byte) {
	t.Helper()
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s differs at byte %d of %d", path, firstDifference(got, want), len(want))
	}
}

func firstDifference(a, b []byte) int {
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return i
		}
	}
	return min(len(a), len(b))
}

// timeline is what other programs read of timeline.json.
type timeline struct {
	Steps []struct {
		Step, For, Which         string
		NotBefore                day.Day `json:"not_before"`
		Earliest, Target, Latest day.Day
		Placed                   day.Day
		SeenBy                   []graft.Audience `json:"seen_by"`
		Reasons                  []json.RawMessage
	}
}

// TestCalendarsReadAlikeEverywhere has libical (with its restriction check),
// ical.js and python3-icalendar read every calendar of every demo case, and
// wants the days of the timeline and the same titles in all three.
func TestCalendarsReadAlikeEverywhere(t *testing.T) {
	want := map[string][]icalread.Event{}
	for _, d := range demos {
		out := planDemo(t, d.name, d.on)
		var line timeline
		data, err := os.ReadFile(filepath.Join(out, "timeline.json"))
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(data, &line); err != nil {
			t.Fatal(err)
		}
		for _, who := range []graft.Audience{graft.ForPatient, graft.ForDesk, graft.ForSurgeon} {
			path := filepath.Join(out, string(who)+".ics")
			want[path] = expected(t, path, line, who)
		}
	}
	icalread.Check(t, want)
}

// expected lists the events of a calendar: days from the timeline, texts from
// our own unfolded lines.
func expected(t *testing.T, path string, line timeline, who graft.Audience) []icalread.Event {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if complaints := ics.Lint(data); len(complaints) > 0 {
		t.Errorf("%s: %v", path, complaints)
	}
	spans := map[string]int{}
	for _, s := range line.Steps {
		for _, seer := range s.SeenBy {
			if seer != who {
				continue
			}
			first, last := s.Placed, s.Placed
			if who == graft.ForPatient {
				first, last = day.Max(s.NotBefore, s.Earliest), s.Latest
			}
			spans[first.String()+" "+last.AddDays(1).String()]++
		}
	}
	events := eventsIn(t, data)
	for _, e := range events {
		spans[e.Start+" "+e.End]--
	}
	for span, n := range spans {
		if n != 0 {
			t.Errorf("%s: %+d events on %s", path, -n, span)
		}
	}
	return events
}

var textEscape = strings.NewReplacer(`\\`, `\`, `\n`, "\n", `\,`, ",", `\;`, ";")

// eventsIn reads the few properties that the comparison needs.
func eventsIn(t *testing.T, data []byte) []icalread.Event {
	t.Helper()
	var events []icalread.Event
	unfolded := strings.ReplaceAll(string(data), "\r\n ", "")
	for _, block := range strings.Split(unfolded, "BEGIN:VEVENT\r\n")[1:] {
		value := func(name string) string {
			m := regexp.MustCompile(`(?m)^` + name + `(?:;[^:\r\n]*)?:([^\r\n]*)\r$`).FindStringSubmatch(block)
			if m == nil {
				return ""
			}
			return textEscape.Replace(m[1])
		}
		iso := func(s string) string { return s[:4] + "-" + s[4:6] + "-" + s[6:] }
		sequence := 0
		fmt.Sscan(value("SEQUENCE"), &sequence)
		events = append(events, icalread.Event{
			UID: value("UID"), Start: iso(value("DTSTART")), End: iso(value("DTEND")), Summary: value("SUMMARY"), Description: value("DESCRIPTION"),
			Location: value("LOCATION"), Status: value("STATUS"), Sequence: sequence, Transparent: value("TRANSP") == "TRANSPARENT",
		})
	}
	return events
}

// TestThePatientsCalendarTellsNothing looks for anything clinical, and for the
// case number, in the whole patient's file of every case with neutral titles.
func TestThePatientsCalendarTellsNothing(t *testing.T) {
	for _, d := range demos {
		out := planDemo(t, d.name, d.on)
		c := record(t, d.name)
		if c.Patient.CalendarDetail != graft.Neutral {
			continue
		}
		file, err := os.ReadFile(filepath.Join(out, "patient.ics"))
		if err != nil {
			t.Fatal(err)
		}
		text := strings.ToLower(strings.ReplaceAll(string(file), "\r\n ", ""))
		for _, word := range clinicalWords(c) {
			if regexp.MustCompile(`\b` + regexp.QuoteMeta(strings.ToLower(word)) + `\b`).MatchString(uidless(text)) {
				t.Errorf("%s: the patient's calendar says %q", d.name, word)
			}
		}
	}
}

// uidless drops what holds hexadecimal digits and days, where two digits of a
// tooth may stand by chance, and the telephone number.
func uidless(text string) string {
	return regexp.MustCompile(`(?m)^(uid|dtstamp|last-modified|dtstart|dtend|sequence)[^\r\n]*|phone: \+[0-9 ]+`).ReplaceAllString(text, "")
}

func record(t *testing.T, name string) casefile.Case {
	t.Helper()
	path := filepath.Join(reference.Root(), "testdata", "demo", name+".yaml")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	c, faults := casefile.ReadCase(path, data)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return c
}

// clinicalWords are the words of the record and of the trade that a lock screen
// must not show.
func clinicalWords(c casefile.Case) []string {
	words := []string{string(c.ID), c.Patient.Name, c.Surgery.Surgeon, "sinus", "implant", "implants", "graft", "bone", "tooth", "teeth", "stitches", "surgery", "operation", "bridge", "molar"}
	for _, s := range graft.Steps {
		words = append(words, string(s))
	}
	for _, s := range c.Sinuses {
		words = append(words, string(s.Side), string(s.Approach), string(s.Outcome), string(s.Health))
		for _, w := range []string{string(s.Graft.Material), string(s.Graft.Additive)} {
			if w != "" && w != "none" {
				words = append(words, w)
			}
		}
		for _, i := range s.Implants {
			words = append(words, fmt.Sprint(i.Tooth), i.Restoration)
		}
	}
	for _, f := range c.Patient.Flags {
		words = append(words, string(f))
	}
	return words
}
