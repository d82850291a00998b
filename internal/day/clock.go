package day

import (
	"fmt"
	"strings"
	"time"
)

// Clock is a wall-clock time of day in minutes after midnight, 0..1440; 24:00
// is allowed as an end.
type Clock int

const (
	minutesPerHour = 60
	midnight       = Clock(24 * minutesPerHour)
)

// ClockOf returns the time of day of a moment, in its own zone and to the minute.
func ClockOf(t time.Time) Clock { return Clock(t.Hour()*minutesPerHour + t.Minute()) }

// ParseClock reads a time of day as HH:MM, 00:00 to 24:00.
func ParseClock(text string) (Clock, error) {
	if text == "24:00" {
		return midnight, nil
	}
	t, err := time.Parse("15:04", text)
	if err != nil || len(text) != len("15:04") {
		return 0, fmt.Errorf("%q is no time of day: want HH:MM, such as 08:30", text)
	}
	return ClockOf(t), nil
}

// String returns the time as HH:MM.
func (c Clock) String() string {
	return fmt.Sprintf("%02d:%02d", int(c)/minutesPerHour, int(c)%minutesPerHour)
}

// Hours is a stretch of one day's opening time, from From up to but not
// including To.
type Hours struct{ From, To Clock }

// ParseHours reads HH:MM-HH:MM and refuses an end that is not after its start.
func ParseHours(text string) (Hours, error) {
	from, to, two := strings.Cut(text, "-")
	if !two {
		return Hours{}, fmt.Errorf("%q is no stretch of hours: want HH:MM-HH:MM, such as 08:30-12:30", text)
	}
	start, err := ParseClock(from)
	if err != nil {
		return Hours{}, err
	}
	end, err := ParseClock(to)
	if err != nil {
		return Hours{}, err
	}
	if end <= start {
		return Hours{}, fmt.Errorf("%q ends before it starts", text)
	}
	return Hours{start, end}, nil
}

// Minutes returns the length of the stretch.
func (h Hours) Minutes() int { return int(h.To - h.From) }

// String returns HH:MM-HH:MM.
func (h Hours) String() string { return h.From.String() + "-" + h.To.String() }
