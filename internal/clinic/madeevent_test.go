package clinic

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

var recurrenceZones = []string{"Europe/Dublin", "Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Africa/Casablanca"}

// madeEvent is a made-up event that repeats.
type madeEvent struct {
	rule   drawn
	usual  bool // as calendar programs write them
	zone   *time.Location
	own    bool // its zone goes by a name that only the file knows
	allDay bool
	text   string // with the events that stand in for some of its instances
}

// makeEvent makes up event n. Its start follows its rule, as RFC 5545 section
// 3.8.5.3 wants.
func makeEvent(t *rapid.T, n int) madeEvent {
	e := madeEvent{usual: n%2 == 0, allDay: n%7 == 6, own: n%3 == 0}
	zone, err := time.LoadLocation(recurrenceZones[n%len(recurrenceZones)])
	if err != nil {
		t.Fatal(err)
	}
	e.zone = zone
	if n < len(dateutilErrs) {
		e.usual, e.rule = false, dateutilErrs[n].rule
		first := e.rule.starts(time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC), time.Date(2028, 1, 1, 0, 0, 0, 0, time.UTC))[0]
		e.text = e.component(t, n, first, "RRULE:"+e.rule.String())
		return e
	}
	start := e.drawStart(t)
	if e.rule = drawUsualRule(t); !e.usual {
		e.rule = drawRule(t)
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

// drawStart makes up a time from which the rule is to begin: any, on 29 February, at
// the turn of a year, or in the night of a change of the zone's clock.
func (e madeEvent) drawStart(t *rapid.T) time.Time {
	day := time.Date(2024, 2, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(0, 1300).Draw(t, "day"))
	hour := rapid.SampledFrom([]int{0, 1, 2, 3, 9, 9, 14, 23}).Draw(t, "hour")
	switch rapid.IntRange(0, 9).Draw(t, "kind of start") {
	case 0:
		day = time.Date(2024, 2, 29, 0, 0, 0, 0, time.UTC)
	case 1:
		day = time.Date(day.Year(), 12, 29, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(0, 6).Draw(t, "turn"))
	case 2, 3, 4:
		for !e.changes(day) {
			day = day.AddDate(0, 0, 1)
		}
		hour = rapid.IntRange(0, 3).Draw(t, "hour of the night")
	}
	if e.allDay {
		return day
	}
	return day.Add(time.Duration(hour)*time.Hour + time.Duration(rapid.SampledFrom([]int{0, 15, 30}).Draw(t, "minute"))*time.Minute)
}

// changes reports whether the zone's clock is changed on a day.
func (e madeEvent) changes(day time.Time) bool {
	_, before := onWall(day, e.zone, false).at.Zone()
	_, after := onWall(day.AddDate(0, 0, 1), e.zone, false).at.Zone()
	return before != after
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
	exceptions, left := e.exceptions(t, starts)
	e.text = e.component(t, n, starts[0], append(exceptions, "RRULE:"+rule)...) + e.standIns(t, n, starts, left)
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
		return []numbered{{rapid.SampledFrom([]int{1, 2, 3, 4, 5, -1, -2}).Draw(t, "nth"), weekday().weekday}}
	}
	month := []int{rapid.IntRange(1, 12).Draw(t, "month")}
	dayOfMonth := rapid.SampledFrom([]int{1, 15, 28, 29, 30, 31, -1, -2, -31}).Draw(t, "day of month")
	weekdays := []numbered{weekday(), weekday(), weekday()}
	slices.SortFunc(weekdays, func(x, y numbered) int { return x.weekday - y.weekday })
	d := rapid.SampledFrom([]drawn{
		{freq: "DAILY"},
		{freq: "WEEKLY"},
		{freq: "WEEKLY", weekdays: slices.Compact(weekdays), wkst: rapid.SampledFrom([]string{"", "SU", "MO", "WE", "SA"}).Draw(t, "wkst")},
		{freq: "MONTHLY"},
		{freq: "MONTHLY", monthDays: []int{dayOfMonth}},
		{freq: "MONTHLY", weekdays: nth()},
		{freq: "MONTHLY", weekdays: []numbered{{0, 1}, {0, 2}, {0, 3}, {0, 4}, {0, 5}}, positions: []int{rapid.SampledFrom([]int{1, 2, -1, -3}).Draw(t, "position")}},
		{freq: "YEARLY"},
		{freq: "YEARLY", months: []int{2}, monthDays: []int{29}},
		{freq: "YEARLY", months: month, monthDays: []int{max(dayOfMonth, 1)}},
		{freq: "YEARLY", months: month, weekdays: nth()},
	}).Draw(t, "rule")
	d.interval = rapid.SampledFrom([]int{0, 0, 2, 3, 4}).Draw(t, "interval")
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

// exceptions writes times left out and added, on the event's clock or in UTC. Left are
// those left out.
func (e madeEvent) exceptions(t *rapid.T, starts []time.Time) (lines []string, left []time.Time) {
	if len(starts) < 4 {
		return nil, nil
	}
	if n := rapid.IntRange(-1, len(starts)-4).Draw(t, "left out"); n >= 0 {
		left = starts[n : n+2]
		lines = append(lines, e.property("EXDATE", starts[n]))
		if e.allDay {
			lines[0] += "," + starts[n+1].Format(dateForm)
		} else {
			lines = append(lines, "EXDATE:"+e.utc(starts[n+1])+","+e.utc(starts[n+2].Add(time.Hour))) // the last in vain
		}
	}
	if n := rapid.IntRange(-1, len(starts)-1).Draw(t, "added"); n >= 0 {
		one := starts[n].AddDate(0, 0, 1)
		other := one.AddDate(0, 0, 1)
		// ical.js gives a start twice that both the rule and a list have.
		if slices.ContainsFunc(starts, one.Equal) || slices.ContainsFunc(starts, other.Equal) {
			return lines, left
		}
		_, value, _ := strings.Cut(e.property("", other), ":")
		lines = append(lines, e.property("RDATE", one)+","+value)
	}
	return lines, left
}

// standIns writes events that stand in for some instances: moved by hours or days,
// of another length, cancelled, or taking no time any more. The earliest and the last
// are among them, which may move into the compared years or out of them; those left out
// are not, of which programs think differently.
func (e madeEvent) standIns(t *rapid.T, n int, starts, left []time.Time) (text string) {
	if len(starts) < 4 {
		return ""
	}
	first := slices.IndexFunc(starts, func(at time.Time) bool { return at.Format(dateForm) >= firstStart })
	some := []int{len(starts) - 1, len(starts) - 2, max(first, 0), max(first-1, 0), len(starts) / 2}
	slices.Sort(some)
	for _, i := range slices.Compact(some) {
		at, id := starts[i], e.property("RECURRENCE-ID", starts[i])
		if slices.ContainsFunc(left, at.Equal) {
			continue
		}
		if !e.usual && !e.allDay && rapid.Bool().Draw(t, "named in UTC") {
			id = "RECURRENCE-ID:" + e.utc(at)
		}
		switch rapid.IntRange(0, 6).Draw(t, "change") {
		case 0:
			text += e.component(t, n, at.AddDate(0, 0, rapid.SampledFrom([]int{-4, -1, 1, 2, 5}).Draw(t, "moved")), id)
		case 1:
			text += e.component(t, n, at.AddDate(0, 0, 2).Add(-time.Hour), id)
		case 2:
			text += e.component(t, n, at, id)
		case 3:
			text += e.component(t, n, at, id, "STATUS:CANCELLED")
		case 4:
			text += e.component(t, n, at, id, "TRANSP:TRANSPARENT")
		}
	}
	return text
}

// property writes a time on the clock of the event's zone, or a day.
func (e madeEvent) property(name string, wall time.Time) string {
	if e.allDay {
		return name + ";VALUE=DATE:" + wall.Format(dateForm)
	}
	zone := e.zone.String()
	if e.own {
		zone = ownName + zone
	}
	return fmt.Sprintf("%s;TZID=%s:%s", name, zone, wall.Format(localForm))
}

// ownName comes before the name of a zone that only the file knows.
const ownName = "Clocks of "

func (e madeEvent) until(wall time.Time) string {
	if e.allDay {
		return wall.Format(dateForm)
	}
	return e.utc(wall)
}

func (e madeEvent) utc(wall time.Time) string {
	return onWall(wall, e.zone, false).at.UTC().Format(utcForm)
}

func (e madeEvent) name() string {
	_, name, _ := strings.Cut(e.text, "SUMMARY:")
	name, _, _ = strings.Cut(name, "\n")
	return name
}
