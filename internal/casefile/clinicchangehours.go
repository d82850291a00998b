package casefile

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/table"
)

// SetHours sets the opening hours of one weekday; without any it is closed.
type SetHours struct {
	Weekday time.Weekday
	Hours   []day.Hours
}

// SetAfterCare sets one of the presets of AfterCareKeys, in days; 0 takes it away.
type SetAfterCare struct {
	Key  string
	Days int
}

// SetProtocol names the file with the clinic's own rule values, beside the clinic file;
// empty: none.
type SetProtocol struct{ File string }

// weekdayWord is a weekday as the file writes it.
func weekdayWord(w time.Weekday) string { return strings.ToLower(w.String()[:3]) }

// runWord is a run of weekdays as the file writes it.
func runWord(run []time.Weekday) string {
	if len(run) == 1 {
		return weekdayWord(run[0])
	}
	return weekdayWord(run[0]) + "-" + weekdayWord(run[len(run)-1])
}

// runOf returns the weekdays of a key of the hours, in their order.
func runOf(key string) []time.Weekday {
	from, to, _ := strings.Cut(key, "-")
	first, _ := day.ParseWeekday(from)
	run := []time.Weekday{first}
	if last, err := day.ParseWeekday(to); err == nil {
		for w := first; w != last; {
			w = (w + 1) % (time.Saturday + 1)
			run = append(run, w)
		}
	}
	return run
}

// weekdaysValue writes a set of weekdays from Monday on: runs of three and more as
// such, others one by one.
func weekdaysValue(set day.Weekdays) []any {
	const long = 3
	list, run := []any{}, []time.Weekday{}
	end := func() {
		if len(run) >= long {
			list = append(list, runWord(run))
		} else {
			for _, w := range run {
				list = append(list, weekdayWord(w))
			}
		}
		run = nil
	}
	for _, w := range runOf("mon-sun") {
		if !set.Has(w) {
			end()
			continue
		}
		run = append(run, w)
	}
	end()
	return list
}

func (x SetHours) write(text []byte, c Clinic) ([]byte, error) {
	if slices.Equal(c.Hours[x.Weekday], x.Hours) {
		return text, nil
	}
	var keys []string
	for _, e := range table.Read(c.File, text, clinicFile).Get("hours").Entries() {
		keys = append(keys, e.Key)
	}
	n := slices.IndexFunc(keys, func(key string) bool { return slices.Contains(runOf(key), x.Weekday) })
	switch {
	case n < 0:
		return x.put(text, x.after(keys))
	case len(runOf(keys[n])) > 1:
		return x.split(text, keys, n, hoursValue(c.Hours[x.Weekday]))
	case len(x.Hours) == 0:
		return clinicFile.Remove(text, "hours."+keys[n])
	}
	return x.put(text, "")
}

// put writes the weekday's own hours, after another key of the hours where it has none
// yet.
func (x SetHours) put(text []byte, after string) ([]byte, error) {
	return clinicFile.PutAfter(text, "hours."+weekdayWord(x.Weekday), after, hoursValue(x.Hours))
}

// after is the key behind which the weekday goes: the last that begins before it in a
// week from Monday on.
func (x SetHours) after(keys []string) string {
	fromMonday := func(w time.Weekday) int { return slices.Index(runOf("mon-sun"), w) }
	best, after := -1, ""
	for _, key := range keys {
		if first := fromMonday(runOf(key)[0]); first < fromMonday(x.Weekday) && first > best {
			best, after = first, key
		}
	}
	return after
}

// split takes the weekday out of a run, which keeps its line for what comes before it,
// or else after it.
func (x SetHours) split(text []byte, keys []string, n int, was []any) ([]byte, error) {
	run := runOf(keys[n])
	at := slices.Index(run, x.Weekday)
	before, behind := run[:at], run[at+1:]
	keep, after := before, ""
	if len(before) == 0 {
		keep, behind = behind, nil
		if n > 0 {
			after = keys[n-1]
		}
	}
	text, err := clinicFile.Rename(text, "hours."+keys[n], runWord(keep))
	if len(before) > 0 {
		after = runWord(before)
	}
	if err == nil && len(x.Hours) > 0 {
		text, err = x.put(text, after)
		after = weekdayWord(x.Weekday)
	}
	if err == nil && len(behind) > 0 {
		text, err = clinicFile.PutAfter(text, "hours."+runWord(behind), after, was)
	}
	return text, err
}

func (x SetHours) apply(c *Clinic) {
	if c.Hours[x.Weekday] = x.Hours; len(x.Hours) == 0 {
		c.Hours[x.Weekday] = nil
	}
}

// Tell says the hours of the weekday.
func (x SetHours) Tell(c Clinic) string {
	if hours := c.Hours[x.Weekday]; len(hours) > 0 {
		return fmt.Sprintf("open on %ss %s", x.Weekday, hoursText(hours))
	}
	return fmt.Sprintf("closed on %ss", x.Weekday)
}

func (x SetAfterCare) write(text []byte, c Clinic) ([]byte, error) {
	if !slices.Contains(AfterCareKeys, x.Key) {
		return nil, fmt.Errorf("there is no after-care preset %q: there are %s", x.Key, strings.Join(AfterCareKeys, ", "))
	}
	path := "after_care." + x.Key
	if x.Days != 0 {
		return clinicFile.Put(text, path, fmt.Sprint(x.Days))
	}
	if _, set := c.AfterCare[x.Key]; !set {
		return nil, hasNo("preset " + x.Key)
	}
	return clinicFile.Remove(text, path)
}

func (x SetAfterCare) apply(c *Clinic) {
	c.AfterCare = maps.Clone(c.AfterCare)
	if c.AfterCare[x.Key] = x.Days; x.Days == 0 {
		delete(c.AfterCare, x.Key)
	}
}

// Tell says the preset, where it is set.
func (x SetAfterCare) Tell(c Clinic) string {
	if n, set := c.AfterCare[x.Key]; set {
		return fmt.Sprintf("%s %d days", x.Key, n)
	}
	return ""
}

func (x SetProtocol) write(text []byte, c Clinic) ([]byte, error) {
	switch {
	case x.File != "":
		return clinicFile.Put(text, "protocol", x.File)
	case c.Protocol == "":
		return nil, hasNo("file of its own rule values")
	}
	return clinicFile.Remove(text, "protocol")
}

func (x SetProtocol) apply(c *Clinic) { c.Protocol = x.File }

// Tell says the file, where one is named.
func (x SetProtocol) Tell(c Clinic) string {
	if c.Protocol == "" {
		return ""
	}
	return "own rule values in " + c.Protocol
}
