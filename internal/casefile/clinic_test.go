package casefile_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
)

// harbourRow is what testdata/clinic.yaml says.
func harbourRow(t *testing.T) clinic.Settings {
	stretch := func(text string) day.Hours {
		h, err := day.ParseHours(text)
		if err != nil {
			t.Fatal(err)
		}
		return h
	}
	long := []day.Hours{stretch("08:30-12:30"), stretch("13:30-17:00")}
	const surgery, check, imaging, surgeon, nurse = "surgery", "check", "imaging", "surgeon", "nurse"
	return clinic.Settings{
		Name:            "Harbour Row Oral Surgery",
		ShortName:       "Harbour Row",
		Address:         []string{"4 Harbour Row", "Carrick Vale"},
		Phone:           "+353 1 555 0100",
		OutOfHours:      "+353 1 555 0199",
		EmergencyNumber: "112",
		Zone:            "Europe/Dublin",
		Region:          "IE",
		Holidays:        clinic.Holidays{AlsoClosedOnTheDay: true, Add: []clinic.NamedDay{{Day: dayOf(t, "2027-03-19"), Name: "Town fair"}}},
		Hours:           clinic.Week{time.Monday: long, time.Tuesday: long, time.Wednesday: long, time.Thursday: long, time.Friday: {stretch("08:30-13:00")}},
		Closures:        []clinic.Closure{{From: dayOf(t, "2027-08-02"), To: dayOf(t, "2027-08-20"), Name: "Summer closure"}},
		HalfDays:        []clinic.SpecialDay{{Day: dayOf(t, "2027-12-23"), Hours: []day.Hours{stretch("08:30-12:00")}, Name: "Christmas"}},
		GridMinutes:     15,
		Rooms: []clinic.Room{
			{Name: "Surgery 1", For: []string{surgery, check}, OutOfUse: []clinic.Closure{{From: dayOf(t, "2027-06-15"), To: dayOf(t, "2027-06-15"), Name: "repair"}}},
			{Name: "Imaging", For: []string{imaging}, Days: day.WeekdaySet(time.Tuesday, time.Thursday)},
		},
		People: []clinic.Person{
			{Name: "Dr Alba Quill", Role: surgeon, Days: day.WeekdaySet(time.Monday, time.Tuesday, time.Thursday),
				Absent: []clinic.Closure{{From: dayOf(t, "2027-06-14"), To: dayOf(t, "2027-06-18"), Name: "course"}}},
			{Name: "Nurse Wyn Tate", Role: nurse, Days: day.WeekdaySet(time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday)},
		},
		Visits: map[string]clinic.Visit{
			"wound-check":    {Minutes: 20, Room: check, Role: nurse},
			"late-check":     {Minutes: 20, Room: check, Role: surgeon},
			"healing-review": {Minutes: 20, Room: check, Role: surgeon},
			"imaging":        {Minutes: 15, Room: imaging, Role: nurse},
			"placement":      {Minutes: 90, Room: surgery, Role: surgeon},
			"uncovering":     {Minutes: 45, Room: surgery, Role: surgeon},
			"impression":     {Minutes: 45, Room: check, Role: surgeon},
			"first-loading":  {Minutes: 45, Room: check, Role: surgeon},
			"recall":         {Minutes: 45, Room: check, Role: nurse},
		},
		AfterCare: map[string]int{"nose_blowing": 14, "flying": 14, "pressure_and_wind_instruments": 28, "exercise": 7, "soft_diet": 14},
	}
}

func TestExampleClinicReadsWhole(t *testing.T) {
	c, faults := casefile.ReadClinic("clinic.yaml", []byte(example(t, "clinic.yaml")), noFile)
	if len(faults) > 0 {
		t.Fatalf("faults:\n%v", faults)
	}
	if diff := cmp.Diff(harbourRow(t), c.Settings, sameDay); diff != "" {
		t.Errorf("settings (-want +got):\n%s", diff)
	}
	want := casefile.Clinic{
		Mail:   casefile.Mail{From: "reception@harbour-row.example", Host: "mail.harbour-row.example", Port: 587, Security: "starttls", User: "reception", PasswordFile: "mail.password"},
		Shared: casefile.Shared{URL: "https://calendar.harbour-row.example/desk/visits/", User: "desk", PasswordFile: "calendar.password"},
	}
	if c.Mail != want.Mail || c.Shared != want.Shared {
		t.Errorf("mail %+v, shared calendar %+v", c.Mail, c.Shared)
	}
	if c.File != "clinic.yaml" || c.Protocol != "" {
		t.Errorf("file %q, protocol %q", c.File, c.Protocol)
	}
}

