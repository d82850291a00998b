package clinic

import (
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	"graftclock/internal/day"
)

// named returns the zone of a TZID (RFC 5545 section 3.2.19): by its IANA name, or as
// a VTIMEZONE of the file describes it. The zone data is trusted more than the file,
// but for a short name such as EST, which is another zone to everybody.
func (r *eventReader) named(tzid string) (*time.Location, error) {
	if zone, met := r.zones[tzid]; met {
		return zone, nil
	}
	described := r.described[oneLine(tzid)]
	zone, err := ianaZone(tzid)
	switch {
	case described != nil && (err != nil || !strings.Contains(tzid, "/")):
		if zone, err = r.describedZone(described); err != nil {
			err = fmt.Errorf("the VTIMEZONE of %s: %w", quoted(tzid), err)
		}
	case err != nil:
		err = fmt.Errorf("%w, or a VTIMEZONE of that name in the file", err)
	}
	if err != nil {
		return nil, err
	}
	r.zones[tzid] = zone
	return zone, nil
}

// ianaZone loads a zone by its IANA name. One that begins with a slash (RFC 5545
// section 3.8.3.1) has the name of a vendor before it.
func ianaZone(tzid string) (zone *time.Location, err error) {
	zone, err = loadZone(tzid)
	for name := tzid; err != nil && strings.HasPrefix(tzid, "/"); {
		_, tail, more := strings.Cut(name, "/")
		if !more {
			break
		}
		if found, missing := loadZone(tail); missing == nil {
			return found, nil
		}
		name = tail
	}
	return zone, err
}

// onset is a moment from which a zone's clock has an offset, in seconds.
type onset struct {
	at            int64 // since 1970
	before, after int   // east of UTC
}

// lastOnset is until when the clock changes of a VTIMEZONE are worked out.
var lastOnset = day.Last.AddDays(366)

// describedZone makes a zone of a VTIMEZONE (RFC 5545 section 3.6.5).
func (r *eventReader) describedZone(described *ics.VTimezone) (*time.Location, error) {
	var all []onset
	for _, part := range described.Components {
		var base *ics.ComponentBase
		switch x := part.(type) {
		case *ics.Standard:
			base = &x.ComponentBase
		case *ics.Daylight:
			base = &x.ComponentBase
		default:
			continue
		}
		found, err := r.onsets(base)
		if err != nil {
			return nil, err
		}
		all = append(all, found...)
	}
	if len(all) == 0 {
		return nil, errors.New("it has neither STANDARD nor DAYLIGHT")
	}
	slices.SortStableFunc(all, func(x, y onset) int { return cmp.Compare(x.at, y.at) })
	return zoneWith(text(&described.ComponentBase, "TZID"), all)
}

// onsets returns when a part of a VTIMEZONE begins to hold: at its start, those it
// lists, and those of its rules.
func (r *eventReader) onsets(part *ics.ComponentBase) ([]onset, error) {
	before, err := utcOffset(part, "TZOFFSETFROM")
	if err != nil {
		return nil, err
	}
	after, err := utcOffset(part, "TZOFFSETTO")
	if err != nil {
		return nil, err
	}
	var found []onset
	add := func(m moment) { found = append(found, onset{m.at.Unix(), before, after}) }
	clock := time.FixedZone("", before) // in which onsets are written
	first, err := readMoment(text(part, "DTSTART"), false, clock)
	if err != nil {
		return nil, fmt.Errorf("DTSTART: %w", err)
	}
	add(first)
	for _, p := range values(part, "RDATE") {
		for _, text := range strings.Split(p.Value, ",") {
			m, err := readMoment(strings.TrimSpace(text), false, clock)
			if err != nil {
				return nil, fmt.Errorf("RDATE: %w", err)
			}
			add(m)
		}
	}
	for _, p := range values(part, "RRULE") {
		rule, err := readRule(oneLine(p.Value), first, clock)
		if err == nil {
			err = r.follow(rule, first, lastOnset, add)
		}
		if err != nil {
			return nil, fmt.Errorf("RRULE: %w", err)
		}
	}
	return found, nil
}

// offsetText is the form of a UTC-OFFSET (RFC 5545 section 3.3.14).
var offsetText = regexp.MustCompile(`^([+-])([01]\d|2[0-3])([0-5]\d)([0-5]\d)?$`)

// utcOffset reads how far a clock is ahead of UTC, in seconds.
func utcOffset(part *ics.ComponentBase, name string) (int, error) {
	match := offsetText.FindStringSubmatch(text(part, name))
	if match == nil {
		return 0, fmt.Errorf("%s: %s is no offset from UTC, such as +0100", name, quoted(text(part, name)))
	}
	number := func(digits string) int {
		n, _ := strconv.Atoi("0" + digits)
		return n
	}
	const perMinute, perHour = 60, 3600
	seconds := number(match[2])*perHour + number(match[3])*perMinute + number(match[4])
	if match[1] == "-" {
		return -seconds, nil
	}
	return seconds, nil
}

// zoneWith makes a zone of its onsets, in order. Package time reads zones from the
// form of RFC 8536 only, so it gets one in that form.
func zoneWith(name string, all []onset) (*time.Location, error) {
	// The first offset is that before all onsets; none of them refers to it.
	offsets := []int{all[0].before}
	var times, kinds []byte
	for _, o := range all {
		kind := slices.Index(offsets[1:], o.after) + 1
		if kind == 0 {
			kind = len(offsets)
			offsets = append(offsets, o.after)
		}
		times = binary.BigEndian.AppendUint64(times, uint64(o.at))
		kinds = append(kinds, byte(kind))
	}
	const mostOffsets = 100
	if len(offsets) > mostOffsets {
		return nil, fmt.Errorf("it has more than %d offsets from UTC", mostOffsets)
	}
	header := func(onsets, offsets, letters int) []byte {
		h := append([]byte("TZif2"), make([]byte, 15)...)
		for _, count := range []int{0, 0, 0, onsets, offsets, letters} {
			h = binary.BigEndian.AppendUint32(h, uint32(count))
		}
		return h
	}
	data := append(header(0, 0, 0), header(len(all), len(offsets), 1)...)
	data = append(append(data, times...), kinds...)
	for _, seconds := range offsets {
		data = binary.BigEndian.AppendUint32(data, uint32(seconds))
		data = append(data, 0, 0) // no summer time, the first name
	}
	data = append(data, 0)         // the only name, an empty one
	data = append(data, "\n\n"...) // no rule for the time after
	return time.LoadLocationFromTZData(name, data)
}
