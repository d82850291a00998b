package desk

import (
	"fmt"

	"graftclock/internal/drawing"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
	"graftclock/internal/report"
)

// Section is what the bone clock says of one implant, with the section through its
// axis.
type Section struct {
	Clock   graft.ImplantClock
	Gate    graft.Step // what waits for bone: placement, uncovering or impression
	Drawing drawing.Drawing
}

// Sections times every implant of a case that the bone clock can time, in the order of
// the record, and draws it. The drawing's id is section-TOOTH.
func (d *Desk) Sections(c graft.Case) ([]Section, error) {
	sites, err := protocol.Sites(c, d.Rules)
	if err != nil {
		return nil, err
	}
	list := make([]Section, len(sites))
	for n, s := range sites {
		list[n] = Section{Clock: s.Clock, Gate: s.GateStep, Drawing: report.Section(s, fmt.Sprintf("section-%d", s.Implant.Tooth))}
	}
	return list, nil
}
