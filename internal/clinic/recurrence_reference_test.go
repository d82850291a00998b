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

var recurrenceZones = []string{"Europe/Dublin", "Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Africa/Casablanca"}

// madeEvent is a made-up event that repeats.
type madeEvent struct {
	rule   drawn
	usual  bool // as calendar programs write them
	zone   *time.Location
	allDay bool
	text   string // with the events that stand in for some of its instances
}

// makeEvent makes up event n. Its start follows its rule, as RFC 5545 section
// 3.8.5.3 wants.
func makeEvent(t *rapid.T, n int) madeEvent {
	e := madeEvent{usual: n%2 == 0, allDay: n%7 == 6}
	zone, err := time.LoadLocation(recurrenceZones[n%len(recurrenceZones)])
	if err != nil {
		t.Fatal(err)
	}
	e.zone = zone
	hour := rapid.SampledFrom([]int{0, 1, 2, 3, 9, 9, 14, 23}).Draw(t, "hour")
	start := time.Date(2024, 6, 1, hour, rapid.SampledFrom([]int{0, 30}).Draw(t, "minute"), 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(0, 1200).Draw(t, "day"))
	if e.allDay {
		start = start.Truncate(24 * time.Hour)
	}
	if e.rule = drawUsualRule(t); !e.usual {
		e.rule = drawRule(t)
	}
	if n < len(dateutilErrs) {
		e.usual, e.rule, start = false, dateutilErrs[n].rule, time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	}
	if e.allDay {
		e.rule.hours, e.rule.minutes = nil, nil
		if len(e.rule.weekdays) == 0 {
			e.rule.positions = nil
		}
	}
	e.write(t, n, start)
	return e
}

// write writes the event with the first start that its rule has from one on, or with
// another rule if it has none.
func (e *madeEvent) write(t *rapid.T, n int, start time.Time) {
	found := e.rule.starts(start, start.AddDate(6, 0, 0))
	if len(found) == 0 {
		e.rule, found = drawn{freq: "WEEKLY"}, []time.Time{start}
	}
	starts := e.rule.starts(found[0], time.Date(2030, 1, 1, 0, 0, 0, 0, time.UTC))
	rule := e.rule.String()
	if e.rule.count == 0 && rapid.IntRange(0, 2).Draw(t, "until") == 0 {
		starts = starts[:rapid.IntRange(1, len(starts)).Draw(t, "last")]
		rule += ";UNTIL=" + e.until(starts[len(starts)-1])
	}
	e.text = e.component(t, n, starts[0], append(e.exceptions(t, starts), "RRULE:"+rule)...) + e.standIns(t, n, starts)
}

// rulesWithinDays repeat by the hour, the minute or the second.
var rulesWithinDays = []string{
	"FREQ=HOURLY;COUNT=3000", // over a change of the clock
	"FREQ=HOURLY;INTERVAL=3;UNTIL=20260302T170000Z",
	"FREQ=HOURLY;INTERVAL=5;BYHOUR=10,14;COUNT=200",
	"FREQ=HOURLY;INTERVAL=7;BYMONTHDAY=-1,15;COUNT=80",
	"FREQ=HOURLY;BYYEARDAY=-1,100;COUNT=60",
	"FREQ=HOURLY;BYMINUTE=0,20,40;BYSECOND=0,30;BYDAY=MO,FR;BYHOUR=9,10;COUNT=300",
	"FREQ=MINUTELY;INTERVAL=15;COUNT=6",
	"FREQ=MINUTELY;INTERVAL=90;COUNT=4",
	"FREQ=MINUTELY;INTERVAL=20;BYHOUR=9,10,11,12,13,14,15,16;COUNT=500",
	"FREQ=MINUTELY;BYSECOND=0,30;BYMINUTE=5;BYMONTH=4,5;COUNT=100",
	"FREQ=SECONDLY;INTERVAL=45;COUNT=400",
	"FREQ=SECONDLY;INTERVAL=7;BYSECOND=0;BYMINUTE=0,30;COUNT=40",
}

