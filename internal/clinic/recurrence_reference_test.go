package clinic

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"graftclock/internal/day"
	calendars "graftclock/internal/ics"
	"graftclock/internal/reference"
)

// The references expand four years; starts near their ends are not compared.
const (
	expandedDays = "2026-01-01..2029-12-31"
	firstStart   = "20260101"
	lastStart    = "20291230"
	madeEvents   = 300
	eventsOfFile = 100 // ical.js grows slow on more
)

// expansion is what a reference says of each event: a list, or an error.
type expansion map[string]json.RawMessage

// askReference hands the files to a reference and returns what it says of all
// events.
func askReference(t *testing.T, program string, args []string, files []string) expansion {
	t.Helper()
	command := exec.Command(program, slices.Concat(args, []string{firstStart, lastStart}, files)...)
	command.Dir = reference.Folder()
	var stderr bytes.Buffer
	command.Stderr = &stderr
	out, err := command.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, stderr.String())
	}
	all := expansion{}
	for line := range bytes.Lines(out) {
		if err := json.Unmarshal(line, &all); err != nil {
			t.Fatal(err)
		}
	}
	return all
}

// expandedHere reads the files as busy files and returns the instances of each
// event.
func expandedHere(t *testing.T, files []string) map[string][][2]int64 {
	t.Helper()
	b := builderOf(t, "Europe/Dublin", expandedDays)
	found := map[string][][2]int64{}
	first, last := dayOf(t, firstStart), dayOf(t, lastStart)
	for _, path := range files {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		b.eventFile("busy_files", File{path, data}, "", func(name string, from, to moment) {
			if at := from.at.Unix(); at >= first.Unix() && at <= last.Unix() {
				found[name] = append(found[name], [2]int64{at, to.at.Unix()})
			}
		})
	}
	if len(b.problems) > 0 {
		t.Fatal(b.problems)
	}
	for _, list := range found {
		slices.SortFunc(list, func(x, y [2]int64) int { return cmp.Or(cmp.Compare(x[0], y[0]), cmp.Compare(x[1], y[1])) })
	}
	return found
}

