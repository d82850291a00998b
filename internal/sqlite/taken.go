package sqlite

import (
	"fmt"

	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// free refuses a visit whose case is not kept, whose milestone has another open
// visit, or whose slot somebody else has. The guards in the tables say the same;
// this one knows who it is.
func (w *Writer) free(v ledger.Visit) error {
	if _, err := w.Case(v.Case); err != nil {
		return err
	}
	if !v.State.Open() {
		return nil
	}
	open, err := list(&w.Reader, "visits", numberedVisitFields, openVisit, v.Case, v.Milestone, v.ID)
	if err != nil {
		return err
	}
	if len(open) > 0 {
		return openAlready(open[0])
	}
	if v.State != ledger.Booked || v.Minutes == 0 {
		return nil
	}
	others, err := list(&w.Reader, "visits", numberedVisitFields, taken, civil{&v.Day}, v.End(), v.Start, v.ID, v.Room, v.Person, v.Case)
	if err != nil {
		return err
	}
	if len(others) > 0 {
		return takenBy(v.Slot, others[0])
	}
	return nil
}

// takenBy tells who has the time of a slot: "Surgery 1 is taken 10:00-10:45:
// HR-2044 Teni Okafor, uncovering, left molar, booked by Ida Marlow".
func takenBy(s graft.Slot, other ledger.Visit) error {
	what := "the patient"
	switch {
	case s.Room != "" && s.Room == other.Room:
		what = s.Room
	case s.Person != "" && s.Person == other.Person:
		what = s.Person
	}
	return &graft.Refusal{
		Kind:    graft.Conflict,
		Message: fmt.Sprintf("%s is taken %s-%s: %s %s, %s, booked by %s", what, other.Start, other.End(), other.Case, other.Patient, other.Milestone.Title(), other.By),
		Hint:    "choose another time",
	}
}

func openAlready(v ledger.Visit) error {
	how := "its window is held"
	if v.State == ledger.Booked {
		how = "it is booked, " + v.Slot.String()
	}
	return &graft.Refusal{
		Kind:    graft.Conflict,
		Message: fmt.Sprintf("%s of %s %s is open already: %s, by %s", v.Milestone.Title(), v.Case, v.Patient, how, v.By),
		Hint:    "move or cancel that visit",
	}
}
