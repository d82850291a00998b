package casefile

import "graftclock/internal/table"

// Bounds of what a clinic file may say.
const (
	mostMinutes   = 480
	mostAfterCare = 365
	mostGrid      = 60
	leastGrid     = 5
)

// visitNames are the visits a clinic file describes, in clinical order.
var visitNames = []string{"wound-check", "late-check", "healing-review", "imaging", "placement", "uncovering", "impression", "first-loading", "recall"}

// roomKinds are what a room may be for.
var roomKinds = []string{"surgery", "check", "imaging"}

// AfterCareKeys are the after-care presets a clinic may set, in days.
var AfterCareKeys = []string{"nose_blowing", "flying", "pressure_and_wind_instruments", "exercise", "soft_diet"}

// ClinicFile is the shape of a clinic file.
func ClinicFile() table.Shape { return clinicFile }

var clinicFile = table.Map("",
	table.Must("clinic", table.Whole("version of this format", "", 1, 1)),
	table.Must("name", table.Text("on the letterhead")),
	table.Must("short_name", table.Text("in calendar titles")),
	table.Must("address", table.List("", 1, table.Text(""))),
	table.Must("phone", table.Text("in opening hours")),
	table.Must("out_of_hours", table.Text("the number at night and on closed days; no letter without it")),
	table.May("emergency_number", table.Text("of the country; left out: that of the region, where graftclock knows one")),
	table.Must("zone", table.Formal("", zoneGrammar)),
	table.Must("region", table.Formal("for public holidays", regionGrammar)),
	table.May("letters", table.Text("folder with the clinic's own templates of letters, beside this file")),
	table.May("protocol", table.Text("file with the clinic's own rule values, beside this one")),
	table.May("holidays", table.Map("",
		table.May("also_closed_on_the_day", table.Bool("also closed on the holiday itself when it is observed on another day; left out: true")),
		table.May("drop", table.List("holidays on which the clinic is open", 0, table.Text("name as graftclock days prints it"))),
		table.May("add", table.List("holidays of the clinic's own", 0, table.Map("",
			table.Must("day", table.Formal("", dayGrammar)),
			table.Must("name", table.Text("")))))),
	),
	table.Must("hours", table.Keyed("opening hours by weekday; a day left out is closed", weekdaysGrammar, table.List("", 1, table.Formal("", hoursGrammar)))),
	table.May("closures", table.List("", 0, days("last closed day"))),
	table.May("closure_files", table.List(".ics files with closed days, beside this one", 0, table.Text(""))),
	table.May("half_days", table.List("", 0, specialDay)),
	table.May("extra_days", table.List("days open out of turn", 0, specialDay)),
	table.Must("grid_minutes", table.Whole("visits start on multiples of it", "minutes", leastGrid, mostGrid)),
	table.Must("rooms", table.List("", 1, table.Map("",
		table.Must("name", table.Text("")),
		table.Must("for", table.List("", 1, table.Word("", roomKinds...))),
		table.May("days", table.List("left out: every open day", 1, table.Formal("", weekdaysGrammar))),
		table.May("out_of_use", table.List("", 0, days("last day out of use"))),
		table.May("busy_files", table.List(".ics files with time the room is taken, beside this one", 0, table.Text("")))))),
	table.Must("people", table.List("", 1, table.Map("",
		table.Must("name", table.Text("")),
		table.Must("role", table.Word("", "surgeon", "nurse", "hygienist", "desk")),
		table.Must("days", table.List("", 1, table.Formal("", weekdaysGrammar))),
		table.May("absent", table.List("", 0, days("last day away"))),
		table.May("busy_files", table.List(".ics files with time the person is taken, beside this one", 0, table.Text("")))))),
	table.Must("visits", table.Map("", visitFields()...)),
	table.May("after_care", table.Map("the clinic's own presets in days; practice varies; left out: ask the surgeon", afterCareFields()...)),
	table.May("mail", mailShape),
	table.May("shared_calendar", sharedShape),
)

// days describes a run of days with a name; last says what its last day is.
func days(last string) table.Shape {
	return table.Map("",
		table.Must("from", table.Formal("", dayGrammar)),
		table.Must("to", table.Formal(last, dayGrammar)),
		table.Must("name", table.Text("")))
}

var specialDay = table.Map("",
	table.Must("day", table.Formal("", dayGrammar)),
	table.Must("hours", table.List("", 1, table.Formal("", hoursGrammar))),
	table.Must("name", table.Text("")))

func visitFields() []table.Field {
	var fields []table.Field
	for _, name := range visitNames {
		fields = append(fields, table.Must(name, table.Map("",
			table.Must("minutes", table.Whole("", "minutes", leastGrid, mostMinutes)),
			table.Must("room", table.Word("", roomKinds...)),
			table.Must("role", table.Word("", "surgeon", "nurse", "hygienist", "desk")))))
	}
	return fields
}

func afterCareFields() []table.Field {
	var fields []table.Field
	for _, key := range AfterCareKeys {
		fields = append(fields, table.May(key, table.Whole("", "days", 1, mostAfterCare)))
	}
	return fields
}