func TestOtherClinicFilesThatAreValid(t *testing.T) {
	valid := example(t, "clinic.yaml")
	ics := []byte("BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n")
	open := func(name string) ([]byte, error) {
		if name != "bank.ics" {
			return nil, errors.New("no file " + name)
		}
		return ics, nil
	}
	for _, c := range []struct {
		name, desc string
		change     spoil
		holds      func(casefile.Clinic) bool
	}{
		{"holidays left out", "closed on the day itself unless the clinic says otherwise",
			spoil{from: valid[strings.Index(valid, "holidays:"):strings.Index(valid, "\nhours:")], to: ""},
			func(c casefile.Clinic) bool { return c.Holidays.AlsoClosedOnTheDay }},
		{"FALSE", "YAML's other way to write it",
			spoil{from: "day: true", to: "day: FALSE"},
			func(c casefile.Clinic) bool { return !c.Holidays.AlsoClosedOnTheDay }},
		{"True", "must not read as false",
			spoil{from: "day: true", to: "day: True"},
			func(c casefile.Clinic) bool { return c.Holidays.AlsoClosedOnTheDay }},
		{"after-care left out", "no preset is invented",
			spoil{from: valid[strings.Index(valid, "after_care:"):], to: ""},
			func(c casefile.Clinic) bool { return len(c.AfterCare) == 0 }},
		{"own rules", "", spoil{from: "region: IE ", to: "protocol: rules.yaml\nregion: IE "},
			func(c casefile.Clinic) bool { return c.Protocol == "rules.yaml" }},
		{"closure file", "the bytes come from the caller", spoil{from: "closure_files: []", to: "closure_files: [bank.ics]"},
			func(c casefile.Clinic) bool {
				return len(c.ClosureFiles) == 1 && c.ClosureFiles[0].Name == "bank.ics" && string(c.ClosureFiles[0].Data) == string(ics)
			}},
		{"busy file of a person", "", spoil{from: "name: course}], busy_files: []", to: "name: course}], busy_files: [bank.ics]"},
			func(c casefile.Clinic) bool {
				return len(c.People[0].BusyFiles) == 1 && c.People[0].BusyFiles[0].Name == "bank.ics" && string(c.People[0].BusyFiles[0].Data) == string(ics)
			}},
		{"busy file of a room", "", spoil{from: "name: repair}], busy_files: []", to: "name: repair}], busy_files: [bank.ics]"},
			func(c casefile.Clinic) bool {
				return len(c.Rooms[0].BusyFiles) == 1 && c.Rooms[0].BusyFiles[0].Name == "bank.ics" && string(c.Rooms[0].BusyFiles[0].Data) == string(ics)
			}},
		{"somebody at the desk", "no visit is theirs", spoil{from: "people: [", to: "people: [{name: Ida Marlow, role: desk, days: [mon-fri]}, "},
			func(c casefile.Clinic) bool {
				return c.People[0].Role == "desk" && c.People[1].Absent[0].Name == "course"
			}},
		{"region of a country's part", "", spoil{from: "region: IE ", to: "region: DE-BY "},
			func(c casefile.Clinic) bool { return c.Region == "DE-BY" }},
		{"open until midnight", "24:00 is an end", spoil{from: "fri: [08:30-13:00]", to: "fri: [08:30-24:00]"},
			func(c casefile.Clinic) bool { return c.Hours[time.Friday][0].To.String() == "24:00" }},
		{"run past the end of the week", "", spoil{from: "fri: [08:30-13:00]", to: "fri-sun: [08:30-13:00]"},
			func(c casefile.Clinic) bool { return c.Hours[time.Sunday] != nil && c.Hours[time.Monday] != nil }},
		{"unquoted phone", "digits are text where text is wanted", spoil{from: `emergency_number: "112"`, to: "emergency_number: 0112"},
			func(c casefile.Clinic) bool { return c.EmergencyNumber == "0112" }},
		{"one-day closure", "", spoil{from: "to: 2027-08-20", to: "to: 2027-08-02"},
			func(c casefile.Clinic) bool { return c.Closures[0].From == c.Closures[0].To }},
		{"neither mail nor a shared calendar", "nothing reaches a network",
			spoil{from: valid[strings.Index(valid, "mail:"):], to: ""},
			func(c casefile.Clinic) bool {
				return c.Mail == (casefile.Mail{}) && c.Shared == (casefile.Shared{}) && c.AfterCare["soft_diet"] == 14
			}},
		{"mail without a user", "the server asks for no password", spoil{from: ", user: reception, password_file: mail.password", to: ""},
			func(c casefile.Clinic) bool {
				return c.Mail.Port == 587 && c.Mail.User == "" && c.Mail.PasswordFile == ""
			}},
		{"mail's password from the environment", "", spoil{from: ", password_file: mail.password", to: ""},
			func(c casefile.Clinic) bool { return c.Mail.User == "reception" && c.Mail.PasswordFile == "" }},
		{"no security to this machine by name", "", spoil{from: "server: mail.harbour-row.example, port: 587, security: starttls", to: "server: localhost, port: 1, security: none"},
			func(c casefile.Clinic) bool { return c.Mail.Security == "none" && c.Mail.Port == 1 }},
		{"no security to this machine by number", "", spoil{from: "server: mail.harbour-row.example, port: 587, security: starttls", to: "server: 127.1.2.3, port: 65535, security: none"},
			func(c casefile.Clinic) bool { return c.Mail.Host == "127.1.2.3" && c.Mail.Port == 65535 }},
		{"no security to this machine by IPv6", "", spoil{from: "server: mail.harbour-row.example, port: 587, security: starttls", to: "server: '::1', port: 25, security: none"},
			func(c casefile.Clinic) bool { return c.Mail.Host == "::1" }},
		{"shared calendar on this machine", "", spoil{from: "https://calendar.harbour-row.example/desk/visits/", to: `"http://[::1]:5232/desk/visits/"`},
			func(c casefile.Clinic) bool { return c.Shared.URL == "http://[::1]:5232/desk/visits/" }},
		{"stretches that touch", "", spoil{from: "13:30-17:00", to: "12:30-17:00"},
			func(c casefile.Clinic) bool { return len(c.Hours[time.Monday]) == 2 }},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, faults := casefile.ReadClinic("clinic.yaml", spoilt(t, valid, c.change), open)
			if len(faults) > 0 {
				t.Fatalf("%s: refused:\n%v", c.desc, faults)
			}
			if !c.holds(got) {
				t.Errorf("%s: got %+v", c.desc, got.Settings)
			}
		})
	}
}

