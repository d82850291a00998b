package ics

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"graftclock/internal/day"
)

const (
	wholeDay  = 24 * time.Hour
	maxDays   = 100 * 366 // of a length that is read
	maxLength = maxDays * wholeDay
)

// lengthParts are the numbers of a DURATION, and lengthUnits what they count.
var (
	lengthParts = regexp.MustCompile(`(\d+)([WDHMS])`)
	lengthUnits = map[string]time.Duration{"W": 7 * wholeDay, "D": wholeDay, "H": time.Hour, "M": time.Minute, "S": time.Second}
)

// length takes a DURATION apart (RFC 5545 3.3.6): into days, which are counted by the
// calendar, and what is counted by the clock. Both are below zero where it goes back.
func length(text string) (days int, clock time.Duration, err error) {
	value := strings.ToUpper(strings.TrimSpace(text))
	if !durationForm.MatchString(value) {
		return 0, 0, fmt.Errorf("DURATION %.40q is no length of time", text)
	}
	for _, part := range lengthParts.FindAllStringSubmatch(value, -1) {
		unit := lengthUnits[part[2]]
		n, err := strconv.ParseInt(part[1], 10, 64)
		if err != nil || n > int64(maxLength/unit) {
			return 0, 0, fmt.Errorf("DURATION %.40q is too long", text)
		}
		if unit < wholeDay {
			clock += time.Duration(n) * unit
		} else {
			days += int(n) * int(unit/wholeDay)
		}
	}
	if days > maxDays || clock > maxLength {
		return 0, 0, fmt.Errorf("DURATION %.40q is too long", text)
	}
	if value[0] == '-' {
		days, clock = -days, -clock
	}
	return days, clock, nil
}

// later adds a DURATION that does not go back.
func later(start time.Time, text string) (time.Time, error) {
	days, clock, err := length(text)
	if err == nil && (days < 0 || clock < 0) {
		err = fmt.Errorf("DURATION %.40q is no length of time for an event", text)
	}
	if err != nil {
		return start, err
	}
	if days > 0 {
		start, _ = resolve(day.WallOf(start).AddDate(0, 0, days), start.Location())
	}
	return start.Add(clock), nil
}
