package diary

import (
	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// What is known of a kind on a day.
const (
	asked   = 1 << iota // the rest is known
	dayFits             // clinic and patient have the day, taken slots apart
	hasTime             // and a time of it is free
)

// fits reports whether a kind of milestone can have a day, in the past without a
// time.
func (m *model) fits(k, d int, past bool) bool {
	f := m.fitness(k, d)
	if past {
		return f&dayFits != 0
	}
	return f&hasTime != 0
}

func (m *model) fitness(k, d int) byte {
	if m.shared != nil {
		return m.shared.fitness(k, d)
	}
	kd := &m.kinds[k]
	n := d - m.minDay
	if d < m.minDay || d > m.maxDay {
		f, _ := m.look(kd, d)
		return f
	}
	if kd.fits == nil {
		kd.fits = make([]byte, m.maxDay-m.minDay+1)
	}
	if kd.fits[n] == 0 {
		kd.fits[n], _ = m.look(kd, d)
	}
	return kd.fits[n]
}

// look asks the clinic about a day.
func (m *model) look(k *kind, d int) (byte, starts) {
	on := m.out(d)
	if k.visit == "" {
		ok := false
		if k.role != "" {
			ok, _ = m.clinic.FitsRole(on, k.role)
		} else {
			ok, _ = m.clinic.FitsAny(on)
		}
		if !ok || m.shut(k, on) {
			return asked, starts{}
		}
		return asked | dayFits | hasTime, starts{}
	}
	if m.isAway(d) {
		return asked, starts{}
	}
	o := m.clinic.Opening(on, k.visit)
	if !held(o) || m.shut(k, on) {
		return asked, starts{}
	}
	s := m.free(o, on)
	if o.Minutes > 0 && s.none() {
		return asked | dayFits, s
	}
	return asked | dayFits | hasTime, s
}

// shut reports whether the kind is an operation and a closure follows the day.
func (m *model) shut(k *kind, d day.Day) bool {
	return k.surgical && m.Closure > 0 && m.clinic.ClosedRunAfter(d) >= m.Closure
}

func (m *model) isAway(d int) bool {
	for _, a := range m.away {
		if d >= a.from && d <= a.to {
			return true
		}
	}
	return false
}

// held reports whether an opening can hold its visit, taken slots apart.
func held(o graft.Opening) bool {
	if o.NeedsRoom && len(o.Rooms) == 0 || o.NeedsPerson && len(o.People) == 0 {
		return false
	}
	for _, h := range o.Hours {
		if h.Minutes() >= o.Minutes {
			return true
		}
	}
	return false
}

// free returns the starts that are free on a day, in scratch that the next call
// uses again.
func (m *model) free(o graft.Opening, d day.Day) starts {
	grid := gridOf(o)
	m.scratch = scratch(m.scratch, words(grid))
	clear(m.scratch)
	if o.Minutes > 0 {
		m.frees.mark(d, o, m.scratch)
	}
	return starts{grid, o.Minutes, m.scratch}
}

// startsOf returns the free starts of a kind of visit on a day and keeps them.
func (m *model) startsOf(k, d int) *starts {
	if m.shared != nil {
		return m.shared.startsOf(k, d)
	}
	key := kindDay{k, d}
	if s, ok := m.known[key]; ok {
		return s
	}
	on := m.out(d)
	s := m.free(m.clinic.Opening(on, m.kinds[k].visit), on)
	s.bits = append([]uint64(nil), s.bits...)
	if m.known == nil {
		m.known = map[kindDay]*starts{}
	}
	m.known[key] = &s
	return &s
}

type kindDay struct{ kind, day int }

// item is a visit of the case on a day: one of a kind that may have any of the
// free starts, or one that is booked and has its own.
type item struct {
	day, kind   int
	from, until day.Clock // of a booked one; until 0: not booked
}

// earliest returns when an item can start and when it then ends, not before a
// time.
func (m *model) earliest(it item, t day.Clock) (from, until day.Clock, ok bool) {
	if it.kind < 0 && it.from == it.until {
		return t, t, true
	}
	if it.kind < 0 {
		return it.from, it.until, it.from >= t
	}
	s := m.startsOf(it.kind, it.day)
	if s.minutes == 0 {
		return t, t, true
	}
	from, ok = s.from(t)
	return from, from + day.Clock(s.minutes), ok
}

// together reports whether the items, all of one day, can be had one after the
// other. Any order may do; for each set of items done the earliest end is kept.
func (m *model) together(items []item) bool {
	if len(items) == 2 {
		return m.row(items[0], items[1]) || m.row(items[1], items[0])
	}
	const late = day.Clock(1 << 20)
	ends := make([]day.Clock, 1<<len(items))
	for done := 1; done < len(ends); done++ {
		ends[done] = late
		for i, it := range items {
			before := done &^ (1 << i)
			if before == done || ends[before] == late {
				continue
			}
			if _, until, ok := m.earliest(it, ends[before]); ok {
				ends[done] = min(ends[done], until)
			}
		}
	}
	return ends[len(ends)-1] != late
}

func (m *model) row(a, b item) bool {
	_, until, ok := m.earliest(a, 0)
	if ok {
		_, _, ok = m.earliest(b, until)
	}
	return ok
}
