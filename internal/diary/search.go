package diary

import (
	"fmt"
	"iter"
	"slices"
	"strings"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// search looks for the day of one milestone.
type search struct {
	placer *placer
	m      *graft.Milestone
	first  day.Day // first day that may be given
	want   day.Day // the target, or first when that is later
}

// search prepares the walk. A window that has not wholly passed starts no
// earlier than the day of planning, for nobody is booked into the past.
func (p *placer) search(m *graft.Milestone, passed bool) *search {
	s := &search{placer: p, m: m, first: m.Window.Earliest, want: m.Window.Target}
	if !passed {
		s.first = day.Max(s.first, p.On)
	}
	s.want = day.Max(s.want, s.first)
	return s
}

// best returns the day of the window that the step's shift prefers.
func (s *search) best() (day.Day, bool) {
	for d := range s.order() {
		if ok, _ := s.fits(d); ok {
			return d, true
		}
	}
	return day.Day{}, false
}

// order gives the days that may be given, best first. Only-later steps have no
// day before their target; earlier steps take later ones last; nearest steps
// take the later of two equally near.
func (s *search) order() iter.Seq[day.Day] {
	after, before := s.m.Window.Latest.Sub(s.want), s.want.Sub(s.first)
	switch s.m.Shift {
	case graft.Earlier:
		return func(yield func(day.Day) bool) {
			_ = s.walk(0, before, -1, yield) && s.walk(1, after, 1, yield)
		}
	case graft.Nearest:
		return func(yield func(day.Day) bool) {
			goOn := s.walk(0, 0, 1, yield)
			for n := 1; goOn && n <= max(before, after); n++ {
				goOn = (n > after || yield(s.want.AddDays(n))) && (n > before || yield(s.want.AddDays(-n)))
			}
		}
	}
	return func(yield func(day.Day) bool) { s.walk(0, after, 1, yield) } // only later, and later
}

// walk yields the days from one distance from the wanted day to another.
func (s *search) walk(from, to, step int, yield func(day.Day) bool) bool {
	for n := from; n <= to; n++ {
		if !yield(s.want.AddDays(n * step)) {
			return false
		}
	}
	return true
}

// fits reports whether the milestone can be had on the day, and why not.
func (s *search) fits(d day.Day) (bool, string) {
	if s.m.Visit != "" {
		for _, u := range s.placer.Unavailable {
			if u.Contains(d) {
				return false, "the patient cannot come"
			}
		}
	}
	ok, why := s.clinic(d)
	if !ok || !s.m.Surgical || s.placer.Closure == 0 {
		return ok, why
	}
	if run := s.placer.clinic.ClosedRunAfter(d); run >= s.placer.Closure {
		return false, fmt.Sprintf("no operation on the last open day before %d closed days", run)
	}
	return true, ""
}

func (s *search) clinic(d day.Day) (bool, string) {
	switch {
	case s.m.Visit != "":
		return s.placer.clinic.Fits(d, s.m.Visit)
	case s.m.Role != "":
		return s.placer.clinic.FitsRole(d, s.m.Role)
	}
	return s.placer.clinic.FitsAny(d)
}

// reason tells why the milestone stands on its day.
func (s *search) reason(placed day.Day) graft.Reason {
	if placed == s.m.Window.Target {
		return graft.Reason{Says: "Placed on its target, " + Long(placed) + "."}
	}
	r := graft.Reason{Says: fmt.Sprintf("Placed on %s, shift %s from the target %s.", Long(placed), s.m.Shift, Long(s.m.Window.Target))}
	if s.want != s.m.Window.Target {
		r.Because = append(r.Because, graft.Reason{Says: "Nothing is booked before the day of planning, " + Long(s.placer.On) + "."})
	}
	for _, o := range s.passedOver(placed) {
		r.Because = append(r.Because, graft.Reason{Says: o.String()})
	}
	return r
}

// moved says the same in half a line; empty for a milestone on its target.
func (s *search) moved(placed day.Day) string {
	by := placed.Sub(s.m.Window.Target)
	if by == 0 {
		return ""
	}
	var whys []string
	if s.want != s.m.Window.Target {
		whys = append(whys, "not before the day of planning")
	}
	whys = append(whys, shortest(s.passedOver(placed))...)
	direction := "later"
	if by < 0 {
		direction, by = "earlier", -by
	}
	return fmt.Sprintf("; %s %s: %s", day.Period{Days: by}.Words(), direction, strings.Join(whys, ", "))
}

// shortest names each reason once, and weekly closing days only where there is
// nothing else to say.
func shortest(obstacles []obstacle) []string {
	var whys, weekly []string
	for _, o := range obstacles {
		list := &whys
		if strings.HasPrefix(o.why, "closed on ") {
			list = &weekly
		}
		if !slices.Contains(*list, o.why) {
			*list = append(*list, o.why)
		}
	}
	if len(whys) == 0 {
		return weekly
	}
	return whys
}

// passedOver tells why the days that the shift prefers to the given one do not
// fit. They lie together: each shift works its way outwards from the wanted day.
func (s *search) passedOver(placed day.Day) []obstacle {
	order := slices.Collect(s.order())
	preferred := order[:slices.Index(order, placed)]
	if len(preferred) == 0 {
		return nil
	}
	return s.obstacles(ends(preferred))
}

// ends returns the first and the last of the days.
func ends(days []day.Day) (first, last day.Day) {
	first = days[0]
	for _, d := range days {
		if d.Before(first) {
			first = d
		}
	}
	return first, day.Max(days...)
}

// obstacle is a run of days that do not fit for one reason.
type obstacle struct {
	first, last day.Day
	why         string
}

// String writes the run and the reason.
func (o obstacle) String() string {
	const short = "Mon 2 Jan 2006"
	run := o.first.Time().Format(short)
	if o.first != o.last {
		run += " to " + o.last.Time().Format(short)
	}
	return run + ": " + o.why
}

// obstacles tells why the days from one to another, none of which fits, do not.
// Days in a row that have one reason make one run.
func (s *search) obstacles(from, to day.Day) []obstacle {
	var runs []obstacle
	for d := from; !d.After(to); d = d.AddDays(1) {
		_, why := s.fits(d)
		if n := len(runs); n > 0 && runs[n-1].why == why {
			runs[n-1].last = d
		} else {
			runs = append(runs, obstacle{d, d, why})
		}
	}
	return runs
}

// lookAround bounds the search for a day outside a window that has none.
const lookAround = 400

// failure tells why no day of the window fits and which days on either side do.
func (s *search) failure() string {
	from, to := ends(slices.Collect(s.order()))
	before, after := "none before", "none after"
	if d, ok := s.outside(from, -1); ok {
		before = Long(d) + " before" + s.unusable(d)
	}
	if d, ok := s.outside(to, 1); ok {
		after = Long(d) + " after" + s.unusable(d)
	}
	return fmt.Sprintf("No day from %s to %s: %s. Nearest days that fit: %s, %s.", Long(from), Long(to), strings.Join(written(s.obstacles(from, to)), "; "), before, after)
}

// unusable says why a day outside the window is no way out; empty if it may be
// one.
func (s *search) unusable(d day.Day) string {
	switch {
	case d.Before(s.m.Window.NotBefore):
		return " (sooner than the gate allows)"
	case d.Before(s.placer.On):
		return " (already past)"
	}
	return ""
}

// outside returns the nearest day that fits beyond one end of the window.
func (s *search) outside(end day.Day, step int) (day.Day, bool) {
	for n := 1; n <= lookAround; n++ {
		d := end.AddDays(n * step)
		if ok, _ := s.fits(d); ok {
			return d, true
		}
	}
	return day.Day{}, false
}

func written(obstacles []obstacle) []string {
	says := make([]string, len(obstacles))
	for i, o := range obstacles {
		says[i] = o.String()
	}
	return says
}
