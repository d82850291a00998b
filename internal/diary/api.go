// Package diary gives the milestones of a case their days and times, all of them
// together: windows follow the days actually chosen, visits share trips, booked
// visits stay where they can, and of all plans that break nothing it returns the
// best, exactly, as long as all can be tried. It knows when a clinic can see somebody, not why a step is due.
package diary

import (
	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// Clinic is what the diary asks about days. Reasons are given as a front desk
// would say them.
type Clinic interface {
	// FitsRole reports whether somebody of the role is in on an open day.
	FitsRole(d day.Day, role string) (fits bool, why string)
	// FitsAny reports whether the clinic is open.
	FitsAny(d day.Day) (fits bool, why string)
	// ClosedRunAfter counts the closed days that follow a day.
	ClosedRunAfter(d day.Day) int
	// Opening returns what the day offers to a visit, taken slots apart.
	Opening(d day.Day, visit string) graft.Opening
	// Obstacles returns all that stands on the clinic's side against a visit that
	// day, without one against the role, with neither against an open day; none for
	// a day that fits, taken slots apart.
	Obstacles(d day.Day, visit, role string) []string
}

// Request is a case's milestones with what else decides their days.
type Request struct {
	Case        graft.CaseID
	Milestones  []graft.Milestone
	Surgery     day.Day
	On          day.Day    // the day of planning: nothing is placed before it that can still wait
	Unavailable []day.Span // days the patient cannot come
	Closure     int        // no operation on the last open day before so many closed days; 0: no such rule
	FirmWithin  day.Period // slots this near are booked, later windows are held

	// Overdue is how long after On a milestone whose window has wholly passed may
	// still come. Zero: it is placed in the past, as if it had taken place, and told.
	Overdue day.Period

	// OverdueWait is how long a milestone whose window has wholly passed waits to spare
	// the patient a trip: each such time from On weighs as much as a trip. Zero: it
	// waits for as long as it may come.
	OverdueWait day.Period

	Booked    map[graft.MilestoneID]Booked
	Overrides map[graft.MilestoneID]graft.Override
	Book      *Book // what is taken; nil: nothing. Slots of Case are looked up in Booked alone
}

// Booked is the slot a milestone has, and its window when that was booked.
type Booked struct {
	graft.Slot
	Window graft.Window
}

// Plan is a case with its days. The milestones stand in the order of the request.
type Plan struct {
	Milestones []graft.Milestone
	Unplaced   []Unplaced
	Misfits    []Misfit
	Trips      int  // days from the day of planning on on which the patient comes
	Distance   int  // days from what each shift prefers, over all but what follows
	Untried    bool // there are too many combinations: a better plan may exist
}

// Unplaced is a milestone that got no day.
type Unplaced struct {
	ID     graft.MilestoneID
	Says   string // what is in the way and the nearest days on both sides
	Passed bool   // placed after all, but its whole window lies in the past
}

// Misfit is a booked visit that cannot stay; its milestone carries the proposal.
type Misfit struct {
	ID     graft.MilestoneID
	Booked graft.Slot
	Says   string // why it cannot stay
}

// Offer is one day on which a milestone can be had, its earliest free slot first.
type Offer struct {
	graft.Slot
	Starts     []day.Clock         // every free start of the day
	Inside     bool                // the day lies in the window
	BeforeGate bool                // the day lies before the window's NotBefore
	BelowFloor bool                // the day lies below the hard floor
	Trips      int                 // of the whole plan with the visit on this day
	Distance   int                 // of the whole plan with the visit on this day
	Breaks     []graft.MilestoneID // booked visits that would move and milestones left without a day
	Says       string              // half a line for the desk
}
