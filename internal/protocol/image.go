package protocol

import (
	"fmt"
	"slices"

	"graftclock/internal/graft"
)

// images tells of the images that the surgeon has read since the surgery, each
// until a later one of the same sinus takes its place. None moves a date: what an
// image asks for is the surgeon's to record.
func (p *planner) images() {
	for _, o := range p.c.Observations {
		if o.What != graft.Image || slices.ContainsFunc(p.c.Observations, func(l graft.Observation) bool { return p.replaces(l, o) }) {
			continue
		}
		rule := graft.RuleID("image-not-as-expected")
		if o.Result == graft.AsExpected {
			rule = "image-as-expected"
		}
		found := fmt.Sprintf("Image of %s: %s", o.Day, o.Result)
		if o.Side != "" {
			found = fmt.Sprintf("Image of %s, %s sinus: %s", o.Day, o.Side, o.Result)
		}
		if o.Shows != "" {
			found += fmt.Sprintf(" (%s)", o.Shows)
		}
		p.find(rule, fmt.Sprintf("findings[%d].result", o.AtIndex), found+".")
	}
}

// replaces reports whether one image is later than another and shows all that it
// shows; an image without a side shows every sinus.
func (p *planner) replaces(later, o graft.Observation) bool {
	after := later.Day.After(o.Day) || later.Day == o.Day && later.AtIndex > o.AtIndex
	covers := later.Side == o.Side || later.Side == "" || len(p.c.Sinuses) == 1
	return later.What == graft.Image && after && covers
}
