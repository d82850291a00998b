package demo

import (
	"fmt"
	"maps"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// note has the surgeon note what was found, and set an operation to another day.
func (y *year) note(p *patient) (bool, error) {
	if len(p.notes) > 0 && !p.notes[0].from.After(y.on) {
		fields := maps.Clone(p.notes[0].fields)
		p.notes = p.notes[1:]
		fields["day"] = y.on.String()
		if fields["what"] == string(graft.Stability) {
			fields["tooth"] = fmt.Sprint(p.live.Case.Sinuses[0].Implants[0].Tooth)
		}
		var err error
		p.live, err = y.keeper.AddFinding(y.as(p.surgeon), p.id, fields, "")
		return true, err
	}
	if p.earlier != 0 && p.done["found"] && p.once("set") {
		return true, y.override(p)
	}
	return false, nil
}

// override sets the next operation earlier or later than the sum of months says.
func (y *year) override(p *patient) error {
	why := "high torque, dense bone"
	if p.earlier < 0 {
		why = "soft bone, the patient travels"
	}
	for _, m := range p.live.Timeline.Milestones {
		if m.Surgical && m.Attended.IsZero() {
			var err error
			p.live, err = y.keeper.Override(y.as(p.surgeon), p.id, choice(m), m.Window.NotBefore.AddDays(-p.earlier), why)
			return err
		}
	}
	return nil
}

// ask notes days on which the patient cannot come. What is asked on the last day
// before today no surgeon has approved since.
func (y *year) ask(p *patient) (bool, error) {
	const first, last = 60, 64
	if !p.asks || y.on != y.openBefore(y.today.AddDays(-1)) || !p.once("asked") {
		return false, nil
	}
	p.waits = true
	return true, y.unavailable(p, day.Span{From: y.today.AddDays(first), To: y.today.AddDays(last)})
}

// unavailable writes into a record that the patient cannot come on some days.
func (y *year) unavailable(p *patient, days day.Span) (err error) {
	p.live, err = y.keeper.Set(y.as(front), p.id, []string{"patient.unavailable+=" + days.String()}, "the patient rang")
	return err
}

// attended adds to a record that a step took place on the day it was placed on.
func attended(record []byte, m graft.Milestone) ([]byte, casefile.Case, error) {
	fields := map[string]string{"what": string(graft.Attended), "day": m.Placed.String(), "step": string(m.Step), "for": m.For, "which": m.Which}
	record, c, faults, err := casefile.AddFinding("the record", record, fields)
	if len(faults) > 0 {
		err = faults
	}
	return record, c, err
}
