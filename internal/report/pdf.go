package report

import (
	"fmt"
	"io"
	"strings"

	"graftclock/internal/drawing"
	"graftclock/internal/graft"
	"graftclock/internal/paper"
)

// The type of the printed page: small enough for its tables, and no smaller than a
// leaflet's.
const (
	bodyPT  = 9.5
	lineGap = 1.25
	small   = 0.88 // of the body
)

// sheet sets the page's parts on paper.
type sheet struct{ *paper.Sheet }

// WritePDF writes the page as a PDF with the same text as the HTML, in the same order.
func (f Filled) WritePDF(w io.Writer) error {
	p := f.page
	s := sheet{paper.New(paper.Options{
		Size: p.Size, BodyPT: bodyPT, LineGap: lineGap, Language: "en", Title: p.Title + ", " + p.Patient,
		Head:      paper.Running{Left: [][]paper.Run{{paper.Strong(p.Clinic)}, {quiet(p.Contact)}}, Right: [][]paper.Run{{paper.Strong(p.Title)}, {quiet(p.Patient)}}},
		Foot:      paper.Running{Left: [][]paper.Run{{quiet(p.Status + ". graftclock, rules " + p.Rules + ".")}}},
		Watermark: map[bool]string{true: "DRAFT"}[p.Draft],
		Created:   p.On,
	})}
	s.head(p)
	s.dates(p.Steps)
	s.implants(p)
	s.branches("Why each date is what it is", reasonsLead, p.Dates)
	s.branches("What the patient's letter says", "", p.Letter)
	s.volumes(p.Volumes)
	s.whatIf(p.WhatIf)
	s.sources(p.Sources)
	s.sign(p)
	return s.Write(w)
}

// quiet is text smaller than the body.
func quiet(text string) paper.Run { return paper.Run{Text: text, Size: small} }

// head sets the case and what was found in it.
func (s sheet) head(p page) {
	s.Heading(1, p.Title+": "+p.Patient)
	if p.Draft {
		s.Boxed(paper.Box{Line: drawing.Ink, LineMM: frameMM, Dashed: true}, func() {
			s.Paragraph(paper.Strong("DRAFT  "), paper.Plain(draftSays))
		})
	}
	half := (len(p.Facts) + 1) / 2
	s.Beside([]float64{1, 1}, func() { s.facts(p.Facts[:half]) }, func() { s.facts(p.Facts[half:]) })
	s.Heading(2, "Findings")
	s.findings(p.Findings)
	s.lines("Rule values of the clinic's own", p.Own)
	s.lines("Of the clinic's calendar", p.Notes)
}

const (
	frameMM     = 0.6
	roomToWrite = "\n\u00a0\n\u00a0"
)

func (s sheet) facts(facts []fact) {
	t := paper.Table{Shares: factShares, RowHeads: true}
	for _, f := range facts {
		t.Rows = append(t.Rows, []paper.Cell{paper.Text(paper.Plain(f.Name)), paper.Text(paper.Plain(f.Value))})
	}
	s.Table(t)
}

var factShares = []float64{3, 5}

func (s sheet) findings(findings []finding) {
	if len(findings) == 0 {
		s.Paragraph(paper.Plain("None."))
		return
	}
	var stops, others []paper.Item
	for _, f := range findings {
		item := paper.Item{Runs: []paper.Run{
			paper.Strong(strings.ToUpper(f.Severity) + "  "), quiet(strings.TrimSpace(f.Rule+"  "+f.Place) + "\n"), paper.Plain(f.Says),
		}}
		if f.Severity == string(graft.Stop) {
			stops = append(stops, item)
		} else {
			others = append(others, item)
		}
	}
	if len(stops) > 0 {
		s.Boxed(paper.Box{Line: drawing.Ink, LineMM: frameMM}, func() { s.List(stops, 1) })
	}
	if len(others) > 0 {
		s.List(others, 1)
	}
}

// lines sets sentences under a heading of their own; nothing where there are none.
func (s sheet) lines(heading string, lines []string) {
	if len(lines) > 0 {
		s.Heading(3, heading)
		s.List(paper.Items(lines...), 1)
	}
}

func (s sheet) dates(steps []step) {
	s.Heading(2, "Dates")
	if len(steps) == 0 {
		s.Paragraph(paper.Plain(noDates))
		return
	}
	t := paper.Table{Head: []string{"Step", "Not before", "Earliest", "Target", "Latest", "Placed or booked"}, Shares: []float64{30, 13, 13, 13, 13, 24}, RowHeads: true}
	for _, st := range steps {
		row := []paper.Cell{paper.Text(paper.Plain(st.Step), unbold(st.For))}
		for _, d := range st.Window {
			row = append(row, paper.Text(paper.Plain(d)))
		}
		t.Rows = append(t.Rows, append(row, paper.Text(paper.Strong(st.Placed), quiet(below(st.Stands)))))
		if st.Override != "" {
			t.Rows = append(t.Rows, []paper.Cell{{Runs: []paper.Run{paper.Strong(st.Override)}, Span: len(t.Head)}})
		}
	}
	s.Table(t)
}

