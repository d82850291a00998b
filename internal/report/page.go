package report

import (
	"fmt"
	"strings"

	"graftclock/internal/day"
	"graftclock/internal/drawing"
	"graftclock/internal/evidence"
	"graftclock/internal/graft"
	"graftclock/internal/paper"
)

// page is the report as it is printed: every word of it cleaned, in the order in
// which it is read.
type page struct {
	Title, Patient  string
	Clinic, Contact string
	Draft           bool
	Status          string // who approved it, or that nobody has
	Size            paper.Size
	On              day.Day
	Facts           []fact
	Findings        []finding
	Own, Notes      []string
	Steps           []step
	Bands           []drawing.Drawing // one of all implants; none without any
	Implants        []implant
	NoClock         []string // sinuses without a bone clock
	Dates           []branch
	Letter          []branch
	Volumes         []string
	WhatIf          []whatIfPart
	Sources         []source
	Rules, Caution  string
}

// USLetter reports whether the page is for US Letter; otherwise it is for A4.
func (p page) USLetter() bool { return p.Size == paper.USLetter }

// fact is a name with its value, and where in the record it stands.
type fact struct{ Name, Value, Path string }

type finding struct{ Severity, Rule, Place, Says string }

// builder lays out a page. It numbers the sources as they are first cited, and knows
// which rules stand on the page already.
type builder struct {
	numbers map[graft.SourceID]int
	sources []source
	told    map[string]bool
	err     error
}

func (b *builder) page(r Report) page {
	b.numbers, b.told = map[graft.SourceID]int{}, map[string]bool{}
	p := page{
		Title:    "Surgeon's page, case " + graft.OneLine(string(r.Case.ID)),
		Patient:  graft.OneLine(r.Case.Patient.Name),
		Clinic:   graft.OneLine(r.Head.Name),
		Contact:  contact(r.Head),
		Draft:    r.Approval == Approval{},
		Status:   status(r),
		Size:     r.Size,
		On:       r.Timeline.On,
		Facts:    headFacts(r),
		Findings: findings(r),
		Own:      oneLines(r.Own),
		Notes:    oneLines(r.Notes),
		Steps:    steps(r),
		Bands:    bands(r),
		Implants: implants(r),
		NoClock:  noClock(r),
		Volumes:  volumes(r.Volumes),
		WhatIf:   whatIfParts(r.WhatIf),
		Rules:    r.Timeline.RulesVersion,
		Caution:  graft.OneLine(r.Caution),
	}
	p.Dates, p.Letter = b.dates(r), b.letter(r)
	p.Sources = b.sources
	return p
}

func contact(h Letterhead) string {
	parts := append(oneLines(h.Address), graft.OneLine(h.Phone))
	return strings.Join(parts, ", ")
}

// status says who approved the page, and when; or that it is a draft.
func status(r Report) string {
	if (r.Approval == Approval{}) {
		return "DRAFT, not approved"
	}
	return fmt.Sprintf("Approved by %s on %s", graft.OneLine(r.Approval.By), spelled(r.Approval.On))
}

func headFacts(r Report) []fact {
	facts := []fact{
		{Name: "Patient", Value: graft.OneLine(r.Case.Patient.Name)},
		{Name: "Case", Value: graft.OneLine(string(r.Case.ID))},
		{Name: "Surgery, day 0", Value: spelled(r.Case.Surgery.Day) + ", " + graft.OneLine(r.Case.Surgery.Surgeon)},
		{Name: "Planned on", Value: spelled(r.Timeline.On)},
		{Name: "Rules", Value: r.Timeline.RulesVersion},
	}
	if n := r.Revision; n.Number > 0 {
		facts = append(facts, fact{Name: "Revision", Value: fmt.Sprintf("%d, made by %s on %s", n.Number, graft.OneLine(n.By), spelled(n.On))})
	}
	if flags := r.Case.Patient.Flags; len(flags) > 0 {
		words := make([]string, len(flags))
		for i, f := range flags {
			words[i] = string(f)
		}
		facts = append(facts, fact{Name: "To weigh", Value: strings.Join(words, ", ")})
	}
	return append(facts, fact{Name: "Approval", Value: status(r)})
}

// findings keeps the order of the timeline, the gravest first.
func findings(r Report) []finding {
	var list []finding
	for _, f := range r.Timeline.Findings {
		place := graft.OneLine(f.Path)
		if f.Line > 0 && place != "" {
			place = fmt.Sprintf("%s:%d %s", graft.OneLine(r.File), f.Line, place)
		}
		list = append(list, finding{string(f.Severity), string(f.Rule), place, graft.OneLine(f.Says)})
	}
	return list
}

func bands(r Report) []drawing.Drawing {
	if len(r.Sites) == 0 {
		return nil
	}
	return []drawing.Drawing{bandBar(r.Sites, "band")}
}

func volumes(shares []graft.GraftShare) []string {
	const percent = 100
	var lines []string
	for _, g := range shares {
		lines = append(lines, fmt.Sprintf("Graft of the %s sinus: bone has reached %.0f %% of its volume at %.2f months, when its slowest implant is held.", g.Side, g.Share*percent, g.Months))
	}
	return lines
}

func oneLines(texts []string) []string {
	var lines []string
	for _, t := range texts {
		lines = append(lines, graft.OneLine(t))
	}
	return lines
}

// source is one entry of the bibliography with its number on this page.
type source struct {
	Number        int
	ID, Reference string
	Status        string
}

// cite returns the number of a source, which gets its place in the bibliography when
// it is first cited.
func (b *builder) cite(id graft.SourceID) int {
	if n, known := b.numbers[id]; known {
		return n
	}
	entry, found := evidence.Lookup(evidence.ID(id))
	if !found && b.err == nil {
		b.err = fmt.Errorf("report: no source %q in the bibliography", id)
	}
	n := len(b.sources) + 1
	b.numbers[id] = n
	b.sources = append(b.sources, source{n, string(id), entry.Reference(), entry.Status()})
	return n
}

// spelled writes a day as Thu 2027-01-14, and no day as a dash.
func spelled(d day.Day) string {
	if d.IsZero() {
		return "-"
	}
	return d.Weekday().String()[:3] + " " + d.String()
}

// stepName is a step as a word of a sentence: "first loading".
func stepName(s graft.Step) string {
	if s == graft.ReEntry {
		return string(s)
	}
	return strings.ReplaceAll(string(s), "-", " ")
}
