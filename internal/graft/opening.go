package graft

import "graftclock/internal/day"

// Opening is what one day of the clinic offers to one kind of visit: the frame
// into which its slots fit, before any booking is looked at. The zero Opening
// offers nothing.
type Opening struct {
	Minutes     int         // what the visit takes; 0 = no time of its own
	Grid        int         // minutes; a visit starts on a multiple of it from midnight
	Hours       []day.Hours // in order, without overlap; none on a closed day
	NeedsRoom   bool        // the visit takes one of Rooms
	NeedsPerson bool        // the visit takes one of People
	Rooms       []string    // rooms of the visit's kind on that day, in the clinic file's order
	People      []string    // people of the visit's role in on that day, in the clinic file's order
}
