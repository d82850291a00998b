package protocol

import (
	"fmt"
	"strings"

	"graftclock/internal/graft"
)

// conditions holds an implant placed with the graft to what it needs: torque,
// soft tissue closed over it, protection from load. Below the residual bone of
// the rule any unmet condition holds its restoration back.
func (p *planner) conditions(s seat) {
	if p.c.Ahead(p.on) && s.Torque == nil {
		p.find("torque-not-yet", s.path+".insertion_torque_ncm", fmt.Sprintf("Implant %d needs %s Ncm.", s.Tooth, number(p.rules.number("simultaneous-torque"))))
	}
	unmet, key := p.unmet(s)
	if len(unmet) == 0 {
		return
	}
	found := fmt.Sprintf("Implant %d, %s mm of residual bone: %s.", s.Tooth, number(s.ResidualMM), strings.Join(unmet, "; "))
	if s.ResidualMM < p.rules.number("simultaneous-residual-bone") {
		p.hold("simultaneous-residual-bone", s, s.path+key, found)
	} else {
		p.find("simultaneous-conditions-unmet", s.path+key, found)
	}
}

// unmet lists the conditions that are missing or not met, and the key of the
// first.
func (p *planner) unmet(s seat) (unmet []string, key string) {
	fail := func(at, says string) {
		if key == "" {
			key = at
		}
		unmet = append(unmet, says)
	}
	least := p.rules.number("simultaneous-torque")
	switch {
	case s.Torque == nil && !p.c.Ahead(p.on):
		fail(".insertion_torque_ncm", "insertion torque not measured, want "+number(least)+" Ncm or more")
	case s.Torque != nil && *s.Torque < least:
		fail(".insertion_torque_ncm", fmt.Sprintf("insertion torque %s Ncm, want %s or more", number(*s.Torque), number(least)))
	}
	if s.Closure != graft.Submerged {
		fail(".closure", "heals through the gum, want submerged")
	}
	if !s.Protected {
		fail(".loading", "not protected from load")
	}
	return unmet, key
}
