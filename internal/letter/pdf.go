package letter

import (
	"fmt"
	"io"
	"strings"

	"graftclock/internal/drawing"
	"graftclock/internal/graft"
	"graftclock/internal/paper"
)

// Sizes of the printed letter: of the type in points, of lengths in mm.
const (
	bodyGap     = 1.17
	largePT     = 18 // aftercare guidance for large print prefers 18 pt
	largeGap    = 1.35
	marginMM    = 10
	codeMM      = 34 // 300 bytes make 77 modules of 0.44 mm
	blockGapMM  = 2.2
	boxBarMM    = 2.2
	boxLineMM   = 0.5
	urgentMM    = 1.1
	twoColumns  = 2
	datesShare  = 38 // of the visits' column, in percent
	limitsShare = 40

	nextShare    = 3.6  // of the next visit, beside its square code
	sameDayShare = 1.14 // makes its box about as high as that of the emergencies
)

// WritePDF writes the letter as a PDF of its own layout, not a picture of the page: with
// the fonts inside, every word to be selected and searched, and tags that tell headings,
// lists and tables apart. The same letter gives the same bytes. An error of type
// *graft.Refusal names characters that cannot be printed: the page can show them.
func (f Filled) WritePDF(w io.Writer) error {
	p := f.print()
	if odd := p.Unprintable(); len(odd) > 0 {
		return &graft.Refusal{Kind: graft.Invalid,
			Message: fmt.Sprintf("the fonts of the PDF cannot print %q; the HTML page can be printed from a browser", string(odd))}
	}
	if err := p.Write(w); err != nil {
		return fmt.Errorf("print the letter: %w", err)
	}
	return nil
}

// bodyPT are the sizes of type that a letter may have, in points, the best first: it gets
// the largest with which it fits on both sides of one sheet, and the first if none does.
var bodyPT = []float64{11, 10.5, 10, 9.5}

const sidesOfSheet = 2

// print sets the letter in the size that suits it.
func (f Filled) print() print {
	sizes := bodyPT
	if f.sheet.Large {
		sizes = []float64{largePT}
	}
	for _, size := range sizes {
		if p := f.set(size); p.Pages() <= sidesOfSheet {
			return p
		}
	}
	return f.set(sizes[0])
}

func (f Filled) set(size float64) print {
	p := f.newPrint(size)
	if f.kind == "referrer" {
		p.referrer()
	} else {
		p.letter()
	}
	return p
}

// print is a letter on its way to paper.
type print struct {
	*paper.Sheet
	s   *sheet
	say *wording
}

func (f Filled) newPrint(size float64) print {
	s := f.sheet
	o := paper.Options{
		Size: s.Paper, BodyPT: size, LineGap: bodyGap, MarginMM: marginMM,
		Language: s.Say.Language, Title: s.Title, Created: s.written,
	}
	if s.Large {
		o.LineGap = largeGap
	}
	if f.kind == "referrer" {
		o.Title = s.Say.Referrer.Title
	}
	if s.Draft {
		o.Watermark = s.Say.Draft.Word
	}
	o.Head.Left = [][]paper.Run{{{Text: s.Name, Bold: true, Size: 1.2}}}
	for _, line := range s.Address {
		o.Head.Left = append(o.Head.Left, []paper.Run{paper.Plain(line)})
	}
	for _, n := range []struct {
		label string
		number
	}{{s.Say.Labels.Phone, s.Phone}, {s.Say.Labels.OutOfHours, s.OutOfHours}, {s.Say.Labels.Emergency, s.Emergency}} {
		o.Head.Right = append(o.Head.Right, []paper.Run{paper.Plain(n.label), n.run()})
	}
	if s.Rules != "" {
		o.Foot.Left = [][]paper.Run{{paper.Plain(s.Say.Labels.Rules + " " + s.Rules)}}
	}
	return print{paper.New(o), s, s.Say}
}

