package clinic

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	"graftclock/internal/day"
)

// eventReader reads the events of one file.
type eventReader struct {
	zone      *time.Location // of times without one of their own: the clinic's
	span      day.Span       // of the table
	untitled  bool           // entries are named by their places
	described map[string]*ics.VTimezone
	zones     map[string]*time.Location // by TZID, as far as met
	moved     map[string]standIns       // by UID
	looked    int                       // at times that rules make, over the whole file
}

// eventFile reads an .ics file of the given field and hands all time that its
// entries take to take. A file without any such entry is noted with the words of
// none.
func (b *builder) eventFile(field string, f File, none string, take func(name string, from, to moment)) {
	c, err := readContents(f.Data)
	if err != nil {
		b.problem(field, "%s: %v", f.Name, err)
		return
	}
	if c.others > 0 {
		b.note("%s: entries that are no events ignored: %d", f.Name, c.others)
	}
	r := eventReader{zone: b.zone, span: b.span, untitled: b.untitled, described: c.zones, zones: map[string]*time.Location{}}
	r.moved = r.standIns(c.entries)
	old := outdated(c.entries)
	nothing, ignored := true, ignoredEntries{}
	for n, e := range c.entries {
		taken, why, err := r.taken(e, old[n])
		if why != "" {
			ignored.add(why, r.name(n, e))
			continue
		}
		if err != nil {
			b.problem(field, "%s: %s: %v", f.Name, r.name(n, e), err)
		}
		if errors.Is(err, errTooOften) {
			return
		}
		for _, t := range taken {
			take(text(e.ComponentBase, "SUMMARY"), t.from, t.to)
		}
		nothing = false
	}
	for _, line := range ignored.lines() {
		b.note("%s: %s", f.Name, line)
	}
	if nothing {
		b.note("%s %s", f.Name, none)
	}
}

// ignoredEntries are entries that take no time, by the reason.
type ignoredEntries struct {
	reasons []string
	names   map[string][]string
}

func (i *ignoredEntries) add(why, name string) {
	if i.names[why] == nil {
		i.reasons = append(i.reasons, why)
	}
	if i.names == nil {
		i.names = map[string][]string{}
	}
	i.names[why] = append(i.names[why], name)
}

// lines names the first few of each reason; a calendar of years has hundreds.
func (i *ignoredEntries) lines() (lines []string) {
	const named = 5
	for _, why := range i.reasons {
		names := i.names[why]
		for _, name := range names[:min(named, len(names))] {
			lines = append(lines, name+" ignored: "+why)
		}
		if more := len(names) - named; more > 0 {
			lines = append(lines, fmt.Sprintf("%d more ignored: %s", more, why))
		}
	}
	return lines
}

// name names an entry in messages: its title, or its number in the file, counted from
// 1, where it has no title or that must not be told; its start and its line.
func (r *eventReader) name(n int, e fileEntry) string {
	title := text(e.ComponentBase, "SUMMARY")
	if title == "" {
		title = text(e.ComponentBase, "UID")
	}
	name := "event " + quoted(title)
	switch {
	case e.freeBusy:
		return fmt.Sprintf("VFREEBUSY on line %d", e.line)
	case r.untitled || title == "":
		name = fmt.Sprintf("event %d", n+1)
	}
	if value(e.ComponentBase, "DTSTART") != nil {
		name += " of " + shortened(text(e.ComponentBase, "DTSTART"))
	}
	return fmt.Sprintf("%s, line %d", name, e.line)
}

// outdated reports of each entry whether the file has a later state of it: one of the
// same UID and RECURRENCE-ID with a higher SEQUENCE (RFC 5545 section 3.8.7.4).
func outdated(entries []fileEntry) []bool {
	state := func(e fileEntry) (key string, sequence int) {
		sequence, err := strconv.Atoi(text(e.ComponentBase, "SEQUENCE"))
		if err != nil {
			sequence = 0 // as without one
		}
		return text(e.ComponentBase, "UID") + "\x00" + text(e.ComponentBase, "RECURRENCE-ID"), max(sequence, 0)
	}
	latest := map[string]int{}
	for _, e := range entries {
		key, sequence := state(e)
		latest[key] = max(latest[key], sequence)
	}
	old := make([]bool, len(entries))
	for n, e := range entries {
		key, sequence := state(e)
		old[n] = text(e.ComponentBase, "UID") != "" && sequence < latest[key]
	}
	return old
}

// taken returns the time that an entry takes, or why it takes none.
func (r *eventReader) taken(e fileEntry, old bool) (taken []instance, ignored string, err error) {
	event := e.ComponentBase
	if e.freeBusy {
		taken, err = r.periods(event)
		return taken, "", err
	}
	if err := r.checkStandIn(event); err != nil {
		return nil, "", err
	}
	switch {
	case strings.EqualFold(text(event, "STATUS"), "CANCELLED"): // RFC 5545 section 3.8.1.11
		return nil, "it is cancelled", nil
	case strings.EqualFold(text(event, "TRANSP"), "TRANSPARENT"): // RFC 5545 section 3.8.2.7
		return nil, "it is marked as taking no time (TRANSP:TRANSPARENT)", nil
	case old:
		return nil, "the file has a later state of it (SEQUENCE)", nil
	}
	from, lasts, err := r.eventTimes(event)
	switch {
	case err != nil:
		return nil, "", err
	case lasts == length{} && !hasPeriods(event):
		return nil, "it has no length", nil
	case value(event, "RECURRENCE-ID") != nil:
		return []instance{{from, from.after(lasts)}}, "", nil
	}
	taken, err = r.instances(event, from, lasts)
	return taken, "", err
}

// hasPeriods reports whether an event lists times with ends of their own.
func hasPeriods(event *ics.ComponentBase) bool {
	return slices.ContainsFunc(values(event, "RDATE"), func(p *ics.IANAProperty) bool { return strings.Contains(p.Value, "/") })
}

// periods returns the time that a VFREEBUSY says is taken (RFC 5545 section 3.6.4):
// all but what is marked as free (section 3.2.9).
func (r *eventReader) periods(freeBusy *ics.ComponentBase) ([]instance, error) {
	var taken []instance
	for _, p := range values(freeBusy, "FREEBUSY") {
		if strings.EqualFold(parameter(p, "FBTYPE"), "FREE") {
			continue
		}
		for _, text := range strings.Split(p.Value, ",") {
			start, end, _ := strings.Cut(text, "/")
			from, err := r.moment(p, start)
			if err != nil {
				return nil, fmt.Errorf("FREEBUSY: %w", err)
			}
			to, err := r.periodEnd(p, from, end)
			if err != nil {
				return nil, fmt.Errorf("FREEBUSY: %w", err)
			}
			taken = append(taken, instance{from, to})
		}
	}
	return taken, nil
}