// withinDays is an event of such a rule from a Monday at nine.
func withinDays(t *testing.T, n int, rule string) madeEvent {
	zone, err := time.LoadLocation(recurrenceZones[n%len(recurrenceZones)])
	if err != nil {
		t.Fatal(err)
	}
	e := madeEvent{zone: zone}
	lines := []string{fmt.Sprintf("UID:%d", n), fmt.Sprintf("SUMMARY:%d", n), e.property("DTSTART", time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)), "DURATION:PT5M", "RRULE:" + rule}
	e.text = "BEGIN:VEVENT\n" + strings.Join(lines, "\n") + "\nEND:VEVENT\n"
	return e
}

// drawUsualRule makes up a rule as calendar programs write them.
func drawUsualRule(t *rapid.T) drawn {
	weekday := func() numbered { return numbered{0, rapid.IntRange(0, 6).Draw(t, "weekday")} }
	nth := func() []numbered {
		return []numbered{{rapid.SampledFrom([]int{1, 2, 3, 4, -1}).Draw(t, "nth"), weekday().weekday}}
	}
	month := []int{rapid.IntRange(1, 12).Draw(t, "month")}
	dayOfMonth := rapid.SampledFrom([]int{1, 15, 28, 29, 31, -1}).Draw(t, "day of month")
	weekdays := []numbered{weekday(), weekday()}
	slices.SortFunc(weekdays, func(x, y numbered) int { return x.weekday - y.weekday })
	d := rapid.SampledFrom([]drawn{
		{freq: "DAILY"},
		{freq: "WEEKLY"},
		{freq: "WEEKLY", weekdays: slices.Compact(weekdays), wkst: rapid.SampledFrom([]string{"", "SU"}).Draw(t, "wkst")},
		{freq: "MONTHLY"},
		{freq: "MONTHLY", monthDays: []int{dayOfMonth}},
		{freq: "MONTHLY", weekdays: nth()},
		{freq: "MONTHLY", weekdays: []numbered{{0, 1}, {0, 2}, {0, 3}, {0, 4}, {0, 5}}, positions: []int{rapid.SampledFrom([]int{1, -1}).Draw(t, "position")}},
		{freq: "YEARLY"},
		{freq: "YEARLY", months: month, monthDays: []int{max(dayOfMonth, 1)}},
		{freq: "YEARLY", months: month, weekdays: nth()},
	}).Draw(t, "rule")
	d.interval = rapid.SampledFrom([]int{0, 0, 2, 3}).Draw(t, "interval")
	d.count = rapid.SampledFrom([]int{0, 0, 12}).Draw(t, "count")
	return d
}

// component writes an event of the number n that starts at a time.
func (e madeEvent) component(t *rapid.T, n int, start time.Time, more ...string) string {
	length := rapid.SampledFrom([]string{"DURATION:PT45M", "DURATION:P1DT2H", e.property("DTEND", start.Add(90*time.Minute)), e.property("DTEND", start.AddDate(0, 0, 1))}).Draw(t, "length")
	if e.allDay {
		length = rapid.SampledFrom([]string{"DURATION:P1D", "DURATION:P1W", e.property("DTEND", start.AddDate(0, 0, 2))}).Draw(t, "days")
	}
	lines := append([]string{fmt.Sprintf("UID:%d", n), fmt.Sprintf("SUMMARY:%d", n), e.property("DTSTART", start), length}, more...)
	return "BEGIN:VEVENT\n" + strings.Join(lines, "\n") + "\nEND:VEVENT\n"
}

