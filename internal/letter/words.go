package letter

import (
	"graftclock/internal/graft"
)

// Words are the letter's words in one language, for others that must call a
// visit by the same name.
type Words struct{ w *wording }

// WordsFor returns the words of a language, given as a BCP 47 tag. It refuses a
// language that has no templates.
func WordsFor(language string) (Words, error) {
	forms, err := formsFor(language)
	if err != nil {
		return Words{}, err
	}
	return Words{forms.words}, nil
}

// English returns the English words, for a patient whose language has none.
func English() Words {
	words, err := WordsFor("en")
	if err != nil {
		panic(err) // they are part of the program
	}
	return words
}

// Language returns the tag of the language the words are in.
func (w Words) Language() string { return w.w.Language }

// Title returns what a patient calls the step; empty for a step that is none.
func (w Words) Title(step graft.Step) string { return w.w.Steps[step].Title }

// What returns one sentence on what the step is for; empty for a step that is
// none.
func (w Words) What(step graft.Step) string { return w.w.Steps[step].What }

// wording is the words file of one language. A field marked omitempty may be
// left out of the file; every other must be there and say something.
type wording struct {
	Language string
	Dates    dateWords
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

	Scan     scanWords
	Calendar calendarWords
	Closing  []string

	Entry entryWords
	Mail  mailWords
}

type dateWords struct {
	Weekdays  []string // from Sunday
	Months    []string // from January
	Day       string
	NoYear    string `yaml:"day_without_year"`
	WithTime  string `yaml:"with_time"`
	Between   string
	OneDay    string `yaml:"one_day"`
	NotBefore string `yaml:"not_before"`
	Aim       string
	NoDayYet  string `yaml:"no_day_yet"`
}

type stepWords struct {
	Title, What            string
	WhatIfStitchesDissolve string `yaml:"what_if_stitches_dissolve,omitempty"`
}

type surgeryWords struct {
	Title, What, Intro string
	How                map[graft.Approach]string
	OneImplant         string `yaml:"one_implant"`
	Implants           string
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
	WasDone      string `yaml:"was_done"`
	IsPlanned    string `yaml:"is_planned"`
	Do           string
	DoNot        string `yaml:"do_not"`
	Normal       string
	SameDay      string `yaml:"same_day"`
	Emergency    string
	Closing      string
}

type labels struct {
	For, Surgeon, Written string
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
	Dated                     []datedLimit
	NoDate                    []string `yaml:"no_date"`
}

type datedLimit struct{ Preset, Says string }

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
	ID        string
	Normal    string `yaml:"normal,omitempty"`
	SameDay   string `yaml:"same_day,omitempty"`
	Emergency string `yaml:"emergency,omitempty"`
}
