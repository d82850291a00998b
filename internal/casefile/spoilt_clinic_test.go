package casefile_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/casefile"
)

// noFile is a folder without closure files.
func noFile(name string) ([]byte, error) { return nil, fmt.Errorf("no file %s", name) }

// clinicSpoils spoil one thing each of testdata/clinic.yaml.
var clinicSpoils = []spoil{
	{"format version", "",
		"clinic: 1\n", "clinic: 2\n",
		`1:9: clinic: 2; allowed: 1`},
	{"key misspelt", "",
		"short_name: Harbour Row\n", "shortname: Harbour Row\n",
		`1:1: short_name: missing; allowed: one line of text` + "\n" +
			`3:1: shortname: unknown key; allowed: clinic, name, short_name, address, phone, out_of_hours, emergency_number, zone, region, protocol, holidays, hours, closures, closure_files, half_days, extra_days, grid_minutes, rooms, people, visits, after_care; did you mean short_name?`},
	{"no address line", "",
		"address: [4 Harbour Row, Carrick Vale]", "address: []",
		`4:10: address: 0 items; allowed: at least 1`},
	{"out-of-hours number missing", "no letter without it",
		`out_of_hours: "+353 1 555 0199"`, "#",
		`1:1: out_of_hours: missing; allowed: one line of text`},
	{"out-of-hours number blank", "",
		`out_of_hours: "+353 1 555 0199"`, `out_of_hours: ""`,
		`6:15: out_of_hours: blank text; allowed: one line of text`},
	{"zone unknown", "",
		"zone: Europe/Dublin", "zone: Europe/Dublim",
		`8:7: zone: "Europe/Dublim" is no time zone: want a name such as Europe/Dublin (IANA)`},
	{"zone of this machine", "",
		"zone: Europe/Dublin", "zone: Local",
		`8:7: zone: "Local" is no time zone: want a name such as Europe/Dublin (IANA)`},
	{"zone as a path", "the files of the zones would open it",
		"zone: Europe/Dublin", "zone: Europe//Dublin",
		`8:7: zone: "Europe//Dublin" is no time zone: want a name such as Europe/Dublin (IANA)`},
	{"zone outside the database", "",
		"zone: Europe/Dublin", "zone: ../Dublin",
		`8:7: zone: "../Dublin" is no time zone: want a name such as Europe/Dublin (IANA)`},
	{"region in small letters", "",
		"region: IE ", "region: ie ",
		`9:9: region: "ie" is no region: want capital letters; did you mean IE?`},
	{"region by name", "",
		"region: IE ", "region: Ireland ",
		`9:9: region: "Ireland" is no region: want a code such as IE or DE-BY (ISO 3166)`},
	{"yes for true", "YAML 1.1 took it for true",
		"also_closed_on_the_day: true", "also_closed_on_the_day: yes",
		`11:27: holidays.also_closed_on_the_day: "yes"; allowed: true or false`},
	{"holiday on a day that does not exist", "",
		"{day: 2027-03-19, name", "{day: 2027-02-29, name",
		`13:15: holidays.add[0].day: "2027-02-29" is no day: February 2027 has 28 days`},
	{"hours overlap", "complained of once, not for each weekday of the run",
		"13:30-17:00", "12:00-17:00",
		`15:26: hours.mon-thu[1]: 12:00-17:00 starts before 08:30-12:30 ends; allowed: stretches in order, without overlap`},
	{"hours out of order", "",
		"[08:30-12:30, 13:30-17:00]", "[13:30-17:00, 08:30-12:30]",
		`15:26: hours.mon-thu[1]: 08:30-12:30 starts before 13:30-17:00 ends; allowed: stretches in order, without overlap`},
	{"hours past midnight", "",
		"13:30-17:00", "13:30-25:00",
		`15:26: hours.mon-thu[1]: "25:00" is no time of day: want HH:MM, such as 08:30`},
	{"hours without leading nought", "",
		"13:30-17:00", "8:30-17:00",
		`15:26: hours.mon-thu[1]: "8:30" is no time of day: want HH:MM, such as 08:30`},
	{"hours backwards", "",
		"fri: [08:30-13:00]", "fri: [13:00-08:30]",
		`16:9: hours.fri[0]: "13:00-08:30" ends before it starts`},
	{"no hours on an open day", "",
		"fri: [08:30-13:00]", "fri: []",
		`16:8: hours.fri: 0 items; allowed: at least 1`},
	{"weekday twice", "thu lies in mon-thu",
		"fri: [08:30-13:00]", "thu: [08:30-13:00]",
		`16:8: hours.thu: hours for Thursday a second time; allowed: each weekday once`},
	{"weekday in full", "",
		"fri: [08:30-13:00]", "friday: [08:30-13:00]",
		`16:3: hours.friday: "friday" is no weekday: want mon, tue, wed, thu, fri, sat or sun`},
	{"closure ends before it starts", "",
		"to: 2027-08-20", "to: 2027-08-01",
		`17:35: closures[0].to: 2027-08-01, before it starts; allowed: from 2027-08-02 on`},
	{"closure day first", "",
		"from: 2027-08-02", "from: 02.08.2027",
		`17:19: closures[0].from: "02.08.2027" is no day: want YYYY-MM-DD, such as 2027-01-14`},
	{"closure file missing", "",
		"closure_files: []", "closure_files: [bank.ics, bridge.ics]",
		`18:17: closure_files[0]: no file bank.ics; allowed: an .ics file beside the clinic file` + "\n" +
			`18:27: closure_files[1]: no file bridge.ics; allowed: an .ics file beside the clinic file`},
	{"half day with overlap", "",
		"[08:30-12:00]", "[09:00-11:00, 10:00-12:00]",
		`19:52: half_days[0].hours[1]: 10:00-12:00 starts before 09:00-11:00 ends; allowed: stretches in order, without overlap`},
	{"extra day without hours", "",
		"extra_days: []", "extra_days: [{day: 2027-09-04, name: Late opening}]",
		`20:14: extra_days[0].hours: missing; allowed: a list of hours as HH:MM-HH:MM`},
	{"grid of 7 minutes", "no part of an hour",
		"grid_minutes: 15", "grid_minutes: 7",
		`21:15: grid_minutes: 7 minutes; allowed: a part of an hour: 5, 6, 10, 12, 15, 20, 30 or 60`},
	{"grid of 90 minutes", "",
		"grid_minutes: 15", "grid_minutes: 90",
		`21:15: grid_minutes: 90 minutes; allowed: a whole number from 5 to 60 minutes`},
	{"room kind misspelt", "the visits are not blamed for it",
		"for: [surgery, check]", "for: [surgery, chek]",
		`22:42: rooms[0].for[1]: "chek"; allowed: surgery, check, imaging; did you mean check?`},
	{"room kind nobody has", "",
		"for: [surgery, check],", "for: [check],",
		`29:34: visits.placement.room: surgery, for which there is no room; allowed: a kind of rooms` + "\n" +
			`30:35: visits.uncovering.room: surgery, for which there is no room; allowed: a kind of rooms`},
	{"room on a weekday in full", "",
		"days: [tue, thu]}", "days: [tuesday]}",
		`22:170: rooms[1].days[0]: "tuesday" is no weekday: want mon, tue, wed, thu, fri, sat or sun`},
	{"role misspelt", "the visits are not blamed for it",
		"role: nurse, days", "role: nurses, days",
		`23:176: people[1].role: "nurses"; allowed: surgeon, nurse, hygienist, desk; did you mean nurse?`},
	{"role nobody has", "",
		"role: nurse, days", "role: hygienist, days",
		`25:49: visits.wound-check.role: nurse, whom people does not have; allowed: a role of people` + "\n" +
			`28:47: visits.imaging.role: nurse, whom people does not have; allowed: a role of people` + "\n" +
			`33:44: visits.recall.role: nurse, whom people does not have; allowed: a role of people`},
	{"room out of use backwards", "",
		"to: 2027-06-15", "to: 2027-06-01",
		`22:86: rooms[0].out_of_use[0].to: 2027-06-01, before it starts; allowed: from 2027-06-15 on`},
	{"room out of use without a name", "",
		", name: repair}", "}",
		`22:63: rooms[0].out_of_use[0].name: missing; allowed: one line of text`},
	{"room's busy file missing", "",
		"name: repair}], busy_files: []", "name: repair}], busy_files: [room.ics]",
		`22:127: rooms[0].busy_files[0]: no file room.ics; allowed: an .ics file beside the clinic file`},
	{"room twice", "in whatever case",
		"{name: Imaging, for", "{name: SURGERY 1, for",
		`22:138: rooms[1].name: SURGERY 1 a second time; allowed: each room by a name of its own`},
	{"room's key misspelt", "",
		"out_of_use:", "out_of_order:",
		`22:50: rooms[0].out_of_order: unknown key; allowed: name, for, days, out_of_use, busy_files`},
	{"away backwards", "",
		"to: 2027-06-18", "to: 2027-06-13",
		`23:102: people[0].absent[0].to: 2027-06-13, before it starts; allowed: from 2027-06-14 on`},
	{"away on a day that does not exist", "the visits are still looked at",
		"from: 2027-06-14", "from: 2027-06-31",
		`23:86: people[0].absent[0].from: "2027-06-31" is no day: June 2027 has 30 days`},
	{"away without an end", "",
		"to: 2027-06-18, ", "",
		`23:79: people[0].absent[0].to: missing; allowed: a day as YYYY-MM-DD`},
	{"away without a name", "",
		", name: course}", ", name: ''}",
		`23:120: people[0].absent[0].name: blank text; allowed: one line of text`},
	{"person's busy file missing", "",
		"name: course}], busy_files: []", "name: course}], busy_files: [quill.ics]",
		`23:143: people[0].busy_files[0]: no file quill.ics; allowed: an .ics file beside the clinic file`},
	{"busy file that is no list", "",
		"name: course}], busy_files: []", "name: course}], busy_files: quill.ics",
		`23:142: people[0].busy_files: "quill.ics"; allowed: a list of one line of text`},
	{"person twice", "bookings know people by name",
		"{name: Nurse Wyn Tate,", "{name: Dr Alba Quill,",
		`23:154: people[1].name: Dr Alba Quill a second time; allowed: each person by a name of their own`},
	{"person's key misspelt", "",
		"absent:", "abscent:",
		`23:70: people[0].abscent: unknown key; allowed: name, role, days, absent, busy_files; did you mean absent?`},
	{"visit too long", "",
		"{minutes: 90,", "{minutes: 900,",
		`29:24: visits.placement.minutes: 900 minutes; allowed: a whole number from 5 to 480 minutes`},
	{"visit with its unit", "",
		"{minutes: 90,", "{minutes: 90 minutes,",
		`29:24: visits.placement.minutes: "90 minutes"; allowed: a whole number from 5 to 480 minutes; write the number alone, in minutes: 90`},
	{"visit in hours", "",
		"{minutes: 90,", "{minutes: 1.5,",
		`29:24: visits.placement.minutes: 1.5 minutes; allowed: a whole number from 5 to 480 minutes`},
	{"unknown visit", "",
		"  wound-check:", "  wound_check:",
		`25:3: visits.wound_check: unknown key; allowed: wound-check, late-check, healing-review, imaging, placement, uncovering, impression, first-loading, recall; did you mean wound-check?` + "\n" +
			`25:3: visits.wound-check: missing; allowed: a map of minutes, room, role`},
	{"visit missing", "",
		"  recall: {minutes: 45, room: check, role: nurse}\n", "",
		`25:3: visits.recall: missing; allowed: a map of minutes, room, role`},
	{"after-care in weeks", "",
		"nose_blowing: 14", "nose_blowing: 2w",
		`35:17: after_care.nose_blowing: "2w"; allowed: a whole number from 1 to 365 days; write the number alone, without a unit`},
	{"unknown after-care", "",
		"nose_blowing: 14", "nose_blow: 14",
		`35:3: after_care.nose_blow: unknown key; allowed: nose_blowing, flying, pressure_and_wind_instruments, exercise, soft_diet; did you mean nose_blowing?`},
}

