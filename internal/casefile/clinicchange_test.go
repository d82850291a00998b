package casefile_test

import (
	"strings"
	"testing"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
)

func closed(t *testing.T, from, to, name string) clinic.Closure {
	c := clinic.Closure{From: dayOf(t, from), Name: name}
	if to != "" {
		c.To = dayOf(t, to)
	}
	return c
}

func stretch(t *testing.T, text string) []day.Hours {
	t.Helper()
	h, err := day.ParseHours(text)
	if err != nil {
		t.Fatal(err)
	}
	return []day.Hours{h}
}

// TestAChangeWritesWhatAPersonWould names the one line of the example that each change
// touches, and how it then reads.
func TestAChangeWritesWhatAPersonWould(t *testing.T) {
	const week = "hours:\n  mon-thu: [08:30-12:30, 13:30-17:00]\n  fri: [08:30-13:00]\n"
	const long = "[08:30-12:30, 13:30-17:00]"
	summer := closed(t, "2027-08-02", "2027-08-20", "Summer closure")
	for _, c := range []struct {
		name     string
		change   casefile.ClinicChange
		was, now string // of the text
		told     [2]string
	}{
		{"closure", casefile.AddClosure{Closure: closed(t, "2027-10-04", "", "burst pipe")}, "name: Summer closure}]", "name: Summer closure}, {from: 2027-10-04, to: 2027-10-04, name: burst pipe}]",
			[2]string{"", "closed 2027-10-04 (burst pipe)"}},
		{"closure taken away", casefile.RemoveClosure{Closure: summer}, "closures: [{from: 2027-08-02, to: 2027-08-20, name: Summer closure}]", "closures: []",
			[2]string{"closed 2027-08-02 to 2027-08-20 (Summer closure)", ""}},
		{"half day", casefile.SetHalfDay{SpecialDay: clinic.SpecialDay{Day: dayOf(t, "2027-12-24"), Hours: stretch(t, "08:30-11:00"), Name: "Eve"}}, "name: Christmas}]", "name: Christmas}, {day: 2027-12-24, hours: [\"08:30-11:00\"], name: Eve}]",
			[2]string{"", "half day 2027-12-24, 08:30-11:00 (Eve)"}},
		{"half day changed", casefile.SetHalfDay{SpecialDay: clinic.SpecialDay{Day: dayOf(t, "2027-12-23"), Hours: stretch(t, "08:30-11:00"), Name: "Christmas"}}, "hours: [08:30-12:00]", "hours: [\"08:30-11:00\"]",
			[2]string{"half day 2027-12-23, 08:30-12:00 (Christmas)", "half day 2027-12-23, 08:30-11:00 (Christmas)"}},
		{"half day taken away", casefile.RemoveHalfDay{Day: dayOf(t, "2027-12-23")}, "half_days: [{day: 2027-12-23, hours: [08:30-12:00], name: Christmas}]", "half_days: []",
			[2]string{"half day 2027-12-23, 08:30-12:00 (Christmas)", ""}},
		{"hours of a day alone", casefile.SetHours{Weekday: time.Friday, Hours: stretch(t, "09:00-12:00")}, "fri: [08:30-13:00]", "fri: [\"09:00-12:00\"]",
			[2]string{"open on Fridays 08:30-13:00", "open on Fridays 09:00-12:00"}},
		{"hours in the middle of a run", casefile.SetHours{Weekday: time.Tuesday, Hours: stretch(t, "09:00-12:00")}, week, "hours:\n  mon: " + long + "\n  tue: [\"09:00-12:00\"]\n  wed-thu: [\"08:30-12:30\", \"13:30-17:00\"]\n  fri: [08:30-13:00]\n",
			[2]string{"open on Tuesdays 08:30-12:30, 13:30-17:00", "open on Tuesdays 09:00-12:00"}},
		{"hours at the start of a run", casefile.SetHours{Weekday: time.Monday, Hours: stretch(t, "09:00-12:00")}, week, "hours:\n  mon: [\"09:00-12:00\"]\n  tue-thu: " + long + "\n  fri: [08:30-13:00]\n", [2]string{"", ""}},
		{"hours at the end of a run", casefile.SetHours{Weekday: time.Thursday}, week, "hours:\n  mon-wed: " + long + "\n  fri: [08:30-13:00]\n",
			[2]string{"open on Thursdays 08:30-12:30, 13:30-17:00", "closed on Thursdays"}},
		{"closed in the middle of a run", casefile.SetHours{Weekday: time.Wednesday}, week, "hours:\n  mon-tue: " + long + "\n  thu: [\"08:30-12:30\", \"13:30-17:00\"]\n  fri: [08:30-13:00]\n", [2]string{"", ""}},
		{"hours of one more day", casefile.SetHours{Weekday: time.Saturday, Hours: stretch(t, "09:00-12:00")}, "  fri: [08:30-13:00]\n", "  fri: [08:30-13:00]\n  sat: [\"09:00-12:00\"]\n", [2]string{"closed on Saturdays", "open on Saturdays 09:00-12:00"}},
		{"absence", casefile.AddAbsence{Who: "Nurse Wyn Tate", Closure: closed(t, "2027-10-04", "2027-10-08", "leave")}, "days: [mon, tue, wed, thu, fri]}", "days: [mon, tue, wed, thu, fri], absent: [{from: 2027-10-04, to: 2027-10-08, name: leave}]}",
			[2]string{"", "Nurse Wyn Tate away 2027-10-04 to 2027-10-08 (leave)"}},
		{"absence of a room", casefile.AddAbsence{Who: "Imaging", Room: true, Closure: closed(t, "2027-10-04", "", "repair")}, "days: [tue, thu]}", "days: [tue, thu], out_of_use: [{from: 2027-10-04, to: 2027-10-04, name: repair}]}",
			[2]string{"", "Imaging out of use 2027-10-04 (repair)"}},
		{"absence taken away", casefile.RemoveAbsence{Who: "Dr Alba Quill", Closure: closed(t, "2027-06-14", "2027-06-18", "course")}, "absent: [{from: 2027-06-14, to: 2027-06-18, name: course}]", "absent: []",
			[2]string{"Dr Alba Quill away 2027-06-14 to 2027-06-18 (course)", ""}},
		{"somebody leaves for good", casefile.EndPerson("Nurse Wyn Tate", dayOf(t, "2028-01-01"), "left"), "days: [mon, tue, wed, thu, fri]}", "days: [mon, tue, wed, thu, fri], absent: [{from: 2028-01-01, to: 2199-12-31, name: left}]}",
			[2]string{"", "Nurse Wyn Tate away 2028-01-01 to 2199-12-31 (left)"}},
		{"one more person", casefile.AddPerson{Name: "Ida Marlow", Role: "desk", Days: day.WeekdaySet(1, 2, 3, 5)}, "days: [mon, tue, wed, thu, fri]}]", "days: [mon, tue, wed, thu, fri]}, {name: Ida Marlow, role: desk, days: [mon-wed, fri]}]",
			[2]string{"", "Ida Marlow (desk), in on Mon, Tue, Wed, Fri"}},
		{"other weekdays", casefile.SetPersonDays{Name: "Dr Alba Quill", Days: day.WeekdaySet(1, 2)}, "days: [mon, tue, thu]", "days: [mon, tue]",
			[2]string{"Dr Alba Quill (surgeon), in on Mon, Tue, Thu", "Dr Alba Quill (surgeon), in on Mon, Tue"}},
		{"one more room", casefile.SetRoom{Name: "Surgery 2", For: []string{"surgery"}}, "days: [tue, thu]}]", "days: [tue, thu]}, {name: Surgery 2, for: [surgery]}]", [2]string{"", "Surgery 2 for surgery"}},
		{"room for more", casefile.SetRoom{Name: "Imaging", For: []string{"imaging", "check"}, Days: day.WeekdaySet(2, 4)}, "for: [imaging]", "for: [imaging, check]",
			[2]string{"Imaging for imaging on Tue, Thu", "Imaging for imaging, check on Tue, Thu"}},
		{"room on every day", casefile.SetRoom{Name: "Imaging", For: []string{"imaging"}}, "for: [imaging], days: [tue, thu]", "for: [imaging]", [2]string{"Imaging for imaging on Tue, Thu", "Imaging for imaging"}},
		{"preset", casefile.SetAfterCare{Key: "flying", Days: 21}, "  flying: 14\n", "  flying: 21\n", [2]string{"flying 14 days", "flying 21 days"}},
		{"preset taken away", casefile.SetAfterCare{Key: "flying"}, "  flying: 14\n", "", [2]string{"flying 14 days", ""}},
		{"own rules", casefile.SetProtocol{File: "own.yaml"}, "public holidays\n", "public holidays\nprotocol: own.yaml\n", [2]string{"", "own rule values in own.yaml"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			valid := example(t, "clinic.yaml")
			want := strings.Replace(valid, c.was, c.now, 1)
			before, _ := casefile.ReadClinic("clinic.yaml", []byte(valid), noFile)
			got, after, faults, err := casefile.ChangeClinic("clinic.yaml", []byte(valid), []casefile.ClinicChange{c.change}, noFile)
			if err != nil || len(faults) > 0 || want == valid && c.was != c.now {
				t.Fatal(err, faults)
			}
			if string(got) != want {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
			if told := [2]string{c.change.Tell(before), c.change.Tell(after)}; c.told != [2]string{} && told != c.told {
				t.Errorf("told %q, want %q", told, c.told)
			}
			if after.Digest == before.Digest {
				t.Error("another text has the same digest")
			}
		})
	}
}

// TestAChangeThatCannotBe wants no text, and the complaint at its field.
func TestAChangeThatCannotBe(t *testing.T) {
	summer := closed(t, "2027-08-02", "2027-08-20", "Summer closure")
	for _, c := range []struct {
		name   string
		change casefile.ClinicChange
		fault  string // with its place
		err    string
	}{
		{"ends before it starts", casefile.AddClosure{Closure: closed(t, "2027-10-04", "2027-10-01", "x")}, "closures[1].to: 2027-10-01, before it starts", ""},
		{"no day", casefile.AddClosure{Closure: clinic.Closure{Name: "x"}}, "closures[1].from: no value", ""},
		{"no name", casefile.AddClosure{Closure: closed(t, "2027-10-04", "", " ")}, "closures[1].name: blank text", ""},
		{"two lines", casefile.AddClosure{Closure: closed(t, "2027-10-04", "", "a\nphone: 1")}, "closures[1].name: a line break", ""},
		{"a break that only YAML knows", casefile.AddClosure{Closure: closed(t, "2027-10-04", "", "a\u2028b")}, "closures[1].name: a line break", ""},
		{"text that runs the other way", casefile.AddClosure{Closure: closed(t, "2027-10-04", "", "a\u202eb")}, "closures[1].name: a line break or control character", ""},
		{"bytes that are no text", casefile.AddClosure{Closure: closed(t, "2027-10-04", "", "a\xffb")}, "", "change closures: bytes that are no UTF-8 text"},
		{"too long", casefile.AddClosure{Closure: closed(t, "2027-10-04", "", strings.Repeat("x", 401))}, "closures[1].name: 401 characters", ""},
		{"twice the same", casefile.AddClosure{Closure: summer}, "", "the clinic file has this closure already: 2027-08-02 to 2027-08-20 (Summer closure)"},
		{"closure that is not there", casefile.RemoveClosure{Closure: closed(t, "2027-08-02", "2027-08-20", "Summer")}, "", "the clinic file has no closure 2027-08-02 to 2027-08-20 (Summer)"},
		{"half day that is not there", casefile.RemoveHalfDay{Day: dayOf(t, "2027-12-24")}, "", "no half day on 2027-12-24"},
		{"half day without hours", casefile.SetHalfDay{SpecialDay: clinic.SpecialDay{Day: dayOf(t, "2027-12-23"), Name: "x"}}, "half_days[0].hours: 0 items", ""},
		{"hours that overlap", casefile.SetHours{Weekday: time.Friday, Hours: append(stretch(t, "08:30-12:00"), stretch(t, "11:00-13:00")...)}, "hours.fri[1]: 11:00-13:00 starts before", ""},
		{"somebody unknown", casefile.AddAbsence{Who: "Nobody", Closure: summer}, "", "the clinic file has no person Nobody"},
		{"a room unknown", casefile.AddAbsence{Who: "Nurse Wyn Tate", Room: true, Closure: summer}, "", "the clinic file has no room Nurse Wyn Tate"},
		{"absence that is not there", casefile.RemoveAbsence{Who: "Nurse Wyn Tate", Closure: summer}, "", "the clinic file has no absence of Nurse Wyn Tate"},
		{"a name twice", casefile.AddPerson{Name: "nurse wyn tate", Role: "desk", Days: 2}, "people[2].name: nurse wyn tate a second time", ""},
		{"a role that is none", casefile.AddPerson{Name: "Ida Marlow", Role: "boss", Days: 2}, `people[2].role: "boss"`, ""},
		{"no days", casefile.AddPerson{Name: "Ida Marlow", Role: "desk"}, "people[2].days: 0 items", ""},
		{"the last of a role", casefile.RemovePerson{Name: "Dr Alba Quill"}, "visits.late-check.role: surgeon, whom people does not have", ""},
		{"a room for nothing", casefile.SetRoom{Name: "Imaging", For: []string{"check"}}, "visits.imaging.room: imaging, for which there is no room", ""},
		{"a preset that is none", casefile.SetAfterCare{Key: "a: b", Days: 2}, "", `no after-care preset "a: b"`},
		{"a preset too long", casefile.SetAfterCare{Key: "flying", Days: 366}, "after_care.flying: 366", ""},
		{"no rules to drop", casefile.SetProtocol{}, "", "no file of its own rule values"},
	} {
		t.Run(c.name, func(t *testing.T) {
			text, _, faults, err := casefile.ChangeClinic("clinic.yaml", []byte(example(t, "clinic.yaml")), []casefile.ClinicChange{c.change}, noFile)
			switch {
			case text != nil:
				t.Errorf("a text came back:\n%s", text)
			case c.err != "" && (err == nil || !strings.Contains(err.Error(), c.err)):
				t.Errorf("error %v, faults %v; want the error %q", err, faults, c.err)
			case c.fault != "" && (len(faults) == 0 || !strings.Contains(faults.Error(), c.fault)):
				t.Errorf("error %v, faults %v; want the fault %q", err, faults, c.fault)
			}
		})
	}
}

// TestChangesGoAllOrNone makes a good change before one that cannot be.
func TestChangesGoAllOrNone(t *testing.T) {
	data := []byte(example(t, "clinic.yaml"))
	good := casefile.AddClosure{Closure: closed(t, "2027-10-04", "", "burst pipe")}
	text, c, faults, err := casefile.ChangeClinic("clinic.yaml", data, []casefile.ClinicChange{good, casefile.SetAfterCare{Key: "flying", Days: 2}}, noFile)
	if err != nil || len(faults) > 0 || len(c.Closures) != 2 || c.AfterCare["flying"] != 2 {
		t.Errorf("%v %v\n%s", err, faults, text)
	}
	if text, _, _, err := casefile.ChangeClinic("clinic.yaml", data, []casefile.ClinicChange{good, good}, noFile); err == nil || text != nil {
		t.Errorf("%v\n%s", err, text)
	}
	faulty := []byte(strings.Replace(string(data), "grid_minutes: 15", "grid_minutes: x", 1))
	if text, _, faults, err := casefile.ChangeClinic("clinic.yaml", faulty, []casefile.ClinicChange{good}, noFile); err != nil || text != nil || len(faults) != 1 || faults[0].Path != "grid_minutes" {
		t.Errorf("%v %v\n%s", err, faults, text)
	}
}
