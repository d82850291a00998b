// Package graft holds the nouns of the trade: the case of one patient, its
// sinuses, grafts and implants, and the timeline that is derived from them. It
// computes nothing, reads nothing and knows no clock.
package graft

import "graftclock/internal/day"

// CaseID is the clinic's own number of a case. It never leaves the house in a
// patient's calendar.
type CaseID string

// Case is one surgery record: one patient, one sitting, one or two sinuses, and
// what was found since.
type Case struct {
	ID           CaseID
	Patient      Patient
	Surgery      Surgery
	Sinuses      []Sinus
	Observations []Observation // in the order of the record
}

// Patient is what letters and calendars need to know of the patient.
type Patient struct {
	Name           string
	Language       string // BCP 47
	LargePrint     bool
	CalendarDetail Detail
	Unavailable    []day.Span // days on which the patient cannot come
	Flags          []Flag
	Phone          string // as dialled from the clinic; empty: none recorded
	Mail           Mail
}

// Mail is the patient's recorded choice to be told of visits by e-mail; the zero
// Mail is no choice, and nothing is mailed.
type Mail struct {
	Address string  // e-mail address
	Agreed  day.Day // when the patient chose it
	Letter  bool    // the letter, which tells of the operation, may come along
}

// Detail says how much a patient's calendar may tell to whoever sees it.
type Detail string

// The levels of detail. Plain needs the patient's recorded choice.
const (
	Neutral Detail = "neutral"
	Plain   Detail = "plain"
)

// Flag is a fact of the patient that the surgeon must weigh. No flag adds a
// month to any wait.
type Flag string

// The flags of a record.
const (
	Smoker               Flag = "smoker"
	ControlledDiabetes   Flag = "controlled diabetes"
	UncontrolledDiabetes Flag = "uncontrolled diabetes"
	AntiresorptiveDrug   Flag = "antiresorptive drug"
	Radiotherapy         Flag = "head and neck radiotherapy"
	PositivePressureMask Flag = "positive-pressure mask"
	Anticoagulant        Flag = "anticoagulant"
)

// Flags lists every flag in the order of the record format.
var Flags = []Flag{Smoker, ControlledDiabetes, UncontrolledDiabetes, AntiresorptiveDrug, Radiotherapy, PositivePressureMask, Anticoagulant}

// Surgery is the sitting in which the sinus floor was, or will be, augmented.
// Its day is day 0 of every count.
type Surgery struct {
	Day        day.Day
	Surgeon    string
	Resorbable bool   // sutures that need no removal
	Referrer   string // the dentist who sent the patient; empty: not recorded
}

// Observation is a fact recorded after the surgery.
type Observation struct {
	Day      day.Day
	What     Observed
	Tooth    int     // stability: the implant measured
	ISQ      int     // stability: implant stability quotient, 1..100
	Side     Side    // infection, graft removed, perforation, image: which sinus; zero when there is one, or for an image of both
	SizeMM   float64 // perforation: largest extent
	Repaired bool    // perforation
	Result   Result  // image
	Shows    string  // image: what it shows, in the surgeon's words; may be empty
	Step     Step    // attended, left out: which visit
	For      string  // attended, left out: which restoration; empty when there is one
	Which    string  // attended, left out: which of a row of recalls, such as "3 months"
	AtIndex  int     // its place in the record's list, from 0
}

// Observed says what kind of fact an observation is.
type Observed string

// What may be observed after surgery.
const (
	Stability       Observed = "stability"
	Infection       Observed = "infection"
	GraftRemoved    Observed = "graft removed"
	LatePerforation Observed = "perforation" // of the membrane, seen after the surgery
	Image           Observed = "image"
	Attended        Observed = "attended"
	LeftOut         Observed = "left out" // a step that the surgeon decided to do without
)

// Result is the surgeon's reading of an image.
type Result string

// The readings of an image.
const (
	AsExpected    Result = "as expected"
	Unclear       Result = "unclear"
	NotAsExpected Result = "not as expected"
)

// Ahead reports whether the surgery still lies ahead on the given day.
func (c Case) Ahead(on day.Day) bool { return c.Surgery.Day.After(on) }

// Revised is the day of the record's latest fact: the surgery or the last
// observation.
func (c Case) Revised() day.Day {
	latest := c.Surgery.Day
	for _, o := range c.Observations {
		latest = day.Max(latest, o.Day)
	}
	return latest
}