func TestSpoiltClinicIsRefusedWithItsPlace(t *testing.T) {
	valid := example(t, "clinic.yaml")
	for _, s := range clinicSpoils {
		t.Run(s.name, func(t *testing.T) {
			_, faults := casefile.ReadClinic("clinic.yaml", spoilt(t, valid, s), noFile)
			if diff := cmp.Diff(strings.Split(s.want, "\n"), complaints("clinic.yaml", faults)); diff != "" {
				t.Errorf("%s (-want +got):\n%s", s.desc, diff)
			}
		})
	}
}

func TestEveryFaultOfAClinicFileInOneRun(t *testing.T) {
	names := []string{
		"out-of-hours number blank", "zone unknown", "region in small letters", "yes for true", "holiday on a day that does not exist",
		"hours overlap", "weekday twice", "closure ends before it starts", "closure file missing", "half day with overlap",
		"extra day without hours", "grid of 7 minutes", "room out of use backwards", "room's busy file missing", "away on a day that does not exist", "role nobody has", "visit too long", "unknown visit", "after-care in weeks",
	}
	// A visit of another name lacks no nurse.
	chosen, want := allOf(t, clinicSpoils, names, "visits.wound-check.role")
	_, faults := casefile.ReadClinic("clinic.yaml", spoilt(t, example(t, "clinic.yaml"), chosen...), noFile)
	if diff := cmp.Diff(want, complaints("clinic.yaml", faults)); diff != "" {
		t.Errorf("complaints (-want +got):\n%s", diff)
	}
}
