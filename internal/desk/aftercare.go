package desk

import (
	"fmt"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
)

// Limit is one restriction of the letter: until when, and why.
type Limit struct {
	Preset string  // key of the clinic file's after_care
	Free   day.Day // first day on which it is over; no day: ask the surgeon
	Reason graft.Reason
}

// Limits returns the restrictions that the letter prints, in the order of the
// clinic file, and diving, which has no date.
func (d *Desk) Limits(p Plan) []Limit {
	var limits []Limit
	for _, key := range casefile.AfterCareKeys {
		limit := Limit{Preset: key, Reason: d.Rules.Reason("after-care")}
		if n, set := d.Clinic.AfterCare[key]; set {
			limit.Free = p.Case.Surgery.Day.AddDays(n)
			limit.Reason.Inputs = []graft.Input{{Name: "the clinic's preset", Value: fmt.Sprintf("%d days", n), Path: "after_care." + key}}
			limit.Reason.Formula = fmt.Sprintf("%s (surgery) + %d days = %s, the first day without the restriction", p.Case.Surgery.Day, n, diary.Long(limit.Free))
		}
		limits = append(limits, limit)
	}
	return append(limits, Limit{Preset: "diving", Reason: d.Rules.Reason("after-care-diving")})
}

// RedFlags returns why the letter lists the signs it lists.
func (d *Desk) RedFlags() graft.Reason { return d.Rules.Reason("red-flags") }

// Volumes returns the share of each graft's volume that bone has reached when
// its slowest implant is held.
func (d *Desk) Volumes(p Plan) ([]graft.GraftShare, error) {
	return protocol.Volumes(p.Case.Case, d.Rules)
}
