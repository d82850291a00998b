package diary

import (
	"fmt"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

const cannotCome = "the patient cannot come"

// dayWhys lists what stands against a milestone on a day, taken slots apart.
func (m *model) dayWhys(s *graft.Milestone, d int) []string {
	var whys []string
	if s.Visit != "" && m.isAway(d) {
		whys = append(whys, cannotCome)
	}
	on := m.out(d)
	role := s.Role
	if s.Visit != "" {
		role = ""
	}
	whys = append(whys, m.clinic.Obstacles(on, s.Visit, role)...)
	if s.Surgical && m.Closure > 0 {
		if run := m.clinic.ClosedRunAfter(on); run >= m.Closure {
			whys = append(whys, fmt.Sprintf("no operation on the last open day before %d closed days", run))
		}
	}
	return whys
}

const noTime = "no time is free"

// whyNot says first of all that stands against a milestone on a day; empty if it
// can have the day.
func (m *model) whyNot(s *graft.Milestone, k, d int, past bool) string {
	if m.fits(k, d, past) {
		return ""
	}
	if whys := m.dayWhys(s, d); len(whys) > 0 {
		return whys[0]
	}
	return noTime
}

// insideOf asks whether a stretch of hours holds the whole of a slot.
func insideOf(s graft.Slot) func(day.Hours) bool {
	return func(h day.Hours) bool { return h.From <= s.Start && s.End() <= h.To }
}