// exceptions writes times left out and added, on the event's clock or in UTC.
func (e madeEvent) exceptions(t *rapid.T, starts []time.Time) (lines []string) {
	if len(starts) < 4 {
		return nil
	}
	if n := rapid.IntRange(-1, len(starts)-3).Draw(t, "left out"); n >= 0 {
		lines = append(lines, e.property("EXDATE", starts[n]))
		if e.allDay {
			lines[0] += "," + starts[n+1].Format(dateForm)
		} else {
			lines = append(lines, "EXDATE:"+atWall(starts[n+1], e.zone).UTC().Format(utcForm))
		}
	}
	if n := rapid.IntRange(-1, len(starts)-1).Draw(t, "added"); n >= 0 {
		one := starts[n].AddDate(0, 0, 1)
		other := one.AddDate(0, 0, 1)
		// ical.js gives a start twice that both the rule and a list have.
		if slices.ContainsFunc(starts, one.Equal) || slices.ContainsFunc(starts, other.Equal) {
			return lines
		}
		_, value, _ := strings.Cut(e.property("", other), ":")
		lines = append(lines, e.property("RDATE", one)+","+value)
	}
	return lines
}

// standIns writes events that stand in for the last instances: moved, or cancelled.
func (e madeEvent) standIns(t *rapid.T, n int, starts []time.Time) (text string) {
	if len(starts) < 4 {
		return ""
	}
	if at := starts[len(starts)-1]; rapid.Bool().Draw(t, "moved") {
		text += e.component(t, n, at.AddDate(0, 0, 2).Add(-time.Hour), e.property("RECURRENCE-ID", at))
	}
	if at := starts[len(starts)-2]; rapid.Bool().Draw(t, "cancelled") {
		text += e.component(t, n, at, e.property("RECURRENCE-ID", at), "STATUS:CANCELLED")
	}
	return text
}

// property writes a time on the clock of the event's zone, or a day.
func (e madeEvent) property(name string, wall time.Time) string {
	if e.allDay {
		return name + ";VALUE=DATE:" + wall.Format(dateForm)
	}
	return fmt.Sprintf("%s;TZID=%s:%s", name, e.zone, wall.Format(localForm))
}

func (e madeEvent) until(wall time.Time) string {
	if e.allDay {
		return wall.Format(dateForm)
	}
	return atWall(wall, e.zone).UTC().Format(utcForm)
}

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

// compare holds what a reference says of an event against the instances here; equal
// is how instances are compared.
func (e madeEvent) compare(got [][2]int64, raw json.RawMessage, equal func(x, y [2]int64) bool) string {
	var want [][2]int64
	if err := json.Unmarshal(raw, &want); raw != nil && err != nil {
		return string(raw)
	}
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
		zones += zoneText(t, zone)
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

func (e madeEvent) name() string {
	_, name, _ := strings.Cut(e.text, "SUMMARY:")
	name, _, _ = strings.Cut(name, "\n")
	return name
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
		differs := e.compare(got, theirs[e.name()], func(x, y [2]int64) bool { return x == y })
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
// change, where RFC 5545 sections 3.8.5.3 and 3.3.5 have it otherwise. Of the rules
// that no program writes it follows too few.
func compareWithICalJS(t *testing.T, made []madeEvent, here map[string][][2]int64, theirs expansion) {
	equal, instances := 0, 0
	for _, e := range made {
		got := here[e.name()]
		if differs := e.compare(got, theirs[e.name()], func(x, y [2]int64) bool { return x[0] == y[0] || !e.sure(x[0]) }); differs != "" {
			t.Errorf("%s in %s: %s", e.rule, e.zone, differs)
			continue
		}
		equal, instances = equal+1, instances+len(got)
	}
	t.Logf("%d of %d events equal, %d instances", equal, len(made), instances)
}

// sure reports whether clocks are not changed within some hours of an instant.
func (e madeEvent) sure(at int64) bool {
	_, before := time.Unix(at-3*3600, 0).In(e.zone).Zone()
	_, after := time.Unix(at+3*3600, 0).In(e.zone).Zone()
	return e.allDay || before == after
}