// unbold is whom a step is for, in the cell that names its row.
func unbold(whom string) paper.Run {
	if whom == "" {
		return paper.Run{}
	}
	return paper.Plain(", " + whom)
}

// below puts text on a line of its own.
func below(text string) string {
	if text == "" {
		return ""
	}
	return "\n" + text
}

func (s sheet) implants(p page) {
	s.Heading(2, "Bone clock of each implant")
	if len(p.Implants) > 0 {
		s.Paragraph(paper.Plain(estimate))
		s.drawings(p.Bands)
	}
	for _, i := range p.Implants {
		s.Keep(func() { s.implant(i) })
	}
	for _, line := range p.NoClock {
		s.Paragraph(paper.Plain(line))
	}
}

func (s sheet) implant(i implant) {
	s.Heading(3, i.Heading)
	s.Paragraph(paper.Plain(i.Says))
	s.drawings(i.Drawings)
	s.Beside([]float64{1, 1}, func() {
		s.Heading(3, "Site, as recorded")
		s.facts(i.Facts)
	}, func() {
		s.Heading(3, "Months after surgery")
		s.facts(i.Months)
		if len(i.Flags) > 0 {
			s.Heading(3, "Findings of this site")
			s.findings(i.Flags)
		}
	})
}

// drawings sets drawings side by side, each as wide as it is.
func (s sheet) drawings(drawings []drawing.Drawing) {
	var shares []float64
	var draw []func()
	for _, d := range drawings {
		shares = append(shares, d.WidthMM)
		draw = append(draw, func() { s.Draw(d, 0) })
	}
	s.Beside(shares, draw...)
}

func (s sheet) volumes(lines []string) {
	if len(lines) == 0 {
		return
	}
	s.Heading(2, "How much of the graft is bone")
	for _, l := range lines {
		s.Paragraph(paper.Plain(l))
	}
}

func (s sheet) whatIf(parts []whatIfPart) {
	if len(parts) == 0 {
		return
	}
	s.Heading(2, "What other facts would change")
	s.Paragraph(paper.Plain(whatIfLead))
	for _, part := range parts {
		s.Keep(func() {
			s.Heading(3, part.Heading)
			s.Table(part.table())
			s.left(part.Left)
		})
	}
}

func (part whatIfPart) table() paper.Table {
	t := paper.Table{Head: part.Head, Shares: []float64{40, 11, 9, 17, 7, 17, 7}}
	for n, r := range part.Rows {
		row := []paper.Cell{paper.Text(paper.Run{Text: r.Change, Bold: n == 0}, quiet(below(r.Adds())))}
		for _, c := range r.Cells {
			row = append(row, paper.Text(paper.Run{Text: c.Text, Bold: n == 0}))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func (s sheet) left(left []LeftOut) {
	if len(left) == 0 {
		return
	}
	var items []paper.Item
	for _, l := range left {
		items = append(items, paper.Item{Runs: []paper.Run{quiet(fmt.Sprintf("%s: %s.", l.Change, l.Why))}})
	}
	s.Paragraph(quiet("Left out:"))
	s.List(items, 1)
}

func (s sheet) sources(sources []source) {
	if len(sources) == 0 {
		return
	}
	s.Heading(2, "Sources of this page")
	t := paper.Table{Shares: []float64{1, 14}}
	for _, src := range sources {
		t.Rows = append(t.Rows, []paper.Cell{
			paper.Text(paper.Plain(fmt.Sprint(src.Number))),
			paper.Text(quiet(src.ID+"  "), paper.Run{Text: src.Status + "\n", Bold: true, Size: small}, quiet(src.Reference)),
		})
	}
	s.Table(t)
}

// sign leaves room for what is signed on paper, and closes the page.
func (s sheet) sign(p page) {
	s.Keep(func() {
		s.Heading(2, "Approval and overrides, to sign on paper")
		s.Paragraph(paper.Plain(p.Status + ". " + signLead))
		t := paper.Table{Head: signHead, Shares: []float64{16, 34, 20, 12, 18}, RowHeads: true}
		for _, what := range signRows {
			row := []paper.Cell{paper.Text(paper.Plain(what + roomToWrite))}
			for range signHead[1:] {
				row = append(row, paper.Text(paper.Plain("")))
			}
			t.Rows = append(t.Rows, row)
		}
		s.Table(t)
		s.Gap(frameMM)
		s.Paragraph(quiet(p.Caution))
	})
}
