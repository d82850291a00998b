package desk

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strings"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/letter"
	"graftclock/internal/protocol"
	"graftclock/internal/report"
)

// The names of the surgeon's page.
const (
	ReportPage  = "report.html"
	ReportPrint = "report.pdf"
)

// Report gathers the surgeon's page of a plan. Record is the text of its case, as
// the file or the ledger holds it. A stop finding holds nothing back here: who reads
// the page has to decide what to do about it.
func (d *Desk) Report(p Plan, record []byte) (report.Report, error) {
	sites, err := protocol.Sites(p.Case.Case, d.Rules)
	if err != nil {
		return report.Report{}, err
	}
	volumes, err := d.Volumes(p)
	if err != nil {
		return report.Report{}, err
	}
	asked, err := d.WhatIf(p, record)
	if err != nil {
		return report.Report{}, err
	}
	r := report.Report{
		Head:     report.Letterhead{Name: d.Clinic.Name, Address: d.Clinic.Address, Phone: d.Clinic.Phone},
		Case:     p.Case.Case,
		File:     filepath.Base(p.Case.File), // a page may travel, and the folder is nobody's business
		Timeline: p.Timeline,
		Sites:    sites,
		Volumes:  volumes,
		WhatIf:   asked,
		RedFlags: d.RedFlags(),
		Own:      p.Own,
		Notes:    p.Notes,
		Stands:   map[graft.MilestoneID]string{},
		Size:     letter.PaperOf(d.Clinic.Region),
		Caution:  Caution,
	}
	for _, l := range d.Limits(p) {
		r.Limits = append(r.Limits, report.Limit{What: strings.ReplaceAll(l.Preset, "_", " "), Free: l.Free, Reason: l.Reason})
	}
	for _, m := range p.Timeline.Milestones {
		r.Stands[m.ID] = p.stands(m)
	}
	if s := p.Standing; s != nil {
		r.Revision = report.Revision{Number: s.Kept.Revision, By: s.Revision.By, On: s.Revision.On}
		if s.Approval != nil {
			r.Approval = report.Approval{By: s.Approval.By, On: day.Of(s.Approval.At)}
		}
	}
	return r, nil
}

// stands says where a step stands beyond its day: attended, booked at what time, or
// what the desk has to settle.
func (p Plan) stands(m graft.Milestone) string {
	switch why := p.Misfit(m.ID); {
	case !m.Attended.IsZero():
		return "attended on " + m.Attended.String()
	case why != "":
		return "booked, to settle: " + why
	case m.Booked:
		return "booked " + m.Slot.String()
	case p.Standing != nil && p.Standing.State(m.ID) != ledger.Planned:
		return string(p.Standing.State(m.ID))
	case m.Overdue:
		return "overdue"
	}
	return ""
}

// ReportFiles writes the surgeon's page as HTML and as PDF, or the one asked for by
// name. The timeline stands beside them, which says whose folder it is.
func (d *Desk) ReportFiles(p Plan, record []byte, names ...string) (Outputs, error) {
	var out Outputs
	r, err := d.Report(p, record)
	if err != nil {
		return out, err
	}
	filled, err := report.Fill(r)
	if err != nil {
		return out, err
	}
	for _, name := range names {
		var b bytes.Buffer
		write := filled.WriteHTML
		if name == ReportPrint {
			write = filled.WritePDF
		}
		if err := write(&b); err != nil {
			return out, fmt.Errorf("write %s: %w", name, err)
		}
		out.Files = append(out.Files, File{name, b.Bytes()})
	}
	data, err := JSON(p)
	out.Files = append(out.Files, File{TimelineJSON, data})
	return out, err
}