// TestCalendarFaultsPointIntoTheClinicFile holds what only the day table can
// see to the line it was written on.
func TestCalendarFaultsPointIntoTheClinicFile(t *testing.T) {
	valid := example(t, "clinic.yaml")
	year := day.Span{From: dayOf(t, "2027-01-01"), To: dayOf(t, "2027-12-31")}
	read := func(s ...spoil) casefile.Clinic {
		c, faults := casefile.ReadClinic("clinic.yaml", spoilt(t, valid, s...), func(string) ([]byte, error) { return []byte("no calendar"), nil })
		if len(faults) > 0 {
			t.Fatalf("faults:\n%v", faults)
		}
		return c
	}
	if calendar, faults := read().Calendar(year); calendar == nil || len(faults) > 0 {
		t.Errorf("the example has no calendar: %v", faults)
	}
	calendar, faults := read(
		spoil{from: "region: IE ", to: "region: XX "},
		spoil{from: "closure_files: []", to: "closure_files: [bank.ics]"},
	).Calendar(year)
	got := complaints("clinic.yaml", faults)
	if calendar != nil || len(got) != 2 || !strings.HasPrefix(got[0], "9:1: region: ") || !strings.HasPrefix(got[1], "18:1: closure_files") {
		t.Errorf("got %q; want a fault on line 9 for the region and one on line 18 for the closure file", got)
	}
	_, faults = read(
		spoil{from: "name: repair}], busy_files: []", to: "name: repair}], busy_files: [room.ics]"},
		spoil{from: "name: course}], busy_files: []", to: "name: course}], busy_files: [quill.ics]"},
	).Calendar(year)
	got = complaints("clinic.yaml", faults)
	if len(got) != 2 || !strings.HasPrefix(got[0], "22:1: rooms[0].busy_files[0]: room.ics: ") || !strings.HasPrefix(got[1], "23:1: people[0].busy_files[0]: quill.ics: ") {
		t.Errorf("got %q; want a fault on line 22 for the room's file and one on line 23 for the person's", got)
	}
	_, faults = read(spoil{from: "drop: []", to: "drop: [Feast of Nobody]"}).Calendar(year)
	if got := complaints("clinic.yaml", faults); len(got) != 1 || !strings.HasPrefix(got[0], "12:1: holidays.drop[0]: ") {
		t.Errorf("got %q; want one fault on line 12 for holidays.drop[0]", got)
	}
}