func dayOf(t *testing.T, text string) time.Time {
	t.Helper()
	at, err := time.Parse(dateForm, text)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// zoneText returns the VTIMEZONE of a zone, as graftclock writes it.
func zoneText(t *testing.T, zone string) string {
	t.Helper()
	c := calendars.Calendar{Zone: zone, Stamp: time.Unix(0, 0)}
	for year := 2024; year <= 2031; year++ {
		c.Events = append(c.Events, calendars.Event{UID: strconv.Itoa(year), Summary: "x", Day: day.New(year, 6, 15), Start: 600, Minutes: 10})
	}
	data, err := calendars.Encode(c)
	if err != nil {
		t.Fatal(err)
	}
	text := strings.ReplaceAll(string(data), "\r\n", "\n")
	return text[strings.Index(text, "BEGIN:VTIMEZONE"):strings.Index(text, "BEGIN:VEVENT")]
}

// dateutilErrs are the rules in which dateutil, of which the library is a
// translation, and RFC 5545 section 3.3.10 part, with one that shows it.
// TestRulesEqualALookAtEveryDay reads the RFC a second way.
var dateutilErrs = []struct {
	why  string
	rule drawn
	of   func(drawn) bool
}{
	{"numbered weekdays beside plain ones: it takes what is a union for what both must hold",
		drawn{freq: "MONTHLY", count: 12, weekdays: []numbered{{0, 1}, {1, 2}}},
		func(d drawn) bool {
			is := func(n int) bool {
				return slices.ContainsFunc(d.weekdays, func(w numbered) bool { return (w.n == 0) == (n == 0) })
			}
			return is(0) && is(1)
		}},
	{"BYWEEKNO without a day: it takes the whole week, not the start's weekday",
		drawn{freq: "YEARLY", count: 12, weeks: []int{20}},
		func(d drawn) bool {
			return len(d.weeks) > 0 && len(d.weekdays)+len(d.monthDays)+len(d.yearDays) == 0
		}},
	{"the last week of a year, at the start of the next: it counts the weeks of the wrong year",
		drawn{freq: "YEARLY", count: 12, wkst: "SU", weeks: []int{52}, weekdays: []numbered{{0, 4}, {0, 5}}},
		func(d drawn) bool { return len(d.weeks) > 0 }},
	{"FREQ=WEEKLY with BYSETPOS: its first week begins with the start",
		drawn{freq: "WEEKLY", count: 12, weekdays: []numbered{{0, 1}, {0, 3}, {0, 5}}, positions: []int{2}},
		func(d drawn) bool { return d.freq == "WEEKLY" && len(d.positions) > 0 }},
}

// compare holds what a reference says of an event against the instances here: those
// that are asked for, by the given measure of being equal.
func (e madeEvent) compare(got [][2]int64, raw json.RawMessage, asked func([2]int64) bool, equal func(x, y [2]int64) bool) string {
	var want [][2]int64
	if err := json.Unmarshal(raw, &want); raw != nil && err != nil {
		return string(raw)
	}
	not := func(i [2]int64) bool { return !asked(i) }
	got, want = slices.DeleteFunc(slices.Clone(got), not), slices.DeleteFunc(want, not)
	if slices.EqualFunc(got, want, equal) {
		return ""
	}
	return fmt.Sprintf("%d instances here, %d there\n%s%v\n%v", len(got), len(want), e.text, got[:min(6, len(got))], want[:min(6, len(want))])
}

// writeFiles writes the events to files of a folder, the zones with them.
func writeFiles(t *testing.T, folder, name string, made []madeEvent) (files []string) {
	t.Helper()
	var zones string
	for _, zone := range recurrenceZones {
		text := zoneText(t, zone)
		zones += text + strings.Replace(text, "TZID:", "TZID:"+ownName, 1)
	}
	for some := range slices.Chunk(made, eventsOfFile) {
		text := zones
		for _, e := range some {
			text += e.text
		}
		path := filepath.Join(folder, fmt.Sprintf("%s-%d.ics", name, len(files)))
		if err := os.WriteFile(path, calendarFile(strings.TrimSpace(text)), 0o600); err != nil {
			t.Fatal(err)
		}
		files = append(files, path)
	}
	return files
}

// TestRecurrencesEqualTheReferences compares the instances of made-up events, five
// zones, over four years.
func TestRecurrencesEqualTheReferences(t *testing.T) {
	var usual, others []madeEvent
	for n := range madeEvents {
		e := rapid.Custom(func(t *rapid.T) madeEvent { return makeEvent(t, n) }).Example(n)
		if e.usual {
			usual = append(usual, e)
		} else {
			others = append(others, e)
		}
	}
	for n, rule := range rulesWithinDays {
		others = append(others, withinDays(t, madeEvents+n, rule))
	}
	folder := t.TempDir()
	usualFiles := writeFiles(t, folder, "usual", usual)
	files := append(usualFiles, writeFiles(t, folder, "others", others)...)
	here := expandedHere(t, files)
	t.Run("dateutil", func(t *testing.T) {
		compareWithDateutil(t, append(usual, others...), here, askReference(t, reference.Python(t, "icalendar", "dateutil", "zoneinfo"), []string{"rrule_python.py"}, files))
	})
	t.Run("ical.js", func(t *testing.T) {
		compareWithICalJS(t, usual, here, askReference(t, reference.Node(t, "ical.js"), []string{"rrule_icaljs.mjs"}, usualFiles))
	})
}

func compareWithDateutil(t *testing.T, made []madeEvent, here map[string][][2]int64, theirs expansion) {
	equal, instances, erred := 0, 0, map[string]int{}
	for _, e := range made {
		got := here[e.name()]
		differs := e.compare(got, theirs[e.name()], all, func(x, y [2]int64) bool { return x == y })
		if differs == "" {
			equal, instances = equal+1, instances+len(got)
			continue
		}
		known := false
		for _, d := range dateutilErrs {
			if !known && d.of(e.rule) {
				known = true
				erred[d.why]++
			}
		}
		if !known {
			t.Errorf("%s in %s: %s", e.rule, e.zone, differs)
		}
	}
	t.Logf("%d of %d events equal, %d instances", equal, len(made), instances)
	for _, d := range dateutilErrs {
		if t.Logf("%d events: %s", erred[d.why], d.why); erred[d.why] == 0 {
			t.Errorf("no event tells dateutil from RFC 5545 any more: %s", d.why)
		}
	}
}

// compareWithICalJS compares starts: ical.js counts every length on the wall's
// clock, and tells a time that clocks leave out or show twice by the clock after the
// change, where RFC 5545 sections 3.8.5.3 and 3.3.5 have it otherwise; such starts are
// compared with dateutil alone. Of the rules that no program writes it follows too few.
func compareWithICalJS(t *testing.T, made []madeEvent, here map[string][][2]int64, theirs expansion) {
	equal, instances, moved := 0, 0, 0
	for _, e := range made {
		if e.everyLeapDay() {
			moved++
			continue
		}
		got := here[e.name()]
		if differs := e.compare(got, theirs[e.name()], e.sure, func(x, y [2]int64) bool { return x[0] == y[0] }); differs != "" {
			t.Errorf("%s in %s: %s", e.rule, e.zone, differs)
			continue
		}
		equal, instances = equal+1, instances+len(got)
	}
	t.Logf("%d of %d events equal, %d instances; %d are of 29 February, which it moves to 1 March", equal, len(made), instances, moved)
}

// everyLeapDay reports whether an event repeats each year from a 29 February, without
// another word: RFC 5545 section 3.3.10 leaves out the years that have none.
func (e madeEvent) everyLeapDay() bool {
	return e.rule.freq == "YEARLY" && len(e.rule.months)+len(e.rule.monthDays)+len(e.rule.weekdays) == 0 && strings.Contains(e.text[:strings.Index(e.text, "RRULE")], "0229")
}

// sure reports whether clocks are not changed within some hours of a start.
func (e madeEvent) sure(i [2]int64) bool {
	_, before := time.Unix(i[0]-3*3600, 0).In(e.zone).Zone()
	_, after := time.Unix(i[0]+3*3600, 0).In(e.zone).Zone()
	return e.allDay || before == after
}

func all([2]int64) bool { return true }
