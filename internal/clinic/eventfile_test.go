package clinic

import (
	"strings"
	"testing"
)

// RFC 5545 section 3.6.4: only the time that is not marked as free is taken.
func TestFreeBusyLists(t *testing.T) {
	list := func(lines ...string) []byte {
		return calendarFile("BEGIN:VFREEBUSY\nUID:1\nDTSTART:20270101T000000Z\nDTEND:20280101T000000Z\n" + strings.Join(lines, "\n") + "\nEND:VFREEBUSY")
	}
	for _, tc := range []struct {
		name string
		file []byte
		want string
	}{
		{"ends and lengths", list("FREEBUSY:20270511T090000Z/20270511T093000Z,20270512T090000Z/PT1H"), "05-11 10:00-10:30; 05-12 10:00-11:00"},
		{"kinds of being busy", list("FREEBUSY;FBTYPE=BUSY:20270511T090000Z/PT1H", "FREEBUSY;FBTYPE=BUSY-UNAVAILABLE:20270512T090000Z/PT1H", "FREEBUSY;FBTYPE=BUSY-TENTATIVE:20270513T090000Z/PT1H", "freebusy;fbtype=X-OUT:20270514T090000Z/PT1H"),
			"05-11 10:00-11:00; 05-12 10:00-11:00; 05-13 10:00-11:00; 05-14 10:00-11:00"},
		{"free", list("FREEBUSY;FBTYPE=FREE:20270511T090000Z/PT1H", "FREEBUSY;FBTYPE=free:20270513T090000Z/PT1H", "FREEBUSY:20270512T090000Z/PT1H"), "05-12 10:00-11:00"},
		{"beside an event", calendarFile(event("DTSTART:20270513T090000", "DURATION:PT1H"), "BEGIN:VFREEBUSY\nFREEBUSY:20270511T090000Z/P1D\nEND:VFREEBUSY"),
			"05-11 10:00-24:00; 05-12 00:00-10:00; 05-13 09:00-10:00"},
		{"of no length", list("FREEBUSY:20270511T090000Z/20270511T090000Z"), ""},
	} {
		if got, notes := takenBy(t, tc.file); got != tc.want || notes != "" {
			t.Errorf("%s: got %q (%s), want %q", tc.name, got, notes, tc.want)
		}
	}
	for text, want := range map[string]string{
		"FREEBUSY:20270511T090000Z":                   `FREEBUSY: "" is no day or time that exists`,
		"FREEBUSY:20270511T090000Z/20270511T080000Z":  "FREEBUSY: it ends before it starts",
		"FREEBUSY:20270511T090000Z/-PT1H":             `FREEBUSY: "-PT1H" is no day or time`,
		"FREEBUSY;FBTYPE=BUSY:now/PT1H":               `FREEBUSY: "now" is no day or time`,
		"FREEBUSY:20270511T090000Z/PT1H,,20270512/P1": `FREEBUSY: "" is no day or time`,
	} {
		_, _, err := BusyTimes(File{"oake.ics", list(text)}, "Europe/Dublin", span(t, "2027-01-01..2027-12-31"))
		if err == nil || !strings.HasPrefix(err.Error(), "oake.ics: VFREEBUSY on line 4: "+want) {
			t.Errorf("%s: got %v, want %q", text, err, want)
		}
	}
}

// RFC 5545 section 3.8.7.4: of two states of an event the one with the higher SEQUENCE
// holds. Without one, both are taken: they may be two events that somebody gave one name.
func TestLaterStatesOfAnEvent(t *testing.T) {
	at := func(day string, more ...string) string {
		return event(append([]string{"DTSTART:202705" + day + "T100000", "DURATION:PT1H"}, more...)...)
	}
	const later = "the file has a later state of it (SEQUENCE)"
	for _, tc := range []struct {
		name   string
		events []string
		want   string
		note   string
	}{
		{"moved", []string{at("11"), at("12", "SEQUENCE:1")}, "05-12 10:00-11:00", later},
		{"whatever their order", []string{at("12", "SEQUENCE:3"), at("11", "SEQUENCE:2")}, "05-12 10:00-11:00", later},
		{"called off", []string{at("11", "SEQUENCE:0"), at("11", "SEQUENCE:1", "STATUS:CANCELLED")}, "", later},
		{"the same state", []string{at("11", "SEQUENCE:1"), at("12", "SEQUENCE:1")}, "05-11 10:00-11:00; 05-12 10:00-11:00", ""},
		{"of another event", []string{at("11"), strings.Replace(at("12", "SEQUENCE:1"), "UID:1@", "UID:2@", 1)}, "05-11 10:00-11:00; 05-12 10:00-11:00", ""},
		{"of no name", []string{strings.Replace(at("11"), "UID:1@clinic\n", "", 1), strings.Replace(at("12", "SEQUENCE:1"), "UID:1@clinic\n", "", 1)}, "05-11 10:00-11:00; 05-12 10:00-11:00", ""},
		{"an instance is no later state of its event", []string{at("11", "RRULE:FREQ=DAILY;COUNT=2"), at("13", "RECURRENCE-ID:20270512T100000", "SEQUENCE:1")}, "05-11 10:00-11:00; 05-13 10:00-11:00", ""},
		{"an instance moved twice", []string{at("11", "RRULE:FREQ=DAILY;COUNT=2", "SEQUENCE:5"), at("13", "RECURRENCE-ID:20270512T100000", "SEQUENCE:1"), at("14", "RECURRENCE-ID:20270512T100000", "SEQUENCE:2")},
			"05-11 10:00-11:00; 05-14 10:00-11:00", later},
		{"a state that is no number", []string{at("11", "SEQUENCE:x"), at("12", "SEQUENCE:-1")}, "05-11 10:00-11:00; 05-12 10:00-11:00", ""},
	} {
		got, notes := takenBy(t, calendarFile(tc.events...))
		if got != tc.want || (tc.note == "") != (notes == "") || !strings.Contains(notes, tc.note) {
			t.Errorf("%s: got %q (%s), want %q (%s)", tc.name, got, notes, tc.want, tc.note)
		}
	}
}
