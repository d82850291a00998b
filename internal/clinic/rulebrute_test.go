package clinic

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// drawn is a rule that a test made up; zero fields are not written.
type drawn struct {
	freq                               string
	interval, count                    int
	wkst                               string
	months, weeks, yearDays, monthDays []int
	weekdays                           []numbered
	hours, minutes, positions          []int
}

// numbered is a weekday, 0 for Sunday, with its number, 0 for none.
type numbered struct{ n, weekday int }

var weekdayNames = []string{"SU", "MO", "TU", "WE", "TH", "FR", "SA"}

func (w numbered) String() string {
	if w.n == 0 {
		return weekdayNames[w.weekday]
	}
	return fmt.Sprintf("%d%s", w.n, weekdayNames[w.weekday])
}

func (d drawn) String() string {
	parts := []string{"FREQ=" + d.freq}
	one := func(name string, n int) {
		if n > 0 {
			parts = append(parts, fmt.Sprintf("%s=%d", name, n))
		}
	}
	one("INTERVAL", d.interval)
	one("COUNT", d.count)
	if d.wkst != "" {
		parts = append(parts, "WKST="+d.wkst)
	}
	lists := func(name string, list any, n int) {
		if n > 0 {
			parts = append(parts, name+"="+strings.ReplaceAll(strings.Trim(fmt.Sprint(list), "[]"), " ", ","))
		}
	}
	lists("BYMONTH", d.months, len(d.months))
	lists("BYWEEKNO", d.weeks, len(d.weeks))
	lists("BYYEARDAY", d.yearDays, len(d.yearDays))
	lists("BYMONTHDAY", d.monthDays, len(d.monthDays))
	lists("BYDAY", d.weekdays, len(d.weekdays))
	lists("BYHOUR", d.hours, len(d.hours))
	lists("BYMINUTE", d.minutes, len(d.minutes))
	lists("BYSETPOS", d.positions, len(d.positions))
	return strings.Join(parts, ";")
}

// drawRule makes up a rule of one of the frequencies that RFC 5545 allows.
func drawRule(t *rapid.T) drawn {
	some := func(name string, chance int, each *rapid.Generator[int]) []int {
		if rapid.IntRange(0, 99).Draw(t, name+"?") >= chance {
			return nil
		}
		return rapid.SliceOfN(each, 1, 3).Draw(t, name)
	}
	either := func(most int) *rapid.Generator[int] {
		return rapid.Custom(func(t *rapid.T) int {
			return rapid.SampledFrom([]int{1, 1, -1}).Draw(t, "sign") * rapid.IntRange(1, most).Draw(t, "n")
		})
	}
	d := drawn{freq: rapid.SampledFrom([]string{"YEARLY", "MONTHLY", "WEEKLY", "DAILY"}).Draw(t, "freq")}
	d.interval = rapid.SampledFrom([]int{0, 0, 1, 2, 3, 5}).Draw(t, "interval")
	d.count = rapid.SampledFrom([]int{0, 0, 0, 1, 4, 30}).Draw(t, "count")
	d.wkst = rapid.SampledFrom(append([]string{"", ""}, weekdayNames...)).Draw(t, "wkst")
	d.months = some("months", 30, rapid.IntRange(1, 12))
	if d.freq == "YEARLY" {
		d.weeks = some("weeks", 25, either(53))
		d.yearDays = some("yearDays", 15, either(366))
	}
	if d.freq != "WEEKLY" {
		d.monthDays = some("monthDays", 30, either(31))
	}
	if rapid.IntRange(0, 99).Draw(t, "weekdays?") < 50 {
		most := 0
		switch {
		case d.freq == "MONTHLY", d.freq == "YEARLY" && len(d.months) > 0 && len(d.weeks) == 0:
			most = 5
		case d.freq == "YEARLY" && len(d.weeks) == 0:
			most = 53
		}
		d.weekdays = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) numbered {
			w := numbered{0, rapid.IntRange(0, 6).Draw(t, "weekday")}
			if most > 0 && rapid.Bool().Draw(t, "numbered") {
				w.n = either(most).Draw(t, "number")
			}
			return w
		}), 1, 4).Draw(t, "weekdays")
	}
	d.hours = some("hours", 15, rapid.IntRange(0, 23))
	d.minutes = some("minutes", 10, rapid.IntRange(0, 59))
	if len(d.months)+len(d.weeks)+len(d.yearDays)+len(d.monthDays)+len(d.weekdays)+len(d.hours)+len(d.minutes) > 0 {
		d.positions = some("positions", 30, either(9))
	}
	if len(d.weeks) > 0 {
		d.positions, d.interval = nil, min(d.interval, 1)
	}
	return d
}

// period numbers the year, month, week or day of a day.
func (d drawn) period(at time.Time) int {
	days := int(at.Unix() / 86400)
	switch d.freq {
	case "YEARLY":
		return at.Year()
	case "MONTHLY":
		return at.Year()*12 + int(at.Month())
	case "WEEKLY":
		first := max(slices.Index(weekdayNames, d.wkst), 0)
		if d.wkst == "" {
			first = 1
		}
		return (days + 4 - first + 70000) / 7 // the first day of the count is a Thursday
	}
	return days
}

