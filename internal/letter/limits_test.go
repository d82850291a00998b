package letter_test

import (
	"strings"
	"testing"
)

func TestLimitsEndOnTheRightDay(t *testing.T) {
	for _, c := range []struct {
		name, surgery string
		days          int
		last, free    string
	}{
		{"two weeks", "2027-01-14", 14, "Wednesday 27 January 2027", "Thursday 28 January 2027"},
		{"one day is the day of surgery", "2027-01-14", 1, "Thursday 14 January 2027", "Friday 15 January 2027"},
		{"free on 29 February", "2028-02-15", 14, "Monday 28 February 2028", "Tuesday 29 February 2028"},
		{"last on 29 February", "2028-02-16", 14, "Tuesday 29 February 2028", "Wednesday 1 March 2028"},
		{"no 29 February", "2027-02-15", 14, "Sunday 28 February 2027", "Monday 1 March 2027"},
		{"surgery on 29 February", "2028-02-29", 7, "Monday 6 March 2028", "Tuesday 7 March 2028"},
		{"end of the month", "2027-04-20", 11, "Friday 30 April 2027", "Saturday 1 May 2027"},
		{"end of the year", "2027-12-18", 14, "Friday 31 December 2027", "Saturday 1 January 2028"},
		{"last day in the new year", "2027-12-19", 14, "Saturday 1 January 2028", "Sunday 2 January 2028"},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := simultaneous()
			l.Case.Surgery.Day, l.Timeline.On = on(c.surgery), on(c.surgery)
			l.AfterCare = map[string]int{"nose_blowing": c.days}
			want := "Do not blow your nose. Up to and including " + c.last + ". Allowed again from " + c.free + "."
			if got := strings.Join(strings.Fields(textOf(t, l)), " "); !strings.Contains(got, want) {
				t.Errorf("want %q in\n%s", want, got)
			}
			row := "Do not blow your nose.</th><td><span class=\"label\">Up to and including </span>" + c.last +
				"</td><td><span class=\"label\">Allowed again from </span>" + c.free + "</td>"
			if got := htmlOf(t, l); !strings.Contains(got, row) {
				t.Errorf("want %q in\n%s", row, got)
			}
		})
	}
}

func TestLimitsLeaveTheLetterWhenTheyEnd(t *testing.T) {
	l := simultaneous()
	l.AfterCare = map[string]int{"nose_blowing": 14, "flying": 14, "pressure_and_wind_instruments": 14, "exercise": 14, "soft_diet": 15}
	last := l.Case.Surgery.Day.AddDays(13)
	for days, want := range map[int]int{0: 5, 1: 1, 2: 0} {
		l.Timeline.On = last.AddDays(days)
		text := strings.Join(strings.Fields(textOf(t, l)), " ")
		if got := strings.Count(text, "Up to and"); got != want {
			t.Errorf("%d days after the last day: %d limits, want %d", days, got, want)
		}
		if over := strings.Contains(text, "The limits with a date are over."); over != (want == 0) {
			t.Errorf("%d days after the last day: says over: %v", days, over)
		}
	}
}

func TestAbsentPresetAsksTheSurgeon(t *testing.T) {
	l := simultaneous()
	l.AfterCare = nil
	if got := strings.Count(strings.Join(strings.Fields(textOf(t, l)), " "), "Ask your surgeon when you may."); got != 5 {
		t.Errorf("%d of 5 limits ask", got)
	}
}
