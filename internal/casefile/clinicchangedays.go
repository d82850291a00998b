package casefile

import (
	"fmt"
	"slices"
	"strings"

	"graftclock/internal/clinic"
	"graftclock/internal/day"
)

// AddClosure closes the clinic on a run of days, both ends included; no To is one day.
type AddClosure struct{ clinic.Closure }

// RemoveClosure takes a closure away, which must be there as it is given.
type RemoveClosure struct{ clinic.Closure }

// SetHalfDay gives one day hours of its own, in place of those it may have as a half day
// already.
type SetHalfDay struct{ clinic.SpecialDay }

// RemoveHalfDay takes the half day of a day away.
type RemoveHalfDay struct{ Day day.Day }

// whole is a run of days with its last day.
func whole(c clinic.Closure) clinic.Closure {
	if c.To.IsZero() {
		c.To = c.From
	}
	return c
}

func closureValue(c clinic.Closure) map[string]any {
	c = whole(c)
	return map[string]any{"from": dayText(c.From), "to": dayText(c.To), "name": c.Name}
}

// dayText is a day as the file has it; no day is a blank, of which its reader complains.
func dayText(d day.Day) string {
	if d.IsZero() {
		return ""
	}
	return d.String()
}

func (x AddClosure) write(text []byte, c Clinic) ([]byte, error) {
	if slices.Contains(c.Closures, whole(x.Closure)) {
		return nil, fmt.Errorf("the clinic file has this closure already: %s", closureText(x.Closure))
	}
	return clinicFile.Append(text, "closures", closureValue(x.Closure))
}

func (x AddClosure) apply(c *Clinic) { c.Closures = more(c.Closures, whole(x.Closure)) }

// Tell says the closure, where there is one.
func (x AddClosure) Tell(c Clinic) string { return tellClosure(c, x.Closure) }

func tellClosure(c Clinic, x clinic.Closure) string {
	if slices.Contains(c.Closures, whole(x)) {
		return "closed " + closureText(x)
	}
	return ""
}

func (x RemoveClosure) write(text []byte, c Clinic) ([]byte, error) {
	n := slices.Index(c.Closures, whole(x.Closure))
	if n < 0 {
		return nil, hasNo("closure " + closureText(x.Closure))
	}
	return clinicFile.Remove(text, fmt.Sprintf("closures[%d]", n))
}

func (x RemoveClosure) apply(c *Clinic) {
	c.Closures = fewer(c.Closures, slices.Index(c.Closures, whole(x.Closure)))
}

// Tell says the closure, where there is one.
func (x RemoveClosure) Tell(c Clinic) string { return tellClosure(c, x.Closure) }

func halfDayAt(c Clinic, d day.Day) int {
	return slices.IndexFunc(c.HalfDays, func(s clinic.SpecialDay) bool { return s.Day == d })
}

func (x SetHalfDay) write(text []byte, c Clinic) ([]byte, error) {
	n := halfDayAt(c, x.Day)
	if n < 0 {
		return clinicFile.Append(text, "half_days", map[string]any{"day": dayText(x.Day), "hours": hoursValue(x.Hours), "name": x.Name})
	}
	at := fmt.Sprintf("half_days[%d]", n)
	text, err := clinicFile.Put(text, at+".hours", hoursValue(x.Hours))
	if err != nil {
		return nil, err
	}
	return clinicFile.Put(text, at+".name", x.Name)
}

func (x SetHalfDay) apply(c *Clinic) {
	if n := halfDayAt(*c, x.Day); n >= 0 {
		c.HalfDays = slices.Clone(c.HalfDays)
		c.HalfDays[n] = x.SpecialDay
		return
	}
	c.HalfDays = more(c.HalfDays, x.SpecialDay)
}

// Tell says the half day, where there is one.
func (x SetHalfDay) Tell(c Clinic) string { return tellHalfDay(c, x.Day) }

func tellHalfDay(c Clinic, d day.Day) string {
	n := halfDayAt(c, d)
	if n < 0 {
		return ""
	}
	return fmt.Sprintf("half day %s, %s (%s)", d, hoursText(c.HalfDays[n].Hours), c.HalfDays[n].Name)
}

func (x RemoveHalfDay) write(text []byte, c Clinic) ([]byte, error) {
	n := halfDayAt(c, x.Day)
	if n < 0 {
		return nil, hasNo("half day on " + x.Day.String())
	}
	return clinicFile.Remove(text, fmt.Sprintf("half_days[%d]", n))
}

func (x RemoveHalfDay) apply(c *Clinic) { c.HalfDays = fewer(c.HalfDays, halfDayAt(*c, x.Day)) }

// Tell says the half day, where there is one.
func (x RemoveHalfDay) Tell(c Clinic) string { return tellHalfDay(c, x.Day) }

func hoursValue(hours []day.Hours) []any {
	list := []any{}
	for _, h := range hours {
		list = append(list, h.String())
	}
	return list
}

func hoursText(hours []day.Hours) string {
	list := make([]string, len(hours))
	for n, h := range hours {
		list[n] = h.String()
	}
	return strings.Join(list, ", ")
}
