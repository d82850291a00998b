package graft

import (
	"strings"

	"graftclock/internal/day"
)

// Step is one kind of milestone, in the words of the timeline format.
type Step string

// The steps of a case.
const (
	PhoneCall             Step = "phone-call"
	WoundCheck            Step = "wound-check"
	LateCheck             Step = "late-check"
	HealingReview         Step = "healing-review"
	ImagingDecision       Step = "imaging-decision"
	Placement             Step = "placement"
	Uncovering            Step = "uncovering"
	Impression            Step = "impression"
	FirstLoading          Step = "first-loading"
	DefinitiveRestoration Step = "definitive-restoration"
	Recall                Step = "recall"
	ReEntry               Step = "re-entry"
)

// Steps lists every step in clinical order.
var Steps = []Step{PhoneCall, WoundCheck, LateCheck, HealingReview, ImagingDecision, Placement, Uncovering, Impression, FirstLoading, DefinitiveRestoration, Recall, ReEntry}

// Audience is somebody who sees a milestone.
type Audience string

// The three audiences.
const (
	ForDesk    Audience = "desk"
	ForSurgeon Audience = "surgeon"
	ForPatient Audience = "patient"
)

// Shift says where a step may go when its target is no working day.
type Shift string

// The shifts. OnlyLater and Afterwards go forward only; Afterwards is for steps that are
// no gate. Nearest takes the closer day and, on a tie, the earlier one.
const (
	OnlyLater  Shift = "only later"
	Afterwards Shift = "later"
	Earlier    Shift = "earlier"
	Nearest    Shift = "nearest inside"
)

// Window is the run of days in which a step belongs. NotBefore is hard; Target
// is the clinical wish. NotBefore <= Earliest <= Target <= Latest.
type Window struct {
	NotBefore, Earliest, Target, Latest day.Day
}

// MilestoneID names a milestone within its case; it stays the same when the
// case is planned again.
type MilestoneID string

// MilestoneIDOf returns the id of a step for a restoration or sinus, and of one
// of several; the last two may be empty.
func MilestoneIDOf(step Step, whom, which string) MilestoneID {
	return MilestoneID(string(step) + "/" + whom + "/" + which)
}

// Title reads the id as Milestone.Title writes it: "recall 3 months, right
// bridge".
func (id MilestoneID) Title() string {
	step, whom, which := id.Parts()
	return Milestone{Step: step, For: whom, Which: which}.Title()
}

// Parts is the inverse of MilestoneIDOf; a restoration's name may hold a slash.
func (id MilestoneID) Parts() (step Step, whom, which string) {
	first, rest, _ := strings.Cut(string(id), "/")
	slash := max(strings.LastIndex(rest, "/"), 0)
	return Step(first), rest[:slash], strings.TrimPrefix(rest[slash:], "/")
}

// SurgeryDay is what a wait counts from when it counts from the surgery.
const SurgeryDay MilestoneID = "surgery"

// Wait is one condition on a milestone's window: four periods counted from the
// surgery or from the day another milestone is placed.
type Wait struct {
	From      MilestoneID
	NotBefore day.Period
	Earliest  day.Period
	Target    day.Period
	Latest    day.Period
	Short     string // why, in half a line; empty: said by its periods
	FloorOnly bool   // forbids days before NotBefore and says nothing else
	Hard      bool   // nobody may go before NotBefore, whatever the reason
	Because   Reason
}

// Milestone is one dated step of a timeline.
type Milestone struct {
	ID     MilestoneID
	Step   Step
	For    string // restoration or side; empty for the whole case
	Which  string // which of several, such as "3 months"; empty when there is one
	Shift  Shift
	SeenBy []Audience
	Waits  []Wait // at least one; the latest of them binds

	PatientSays string // the rule's sentence for the patient; empty when the patient does not see the step

	Surgical bool   // an operation: never on the last open day before a closure
	Visit    string // the clinic's visit type; empty when nobody comes in
	Role     string // for a step without a visit: the person who must be in

	Firm     bool // near enough to book a slot; otherwise the window is held
	Window   Window
	Floor    day.Day   // no day before it, whoever asks; no day: no hard floor
	Override *Override // the surgeon's own day; nil: as computed
	Placed   day.Day   // no day: could not be placed
	Slot     Slot      // the time of a visit on the day it is placed; zero: no visit, or placed in the past
	Booked   bool      // Placed and Slot are booked and stay
	Overdue  bool      // its window has passed and it is still wanted
	Attended day.Day   // no day: not recorded as attended
	Why      string    // the binding wait and the diary's move, in half a line
	Reasons  []Reason
}

// SeenByAny reports whether the audience sees the milestone.
func (m Milestone) SeenByAny(a Audience) bool {
	for _, s := range m.SeenBy {
		if s == a {
			return true
		}
	}
	return false
}

// Title is the step with whom and which it is for: "recall 3 months, right
// bridge".
func (m Milestone) Title() string {
	title := string(m.Step)
	if m.Which != "" {
		title += " " + m.Which
	}
	if m.For != "" {
		title += ", " + m.For
	}
	return title
}

// ImplantClock is what the bone clock says of one implant. Months are counted
// from the day of surgery; ToFull and the band are rounded up at the second
// decimal.
type ImplantClock struct {
	Tooth         int
	Side          Side
	Restoration   string
	ToFull        float64 // months until bone reaches the whole implant
	ToShare       float64 // months until it reaches the share the rules ask for
	T50, T90      float64 // months until half and nine tenths are held
	ResidualShare float64 // share held on the day of surgery, 0..1
	BandLow       float64 // months, faster and narrower
	BandHigh      float64 // months, slower and wider
	LastAspect    string  // the side that bone reaches last: palatal, lateral, mesial, distal, apical
	LastHeightMM  float64 // its height above the sinus floor
	WaitsFor      string  // the bone that it waits for
	Reason        Reason
}

// GraftShare is the share of one graft's volume that new bone has reached when
// the slowest implant of its sinus is fully held.
type GraftShare struct {
	Side   Side
	Months float64
	Share  float64 // 0..1
}

// Timeline is the plan of one case as seen on one day.
type Timeline struct {
	Case         CaseID
	On           day.Day // the day of planning
	RulesVersion string
	Implants     []ImplantClock
	Milestones   []Milestone
	Findings     []Finding
}

// Find returns the milestone of the given id.
func (t Timeline) Find(id MilestoneID) (Milestone, bool) {
	for _, m := range t.Milestones {
		if m.ID == id {
			return m, true
		}
	}
	return Milestone{}, false
}
