package clinic

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/teambition/rrule-go"

	"graftclock/internal/day"
)

// rule is a rule by which an event repeats (RFC 5545 section 3.3.10), as the
// library follows it right: without start, COUNT and UNTIL, which are watched
// here.
type rule struct {
	rrule.ROption
	count    int       // 0 = without end
	until    time.Time // last start, zero = without end
	untilDay day.Day   // last day, zero = without end
}

// ruleParts are the parts of a rule that are read.
var ruleParts = []string{
	"FREQ", "INTERVAL", "COUNT", "UNTIL", "WKST", "BYMONTH", "BYWEEKNO", "BYYEARDAY", "BYMONTHDAY", "BYDAY",
	"BYHOUR", "BYMINUTE", "BYSECOND", "BYSETPOS",
}

// mostRuleText bounds a rule: all days of a year, counted from both ends, fit.
const mostRuleText = 4_096

// readRule reads the rule of an event with the given start. Zone is the clinic's.
func readRule(text string, start moment, zone *time.Location) (u rule, err error) {
	if len(text) > mostRuleText {
		return u, fmt.Errorf("it is longer than %d letters", mostRuleText)
	}
	given := map[string]bool{}
	var rest []string
	for _, part := range strings.Split(strings.ToUpper(text), ";") {
		name, value, _ := strings.Cut(part, "=")
		switch {
		case !slices.Contains(ruleParts, name):
			return u, fmt.Errorf("%s is no part of a rule that is read: want %s", quoted(part), strings.Join(ruleParts, ", "))
		case given[name]:
			return u, fmt.Errorf("%s stands there twice", name)
		case name == "UNTIL":
			if err := u.readUntil(value, start, zone); err != nil {
				return u, fmt.Errorf("UNTIL: %w", err)
			}
		default:
			rest = append(rest, part)
		}
		given[name] = true
	}
	option, err := rrule.StrToROption(strings.Join(rest, ";"))
	if err != nil {
		return u, err
	}
	u.ROption, u.count = *option, option.Count
	u.Count = 0
	if err := errors.Join(u.unfit(given, start.allDay), u.unfitDays()); err != nil {
		return u, err
	}
	u.settle(start)
	_, err = rrule.NewRRule(u.ROption)
	return u, err
}

// readUntil reads the last start, or the last day where it or the event's start is
// a day. It may lie in any year: some programs write 9999 for never.
func (u *rule) readUntil(text string, start moment, zone *time.Location) error {
	if !start.allDay {
		zone = start.at.Location()
	}
	until, err := readMoment(text, false, zone)
	switch {
	case err != nil:
		return err
	case until.allDay:
		u.untilDay = until.day()
	case start.allDay:
		// In UTC it may be the day's own midnight or the clinic's.
		u.untilDay = day.Max(day.Of(until.wall), day.Of(until.at.In(zone)))
	default:
		u.until = until.at
	}
	return nil
}

// over reports whether a start comes after the last one of the rule.
func (u rule) over(m moment) bool {
	return !u.untilDay.IsZero() && m.day().After(u.untilDay) || !u.until.IsZero() && m.at.After(u.until)
}

// mostInterval bounds INTERVAL; as many weeks are six hundred years.
const mostInterval = 32_767

