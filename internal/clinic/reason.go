package clinic

import "graftclock/internal/day"

// Kind says which layer of the calendar decided a day. The zero Kind is none.
type Kind string

// The layers of the calendar, the later ones over the earlier.
const (
	Open             Kind = "open"
	WeeklyClosingDay Kind = "weekly closing day"
	PublicHoliday    Kind = "public holiday"
	HalfDay          Kind = "half day"
	ClosedDays       Kind = "closure"
	ExtraDay         Kind = "extra day"
)

// Reason is why a day is as it is: the kind of rule, the name people give the
// day ("" = none) and where the rule was written: a region code, a field of the
// clinic file or the name of a closure file.
type Reason struct {
	Kind   Kind
	Name   string
	Source string
}

// closes reports whether days of the kind have no hours.
func (k Kind) closes() bool {
	return k == WeeklyClosingDay || k == PublicHoliday || k == ClosedDays
}

// String returns the reason in full: "closed: public holiday (Saint Patrick's
// Day)", "open: half day (Christmas)", "open".
func (r Reason) String() string {
	text := string(r.Kind)
	if r.Name != "" {
		text += " (" + r.Name + ")"
	}
	switch {
	case r.Kind.closes():
		return "closed: " + text
	case r.Kind == Open || r.Kind == "":
		return text
	}
	return "open: " + text
}

// Words returns the reason as short as a front desk says it: "closed: Summer
// closure", "closed on Sundays", "open".
func (r Reason) Words() string {
	switch {
	case !r.Kind.closes():
		return "open"
	case r.Kind == WeeklyClosingDay:
		return "closed on " + r.Name + "s"
	case r.Name == "":
		return "closed: " + string(r.Kind)
	}
	return "closed: " + r.Name
}

// Status is what the calendar says of one day. No hours means closed.
type Status struct {
	Hours []day.Hours
	Why   Reason
}

// Open reports whether the day has any hours.
func (s Status) Open() bool { return len(s.Hours) > 0 }
