package clinic

import (
	"cmp"
	"fmt"
	"slices"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// Busy is time that a busy file takes out of one person or one room, and what the
// file calls it; its Slot has either Person or Room. Name may be empty.
type Busy struct {
	graft.Slot
	Name string
}

// lack is an asset that cannot be had on a day, and what the reason is called.
type lack struct {
	asset int
	name  string
}

// absences notes who is away and what is out of use on each day, and what time
// busy files take. It comes after all that decides hours.
func (b *builder) absences(s Settings) {
	for i, p := range s.People {
		at := fmt.Sprintf("people[%d]", i)
		b.away(i, p.Absent)
		b.busyFiles(at, p.BusyFiles, i, graft.Slot{Person: p.Name})
	}
	for i, r := range s.Rooms {
		at, asset := fmt.Sprintf("rooms[%d]", i), len(s.People)+i
		b.away(asset, r.OutOfUse)
		b.busyFiles(at, r.BusyFiles, asset, graft.Slot{Room: r.Name})
	}
	slices.SortStableFunc(b.busy, func(x, y Busy) int {
		return cmp.Or(x.Day.Sub(y.Day), cmp.Compare(x.Start, y.Start))
	})
}

func (b *builder) away(asset int, runs []Closure) {
	for _, run := range runs {
		for d := range b.days(day.Span{From: run.From, To: day.Max(run.From, run.To)}) {
			b.lack(asset, d, run.Name)
		}
	}
}

func (b *builder) lack(asset int, d day.Day, name string) {
	i := d.Sub(b.span.From)
	b.lacks[i] = append(b.lacks[i], lack{asset, name})
}

// busyFiles takes the events of files out of an asset. An event that leaves
// nothing of a day, or of the hours the clinic is open that day, keeps the asset
// away.
func (b *builder) busyFiles(field string, files []File, asset int, of graft.Slot) {
	for n, f := range files {
		none := "takes no time of " + of.Person + of.Room
		b.eventFile(fmt.Sprintf("%s.busy_files[%d]", field, n), f, none, func(name string, from, to moment) {
			if from.allDay {
				for d := range b.days(day.Span{From: from.day(), To: to.day().AddDays(-1)}) {
					b.lack(asset, d, name)
				}
				return
			}
			for _, s := range b.stretches(from.at, to.at) {
				b.take(asset, s, of, name)
			}
		})
	}
}

func (b *builder) take(asset int, s stretch, of graft.Slot, name string) {
	hours := b.hours[s.day.Sub(b.span.From)]
	if len(hours) == 0 {
		hours = []day.Hours{wholeDay}
	}
	if left, _ := without(hours, s.hours); len(left) == 0 {
		b.lack(asset, s.day, name)
		return
	}
	of.Day, of.Start, of.Minutes = s.day, s.hours.From, s.hours.Minutes()
	b.busy = append(b.busy, Busy{of, name})
}
