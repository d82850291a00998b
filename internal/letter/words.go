package letter

import (
	"graftclock/internal/graft"
)

// Words are the letter's words in one language, for others that must call a
// visit by the same name.
type Words struct{ w *wording }

// Language returns the tag of the language the words are in.
func (w Words) Language() string { return w.w.Language }

// Title returns what a patient calls the step; empty for a step that is none.
func (w Words) Title(step graft.Step) string { return w.w.Steps[step].Title }

// What returns one sentence on what the step is for, to a patient whose stitches dissolve
// or do not; empty for a step that is none.
func (w Words) What(step graft.Step, stitchesDissolve bool) string {
	return w.w.what(step, stitchesDissolve)
}

// wording is the words file of one language. A field marked optional may be left out
// of the file; every other must be there and say something.
type wording struct {
	Language string
	Decimal  string // the mark before tenths
	Colon    string // with the no-break space before it, where the language has one
	Dates    dateWords
	Regions  map[string]regionWords // ISO 3166-1 codes of a tag such as en-US
	Periods  struct{ Days, Months counted }
	Status   struct {
		Planned, Booked string
		PlannedMeans    string `yaml:"planned_means"`
		BookedMeans     string `yaml:"booked_means"`
	}
	Sides    map[graft.Side]string
	Steps    map[graft.Step]stepWords
	Surgery  surgeryWords
	Headings headings
	Labels   labels
	Draft    struct{ Word, Says string }
	NoVisits string `yaml:"no_visits"`
	Do       []string
	Mask     string
	Limits   limitWords
	Signs    []sign

	EmergencyCall     string `yaml:"emergency_call"`
	NoEmergencyNumber string `yaml:"no_emergency_number"`

	Path     pathWords
	Scan     scanWords
	Calendar calendarWords
	Closing  []string
	Referrer referrerWords

	Entry entryWords
	Mail  mailWords

	LongWords []string `yaml:"long_words"` // left out when the letter's ease is measured
}

// counted is one sentence by plural class (CLDR: zero, one, two, few, many, other).
type counted map[string]string

type dateWords struct {
	Weekdays  []string // from Sunday
	Months    []string // from January, as they stand in a date
	Day       string
	NoYear    string `yaml:"day_without_year"`
	WithTime  string `yaml:"with_time"`
	Between   string
	OneDay    string `yaml:"one_day"`
	NotBefore string `yaml:"not_before"`
	Aim       string
	NoDayYet  string `yaml:"no_day_yet"`
	Noon      bool   `yaml:"am_pm,optional"` // hours are told by AM and PM
}

// regionWords is what differs in a region from the dates of the language.
type regionWords struct {
	Day    string   `yaml:"day,optional"`
	NoYear string   `yaml:"day_without_year,optional"`
	Months []string `yaml:"months,optional"`
	Noon   bool     `yaml:"am_pm,optional"`
}

type stepWords struct {
	Title, What            string
	WhatIfStitchesDissolve string `yaml:"what_if_stitches_dissolve,optional"`
}

type surgeryWords struct {
	Title, What, Intro string
	On                 map[graft.Side]string // begins a sentence
	How                map[graft.Approach]string
	Implants           counted
	Done, Ahead        sittingWords
	Stopped            string
}

// sittingWords says what happens to one sinus, by when its implants are placed.
type sittingWords struct {
	Alone, Now, Later string
	NowAndLater       string `yaml:"now_and_later"`
}

type headings struct {
	After, Ahead string // of the whole letter
	Next, Dates  string
	Do           string
	DoNot        string `yaml:"do_not"`
	Normal       string
	SameDay      string `yaml:"same_day"`
	Emergency    string
	Closing      string
}

type labels struct {
	For, Surgeon, Written string
	Approved              string
	Phone                 string
	OutOfHours            string `yaml:"out_of_hours"`
	Emergency, Contact    string
	Visit                 string
	When                  string
	Limit, Allowed        string
	LastDay               string `yaml:"last_day"`
	Rules                 string
}

type limitWords struct {
	Counted, Until, Ask, Over string
	Dated                     map[preset]string
	NoDate                    []string `yaml:"no_date"`
}

// preset is a key of the clinic's after-care presets.
type preset string

// Presets are the after-care presets that the letter has a sentence for, in its order.
var Presets = []string{"nose_blowing", "flying", "pressure_and_wind_instruments", "exercise", "soft_diet"}

// pathWords stand in the drawing of the time from the surgery to the first teeth.
type pathWords struct {
	Heading, Says string
	Heals, Today  string
	Months        string
}

// scanWords stand with the square code: heading and holds beside it; says, and after it
// or_file or or_write, too unless the reader holds the phone; name and means for who
// cannot see it.
type scanWords struct {
	Heading, Holds, Says string
	OrFile               string `yaml:"or_file"`
	OrWrite              string `yaml:"or_write"`
	Name, Means          string
}

// calendarWords tell how the dates get onto a phone, from the calendar file or by mail
// alone, and how a change reaches the patient.
type calendarWords struct {
	Lead, File string
	Mailed     string
	ByCall     string `yaml:"by_call"`
	ByMail     string `yaml:"by_mail"`
}

// sign is one row of the red flags: what is normal, when to call the same day,
// when it is an emergency. An empty field has no line in the letter.
type sign struct {
	ID        string `yaml:"id"`
	Normal    string `yaml:"normal,optional"`
	SameDay   string `yaml:"same_day,optional"`
	Emergency string `yaml:"emergency,optional"`
}

// referrerWords are the letter to the dentist who sent the patient. {whom}: the
// restoration or side, {implants}: a list of implants.
type referrerWords struct {
	Title, To     string
	Draft         string
	ToDentist     string `yaml:"to_dentist"`
	About         string
	Done, Start   string // headings
	Ask           string // heading
	Implant       string
	Placed, Later string
	Ahead         string // placed, while the surgery lies ahead
	Placement     string
	Impression    string
	Loading       string
	Planned       string
	Booked        string
	NoDay         string `yaml:"no_day"`
	NoDates       string `yaml:"no_dates"`
	Release       string
	Contact       string
}
