package ics

import (
	"strconv"
	"time"
)

// The forms of days and times.
const (
	dateForm    = "20060102"         // RFC 5545 3.3.4
	localForm   = "20060102T150405"  // RFC 5545 3.3.5, form 1
	instantForm = "20060102T150405Z" // RFC 5545 3.3.5, form 2
)

// dateText, localText and instantText write a time of the years 0 to 9999 in the
// forms above, several times faster than Format does.
func dateText(t time.Time) string {
	var text [len(dateForm)]byte
	putDate(text[:], t)
	return string(text[:])
}

func localText(t time.Time) string {
	var text [len(localForm)]byte
	putDate(text[:], t)
	putClock(text[len(dateForm):], t)
	return string(text[:])
}

func instantText(t time.Time) string {
	var text [len(instantForm)]byte
	t = t.UTC()
	putDate(text[:], t)
	putClock(text[len(dateForm):], t)
	text[len(localForm)] = 'Z'
	return string(text[:])
}

func putDate(dst []byte, t time.Time) {
	year, month, date := t.Date()
	putPair(dst[0:], year/100)
	putPair(dst[2:], year%100)
	putPair(dst[4:], int(month))
	putPair(dst[6:], date)
}

func putClock(dst []byte, t time.Time) {
	hour, minute, second := t.Clock()
	dst[0] = 'T'
	putPair(dst[1:], hour)
	putPair(dst[3:], minute)
	putPair(dst[5:], second)
}

func putPair(dst []byte, n int) {
	dst[0], dst[1] = byte('0'+n/10), byte('0'+n%10)
}

// durationText writes whole minutes as RFC 5545 3.3.6 has them.
func durationText(length time.Duration) string {
	const perHour = 60
	minutes := int(length / time.Minute)
	text := "P"
	if days := minutes / minutesPerDay; days > 0 {
		text += strconv.Itoa(days) + "D"
	}
	rest := minutes % minutesPerDay
	if rest > 0 {
		text += "T"
	}
	if rest >= perHour {
		text += strconv.Itoa(rest/perHour) + "H"
	}
	if rest%perHour > 0 {
		text += strconv.Itoa(rest%perHour) + "M"
	}
	return text
}