// unfit refuses what RFC 5545 section 3.3.10 forbids, and positions within a day,
// which the walk through it does not know.
func (u *rule) unfit(given map[string]bool, allDay bool) error {
	others := slices.ContainsFunc(ruleParts, func(name string) bool {
		return given[name] && strings.HasPrefix(name, "BY") && name != "BYSETPOS"
	})
	for _, broken := range []struct {
		is   bool
		says string
	}{
		{given["COUNT"] && given["UNTIL"], "it has both COUNT and UNTIL"},
		{given["COUNT"] && u.count < 1, fmt.Sprintf("COUNT=%d: want 1 or more", u.count)},
		{given["INTERVAL"] && (u.Interval < 1 || u.Interval > mostInterval), fmt.Sprintf("INTERVAL=%d: want 1 to %d", u.Interval, mostInterval)},
		{given["BYWEEKNO"] && u.Freq != rrule.YEARLY, fmt.Sprintf("BYWEEKNO with FREQ=%s", u.Freq)},
		{given["BYWEEKNO"] && (given["BYSETPOS"] || u.Interval > 1), "BYWEEKNO with BYSETPOS or INTERVAL is not read"},
		{given["BYYEARDAY"] && u.Freq > rrule.YEARLY && !u.withinDays(), fmt.Sprintf("BYYEARDAY with FREQ=%s", u.Freq)},
		{given["BYMONTHDAY"] && u.Freq == rrule.WEEKLY, "BYMONTHDAY with FREQ=WEEKLY"},
		{given["BYSETPOS"] && !others, "BYSETPOS without another part that begins with BY"},
		{given["BYSETPOS"] && u.withinDays(), fmt.Sprintf("BYSETPOS with FREQ=%s is not read", u.Freq)},
		{allDay && u.withinDays(), fmt.Sprintf("FREQ=%s, but the event starts on a whole day", u.Freq)},
	} {
		if broken.is {
			return errors.New(broken.says)
		}
	}
	return nil
}

// mostWeekdays is how often a weekday comes in a month at most.
const mostWeekdays = 5

// unfitDays refuses numbered weekdays where RFC 5545 section 3.3.10 knows none, and
// such as no month has, on which the library panics.
func (u *rule) unfitDays() error {
	for _, w := range u.Byweekday {
		switch n := w.N(); {
		case n == 0:
		case u.Freq > rrule.MONTHLY:
			return fmt.Errorf("BYDAY=%s with FREQ=%s", w, u.Freq)
		case len(u.Byweekno) > 0:
			return fmt.Errorf("BYDAY=%s with BYWEEKNO", w)
		case u.monthly() && (n > mostWeekdays || n < -mostWeekdays):
			return fmt.Errorf("BYDAY=%s: no month has that", w)
		}
	}
	return nil
}

// monthly reports whether numbered weekdays are counted within the month.
func (u *rule) monthly() bool { return u.Freq == rrule.MONTHLY || len(u.Bymonth) > 0 }

// settle puts the rule into the words in which the library follows it right: what
// is named twice counts once, the days of a whole week are those of the event's
// weekday, numbered weekdays stand beside others, and a whole day has no time.
func (u *rule) settle(start moment) {
	u.Dtstart = start.wall
	if start.allDay {
		u.Byhour, u.Byminute, u.Bysecond = nil, nil, nil
	}
	for _, list := range []*[]int{&u.Bysetpos, &u.Bymonth, &u.Bymonthday, &u.Byyearday, &u.Byweekno, &u.Byhour, &u.Byminute, &u.Bysecond} {
		slices.Sort(*list)
		*list = slices.Compact(*list)
	}
	weekdays := []rrule.Weekday{rrule.SU, rrule.MO, rrule.TU, rrule.WE, rrule.TH, rrule.FR, rrule.SA}
	own := weekdays[u.Dtstart.Weekday()]
	switch {
	case len(u.Byweekno) > 0 && len(u.Byweekday)+len(u.Bymonthday)+len(u.Byyearday) == 0, u.Freq == rrule.WEEKLY && len(u.Byweekday) == 0:
		u.Byweekday = []rrule.Weekday{own}
	case slices.ContainsFunc(u.Byweekday, func(w rrule.Weekday) bool { return w.N() != 0 }):
		u.Byweekday = u.numbered()
	}
}

// numbered returns the weekdays of the rule all with numbers: the library would
// take a plain one beside numbered ones for a limit of those.
func (u *rule) numbered() []rrule.Weekday {
	const weeksOfAYear = 53
	most := weeksOfAYear
	if u.monthly() {
		most = mostWeekdays
	}
	var list []rrule.Weekday
	for _, w := range u.Byweekday {
		if w.N() != 0 {
			list = append(list, w)
			continue
		}
		for n := 1; n <= most; n++ {
			list = append(list, w.Nth(n))
		}
	}
	return list
}