// weekOfYear returns the number of a day's week, and how many weeks that year has.
func (d drawn) weekOfYear(at time.Time) (n, weeks int) {
	first := 1
	if d.wkst != "" {
		first = slices.Index(weekdayNames, d.wkst)
	}
	start := func(year int) time.Time { // of the week that has 4 January
		fourth := time.Date(year, 1, 4, 0, 0, 0, 0, time.UTC)
		return fourth.AddDate(0, 0, -(int(fourth.Weekday())-first+7)%7)
	}
	year := at.Year() + 1
	for at.Before(start(year)) {
		year--
	}
	return int(at.Sub(start(year)).Hours())/24/7 + 1, int(start(year+1).Sub(start(year)).Hours()) / 24 / 7
}

// takesDay reads the table of RFC 5545 section 3.3.10 day by day.
func (d drawn) takesDay(at, start time.Time) bool {
	has := func(list []int, is, of int) bool {
		return len(list) == 0 || slices.Contains(list, is) || slices.Contains(list, is-of-1)
	}
	monthDays, months, weekdays := d.monthDays, d.months, d.weekdays
	if len(d.weeks)+len(d.yearDays)+len(d.monthDays)+len(d.weekdays) == 0 {
		switch d.freq {
		case "YEARLY":
			if len(months) == 0 {
				months = []int{int(start.Month())}
			}
			monthDays = []int{start.Day()}
		case "MONTHLY":
			monthDays = []int{start.Day()}
		case "WEEKLY":
			weekdays = []numbered{{0, int(start.Weekday())}}
		}
	}
	if len(d.weeks) > 0 && len(d.yearDays)+len(d.monthDays)+len(d.weekdays) == 0 {
		weekdays = []numbered{{0, int(start.Weekday())}}
	}
	week, weeks := d.weekOfYear(at)
	daysOfMonth := time.Date(at.Year(), at.Month()+1, 0, 0, 0, 0, 0, time.UTC).Day()
	daysOfYear := time.Date(at.Year(), 12, 31, 0, 0, 0, 0, time.UTC).YearDay()
	if !has(months, int(at.Month()), 99) || !has(d.weeks, week, weeks) || !has(d.yearDays, at.YearDay(), daysOfYear) || !has(monthDays, at.Day(), daysOfMonth) {
		return false
	}
	day, of := at.Day(), daysOfMonth
	if d.freq == "YEARLY" && len(d.months) == 0 {
		day, of = at.YearDay(), daysOfYear
	}
	return len(weekdays) == 0 || slices.ContainsFunc(weekdays, func(w numbered) bool {
		return w.weekday == int(at.Weekday()) && (w.n == 0 || w.n == (day-1)/7+1 || w.n == -((of-day)/7+1))
	})
}

// starts works out a rule by looking at every day.
func (d drawn) starts(start, end time.Time) []time.Time {
	hours, minutes := slices.Clone(d.hours), slices.Clone(d.minutes)
	if len(hours) == 0 {
		hours = []int{start.Hour()}
	}
	if len(minutes) == 0 {
		minutes = []int{start.Minute()}
	}
	slices.Sort(hours)
	slices.Sort(minutes)
	hours, minutes = slices.Compact(hours), slices.Compact(minutes)
	var all, set []time.Time
	flush := func() {
		for i, at := range set {
			if at.Before(start) || len(d.positions) > 0 && !slices.Contains(d.positions, i+1) && !slices.Contains(d.positions, i-len(set)) {
				continue
			}
			if d.count == 0 || len(all) < d.count {
				all = append(all, at)
			}
		}
		set = nil
	}
	midnight := start.Truncate(24 * time.Hour)
	period := d.period(midnight)
	for at := midnight.AddDate(-1, 0, 0); at.Before(end.AddDate(1, 0, 0)); at = at.AddDate(0, 0, 1) {
		if p := d.period(at); p != period {
			flush()
			period = p
		}
		if (d.period(at)-d.period(midnight))%max(d.interval, 1) == 0 && d.takesDay(at, start) {
			for _, h := range hours {
				for _, m := range minutes {
					set = append(set, at.Add(time.Duration(h)*time.Hour+time.Duration(m)*time.Minute))
				}
			}
		}
	}
	flush()
	return slices.DeleteFunc(all, func(at time.Time) bool { return at.After(end) })
}

func TestRulesEqualALookAtEveryDay(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		const rules = 3
		for range rules {
			sameAsALook(rt, drawRule(rt))
		}
	})
}

// sameAsALook compares what a rule gives with what a look at every day does.
func sameAsALook(rt *rapid.T, d drawn) {
	start := time.Date(2024, 1, 1, 9, 30, 0, 0, time.UTC)
	if leap := rapid.IntRange(0, 7).Draw(rt, "leap day"); leap == 0 {
		start = start.AddDate(0, 0, 59)
	} else {
		start = start.AddDate(0, 0, rapid.IntRange(0, 1500).Draw(rt, "start"))
	}
	end := start.AddDate(rapid.IntRange(1, 9).Draw(rt, "years"), 0, 0)
	u, err := readRule(d.String(), onWall(start, time.UTC, false), time.UTC)
	if err != nil {
		rt.Fatalf("%s: %v", d, err)
	}
	var got []time.Time
	for wall, takes := range u.walls(start, end) {
		if wall.After(end) {
			break
		}
		if takes && !wall.Before(start) && (d.count == 0 || len(got) < d.count) {
			got = append(got, wall)
		}
	}
	want := d.starts(start, end)
	if slices.EqualFunc(got, want, time.Time.Equal) {
		return
	}
	i := 0
	for i < len(got) && i < len(want) && got[i].Equal(want[i]) {
		i++
	}
	rt.Fatalf("%s from %s: %d starts, want %d; first difference at %d: %v, want %v", d, start, len(got), len(want), i, got[i:min(i+2, len(got))], want[i:min(i+2, len(want))])
}
