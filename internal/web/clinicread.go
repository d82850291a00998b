package web

import (
	"slices"
	"strconv"
	"strings"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// neededLine reads one line of words that may not be empty.
func (q *request) neededLine(field, says string) (string, error) {
	text, err := q.line(field)
	if err == nil && text == "" {
		err = faultIn(field, "%s", says)
	}
	return text, err
}

// neededDay reads a day that may not be left out.
func (q *request) neededDay(field string) (day.Day, error) {
	d, err := q.day(field)
	if err == nil && d.IsZero() {
		err = faultIn(field, "a day is needed")
	}
	return d, err
}

// run reads a run of days with its name.
func (q *request) run() (c clinic.Closure, err error) {
	if c.From, err = q.neededDay("from"); err != nil {
		return c, err
	}
	if c.To, err = q.day("to"); err != nil {
		return c, err
	}
	switch {
	case c.To.IsZero():
		c.To = c.From
	case c.To.Before(c.From):
		return c, faultIn("to", "%s is before the first day, %s", longDay(c.To), longDay(c.From))
	}
	c.Name, err = q.neededLine("name", "a name for it is needed, for the calendar and the history")
	return c, err
}

// runOf reads which run of days of a list is meant. One that is not there comes back
// as it was sent, for package casefile to miss it.
func (q *request) runOf(list []clinic.Closure) (clinic.Closure, error) {
	var c clinic.Closure
	var err error
	if c.From, err = q.neededDay("from"); err != nil {
		return c, err
	}
	if c.To, err = q.neededDay("to"); err != nil {
		return c, err
	}
	c.Name = graft.OneLine(q.PostForm.Get("name"))
	if n := slices.IndexFunc(list, func(x clinic.Closure) bool {
		return x.From == c.From && x.To == c.To && graft.OneLine(x.Name) == c.Name
	}); n >= 0 {
		return list[n], nil
	}
	c.Name, err = q.line("name")
	return c, err
}

func (q *request) closing() (casefile.ClinicChange, error) {
	c, err := q.run()
	return casefile.AddClosure{Closure: c}, err
}

func (q *request) reopening() (casefile.ClinicChange, error) {
	c, err := q.runOf(q.keeper.Clinic.Closures)
	return casefile.RemoveClosure{Closure: c}, err
}

func (q *request) halfDay() (casefile.ClinicChange, error) {
	var s clinic.SpecialDay
	var err error
	if s.Day, err = q.neededDay("day"); err != nil {
		return nil, err
	}
	if s.Hours, err = q.stretches("hours"); err != nil {
		return nil, err
	}
	if len(s.Hours) == 0 {
		return nil, faultIn("hours", "its hours are needed, %s", hoursHint)
	}
	s.Name, err = q.neededLine("name", "a name for it is needed, for the calendar and the history")
	return casefile.SetHalfDay{SpecialDay: s}, err
}

func (q *request) wholeDay() (casefile.ClinicChange, error) {
	d, err := q.neededDay("day")
	return casefile.RemoveHalfDay{Day: d}, err
}

// stretches reads hours such as 08:30-12:30, 13:30-17:00.
func (q *request) stretches(field string) ([]day.Hours, error) {
	text, err := q.line(field)
	if err != nil || text == "" {
		return nil, err
	}
	var list []day.Hours
	for part := range strings.SplitSeq(text, ",") {
		h, err := day.ParseHours(strings.ReplaceAll(strings.TrimSpace(part), " ", ""))
		if err != nil {
			return nil, faultIn(field, "%v", err)
		}
		if n := len(list); n > 0 && h.From < list[n-1].To {
			return nil, faultIn(field, "%s starts before %s ends", h, list[n-1])
		}
		list = append(list, h)
	}
	return list, nil
}

func (q *request) hours() (casefile.ClinicChange, error) {
	w, err := day.ParseWeekday(q.PostForm.Get("weekday"))
	if err != nil {
		return nil, faultIn("weekday", "a weekday is needed")
	}
	list, err := q.stretches("hours")
	return casefile.SetHours{Weekday: w, Hours: list}, err
}

func (q *request) afterCare() (casefile.ClinicChange, error) {
	key := q.PostForm.Get("key")
	if !slices.Contains(casefile.AfterCareKeys, key) {
		return nil, faultIn("key", "one of the presets is needed")
	}
	text, err := q.line("days")
	if err != nil || text == "" {
		return casefile.SetAfterCare{Key: key}, err
	}
	days, err := strconv.Atoi(text)
	if err != nil || days < 1 {
		return nil, faultIn("days", "%q is no number of days", text)
	}
	return casefile.SetAfterCare{Key: key, Days: days}, nil
}
