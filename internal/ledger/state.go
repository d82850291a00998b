package ledger

import (
	"fmt"
	"strings"

	"graftclock/internal/graft"
)

// State is where a visit stands.
type State string

// The states. Planned has no visit in the ledger yet. Moved, cancelled and
// superseded end a visit; its milestone may be booked anew.
const (
	Planned    State = "planned"
	WindowHeld State = "window held"
	Booked     State = "booked"
	Attended   State = "attended"
	Missed     State = "missed"
	Moved      State = "moved"
	Cancelled  State = "cancelled"
	Superseded State = "superseded"
)

// States lists every state in the order a visit may pass through them.
var States = []State{Planned, WindowHeld, Booked, Attended, Missed, Moved, Cancelled, Superseded}

// Act is what somebody does with a visit.
type Act string

// The acts, in the words of the commands. To cancel gives the slot or the window
// back; the milestone still waits to be booked. Supersede is what a new plan does
// to a visit whose milestone it no longer has.
const (
	Hold      Act = "hold"
	Book      Act = "book"
	Move      Act = "move"
	Cancel    Act = "cancel"
	Attend    Act = "attended"
	Miss      Act = "missed"
	Supersede Act = "supersede"
)

// Acts lists every act.
var Acts = []Act{Hold, Book, Move, Cancel, Attend, Miss, Supersede}

// moves says which state follows an act. Attended and missed follow each other,
// for a desk ticks the wrong box at times; all else that is not here is refused.
var moves = map[State]map[Act]State{
	Planned:    {Hold: WindowHeld, Book: Booked, Attend: Attended},
	WindowHeld: {Book: Booked, Attend: Attended, Cancel: Cancelled, Supersede: Superseded},
	Booked:     {Move: Moved, Attend: Attended, Miss: Missed, Cancel: Cancelled, Supersede: Superseded},
	Attended:   {Miss: Missed},
	Missed:     {Hold: WindowHeld, Book: Booked, Attend: Attended},
	Moved:      {Hold: WindowHeld, Book: Booked, Attend: Attended},
	Cancelled:  {Hold: WindowHeld, Book: Booked, Attend: Attended},
	Superseded: {Hold: WindowHeld, Book: Booked, Attend: Attended},
}

// After returns the state that follows an act. An act that the state does not
// allow is refused with those that it does.
func (s State) After(a Act) (State, error) {
	if next, allowed := moves[s][a]; allowed {
		return next, nil
	}
	return s, &graft.Refusal{
		Kind:    graft.Conflict,
		Message: fmt.Sprintf("%s: the visit is %s, and %s is not for that", a, s, a),
		Hint:    "allowed now: " + strings.Join(s.allowed(), ", "),
	}
}

// Allows lists what may be done with a visit in the state.
func (s State) Allows() []Act {
	var acts []Act
	for _, a := range Acts {
		if _, allowed := moves[s][a]; allowed {
			acts = append(acts, a)
		}
	}
	return acts
}

// allowed lists what a person may do; a plan supersedes by itself.
func (s State) allowed() []string {
	var words []string
	for _, a := range s.Allows() {
		if a != Supersede {
			words = append(words, string(a))
		}
	}
	return words
}

// Open reports whether a visit in the state still stands in the way of another
// for the same milestone: a window that is held or a slot that is booked.
func (s State) Open() bool { return s == WindowHeld || s == Booked }