// run is the number as printed, with a link that dials it.
func (n number) run() paper.Run {
	r := paper.Strong(n.Shown)
	if n.Dial != "" {
		r.Link = "tel:" + n.Dial
	}
	return r
}

func (p print) letter() {
	p.opening()
	p.next()
	p.dates()
	p.section(p.say.Headings.Closing, p.say.Closing)
	p.pair(1,
		func() { p.section(p.say.Headings.Do, p.s.Do) },
		func() { p.section(p.say.Headings.Normal, p.s.Normal) },
	)
	p.limits()
	p.pair(sameDayShare,
		func() {
			p.warning(paper.Box{Line: drawing.Accent, LineMM: boxLineMM}, p.say.Headings.SameDay, nil, p.s.SameDay)
		},
		func() {
			call := []paper.Run{paper.Plain(p.say.EmergencyCall + " "), p.s.Emergency.run()}
			p.warning(paper.Box{Line: drawing.Ink, LineMM: urgentMM}, p.say.Headings.Emergency, call, p.s.Urgent)
		},
	)
}

// pair sets two blocks side by side, the left one with its share of the right one's width,
// or in large print one below the other.
func (p print) pair(share float64, left, right func()) {
	if p.s.Large {
		left()
		right()
		return
	}
	p.Beside([]float64{share, 1}, left, right)
}

// draft says at the top what the watermark says on every page.
func (p print) draft(says string) {
	if p.s.Draft {
		p.Boxed(paper.Box{Line: drawing.Ink, LineMM: boxLineMM, Dashed: true}, func() {
			p.Paragraph(paper.Strong(p.say.Draft.Word+"  "), paper.Plain(says))
		})
	}
}

// colon is a lead with the language's colon and a space.
func (p print) colon(lead string) string { return lead + p.say.Colon + " " }

// apart stands between two facts of one line, wide enough to be seen.
const apart = "\u00a0\u00a0 "

func (p print) opening() {
	p.draft(p.say.Draft.Says)
	p.Heading(1, p.s.Title)
	about := []string{p.colon(p.say.Labels.Surgeon) + p.s.Surgeon, p.say.Labels.Written + " " + p.s.Written}
	if p.s.Approved != "" {
		about = append(about, p.s.Approved)
	}
	p.Paragraph(paper.Plain(p.say.Labels.For+" "), paper.Strong(p.s.Patient), paper.Plain(apart+strings.Join(about, apart)))
	p.Paragraph(paper.Plain(strings.Join(append(p.s.Sittings, p.say.Surgery.Intro), " ")))
}

// next is the next visit, large, with its square code beside it.
func (p print) next() {
	next := func() {
		p.Boxed(paper.Box{Fill: drawing.Wash, BarMM: boxBarMM}, func() {
			p.Heading(2, p.say.Headings.Next)
			if len(p.s.Visits) == 0 {
				p.Large(p.say.NoVisits)
				return
			}
			v := p.s.Visits[0]
			p.Large(v.Day)
			p.Paragraph(paper.Strong(v.Title+". "), paper.Plain(v.What+" "), paper.Strong(v.Status+". "), paper.Plain(strings.TrimSpace(v.StatusMeans+" "+v.Bounds)))
		})
	}
	if p.s.Code == nil {
		next()
		return
	}
	p.Beside([]float64{nextShare, 1}, func() {
		next()
		p.Paragraph(paper.Strong(p.colon(p.say.Scan.Heading)), paper.Plain(p.s.Holds+" "+p.say.Scan.Says+" "+p.s.NoScan))
	}, func() { p.Draw(p.s.Code.drawing(p.say.Scan), codeMM) })
}

