package clinic

import (
	"fmt"

	"graftclock/internal/day"
)

// closureFiles lays the events of the closure files over the table: an all-day
// event closes its days, a timed one takes its hours out of them.
func (b *builder) closureFiles(s Settings) {
	for i, f := range s.ClosureFiles {
		b.eventFile(fmt.Sprintf("closure_files[%d]", i), f, "closes no day", func(name string, from, to moment) {
			why := Reason{ClosedDays, name, f.Name}
			if from.allDay {
				b.close(day.Span{From: from.day(), To: to.day().AddDays(-1)}, why)
				return
			}
			for _, s := range b.stretches(from.at, to.at) {
				b.cut(s.day, s.hours, why)
			}
		})
	}
}