func (p print) dates() {
	if len(p.s.Visits) == 0 {
		return
	}
	p.Heading(2, p.say.Headings.Dates)
	st := p.say.Status
	p.Paragraph(paper.Strong(p.colon(st.Planned)), paper.Plain(st.PlannedMeans+" "), paper.Strong(p.colon(st.Booked)), paper.Plain(st.BookedMeans))
	t := paper.Table{Head: []string{p.say.Labels.Visit, p.say.Labels.When}, Shares: []float64{datesShare, 100 - datesShare}, Stacked: p.s.Large}
	for _, v := range p.s.Visits {
		what := []paper.Run{paper.Strong(fmt.Sprintf("%d. %s", v.N, v.Title))}
		if v.What != "" {
			what = append(what, paper.Plain("\n"+v.What))
		}
		when := []paper.Run{paper.Plain(v.Status + ". "), paper.Strong(v.Day)}
		if v.Bounds != "" {
			when = append(when, paper.Plain("\n"+v.Bounds))
		}
		t.Rows = append(t.Rows, []paper.Cell{paper.Text(what...), paper.Text(when...)})
	}
	p.Table(t)
	if p.s.Path.Title != "" {
		p.Keep(func() {
			p.Heading(3, p.say.Path.Heading)
			p.Draw(p.s.Path, 0)
		})
	}
	if p.s.CalendarFile != "" {
		p.Gap(blockGapMM)
		p.Paragraph(paper.Strong(p.colon(p.say.Calendar.Lead)), paper.Plain(strings.TrimSpace(p.s.CalendarFile+" "+p.s.CalendarChanges)))
	}
}

func (p print) section(heading string, items []string) {
	p.Keep(func() {
		p.Heading(2, heading)
		p.List(paper.Items(items...), 1)
	})
}

func (p print) limits() {
	p.Heading(2, p.say.Headings.DoNot)
	p.Paragraph(paper.Plain(p.s.Counted))
	if p.s.Over {
		p.Paragraph(paper.Plain(p.say.Limits.Over))
	} else {
		p.Table(p.limitsTable())
	}
	p.List(paper.Items(p.say.Limits.NoDate...), twoColumns)
}

func (p print) limitsTable() paper.Table {
	l := p.say.Labels
	rest := float64(100-limitsShare) / 2
	t := paper.Table{Head: []string{l.Limit, l.LastDay, l.Allowed}, Shares: []float64{limitsShare, rest, rest}, Stacked: p.s.Large}
	label := func(text string) string {
		if p.s.Large {
			return text + " " // each cell stands alone there
		}
		return ""
	}
	for _, limit := range p.s.Limits {
		row := []paper.Cell{paper.Text(paper.Plain(limit.Says))}
		if p.s.Large {
			row[0] = paper.Text(paper.Strong(limit.Says))
		}
		if limit.LastDay == "" {
			row = append(row, paper.Cell{Runs: []paper.Run{paper.Plain(limit.Until)}, Span: 2})
		} else {
			row = append(row, paper.Text(paper.Plain(label(l.LastDay)+limit.LastDay)), paper.Text(paper.Plain(label(l.Allowed)+limit.FromOn)))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// warning is a box of signs, after the number to call if there is one.
func (p print) warning(box paper.Box, heading string, call []paper.Run, signs []string) {
	p.Boxed(box, func() {
		p.Heading(2, heading)
		if call != nil {
			p.Paragraph(call...)
		}
		p.List(paper.Items(signs...), 1)
	})
}

func (p print) referrer() {
	r, say := p.s.Referrer, p.say.Referrer
	p.draft(say.Draft)
	p.Paragraph(paper.Plain(r.To))
	p.Heading(1, say.Title)
	p.Paragraph(paper.Strong(r.About))
	p.Heading(2, say.Done)
	p.Paragraph(paper.Plain(strings.Join(append(p.s.Sittings, r.Placed...), " ")))
	p.Heading(2, say.Start)
	if r.Over != "" {
		p.Paragraph(paper.Plain(r.Over))
	} else {
		p.List(paper.Items(r.Start...), 1)
	}
	p.Paragraph(paper.Plain(say.Release))
	p.Heading(2, say.Ask)
	p.Paragraph(paper.Plain(r.Ask))
	p.Gap(blockGapMM)
	p.Paragraph(paper.Plain(strings.TrimSpace(p.say.Labels.Written + " " + p.s.Written + ". " + p.s.Approved)))
}
