package paper

import (
	"fmt"
	"slices"

	"graftclock/internal/drawing"
)

// geometry is what all pages have in common, in mm.
type geometry struct {
	sheetWidth, sheetHeight float64
	margin                  float64
	top, width, height      float64 // of the part between head and foot
	head                    []strip
	footHeight              float64
}

const ruleHeadMM = 0.7 // the line under the head and over the foot

// begin lays out what is the same on each page, which leaves the room for the rest.
func (s *Sheet) begin() {
	const mmPerInch, letterWidthIn, letterHeightIn, a4Width, a4Height = 25.4, 8.5, 11, 210, 297
	g := geometry{sheetWidth: a4Width, sheetHeight: a4Height, margin: s.options.MarginMM}
	if s.options.Size == USLetter {
		g.sheetWidth, g.sheetHeight = letterWidthIn*mmPerInch, letterHeightIn*mmPerInch
	}
	s.odd = oddities{}
	g.width = g.sheetWidth - 2*g.margin
	s.flow = flow{width: g.width, fresh: true, heading: drawing.Accent}
	const footLike = 99
	g.head = s.running(s.options.Head, true)
	g.footHeight = heightOf(s.foot(footLike, footLike))
	g.top = g.margin + heightOf(g.head)
	if len(g.head) > 0 {
		g.top += blockEm * s.BodyMM()
	}
	g.height = g.sheetHeight - g.margin - g.top - g.footHeight - blockEm*s.BodyMM()
	const least = 6 // lines of text
	if g.height < least*s.BodyMM()*s.options.LineGap {
		s.fault("head and foot leave %.0f mm of the page", g.height)
	}
	s.page = g
}

// running sets a head or a foot: its lines at the left and the block at the right, one
// below the other where they are too wide to stand side by side.
func (s *Sheet) running(r Running, head bool) []strip {
	if len(r.Left) == 0 && len(r.Right) == 0 {
		return nil
	}
	em := s.BodyMM()
	var all []strip
	widest := s.widest(r.Right)
	room := s.flow.width
	if widest > 0 {
		room -= widest + gutterEm*em
	}
	const least = 0.4 // of the width
	if room < least*s.flow.width && room < s.widest(r.Left) {
		all = append(s.lines(r.Left, s.flow.width), s.pairs(r.Right, 0, s.flow.width)...)
	} else {
		right := s.pairs(r.Right, s.flow.width-widest, widest)
		left, leftHeight := s.stack(s.lines(r.Left, room))
		marks, rightHeight := s.stack(right)
		all = []strip{{height: max(leftHeight, rightHeight), marks: append(left, marks...)}}
	}
	path := drawing.Path{Points: drawing.Straight(0, 0, s.flow.width, 0), Line: drawing.Line{Tone: drawing.Accent, WidthMM: ruleHeadMM}}
	rule := strip{height: ruleHeadMM + paragraphEm*em}
	if head {
		rule.marks = []mark{{path: &path, scale: 1, y: paragraphEm*em + ruleHeadMM/2}}
		return append(all, rule)
	}
	rule.marks = []mark{{path: &path, scale: 1, y: ruleHeadMM / 2}}
	return append([]strip{rule}, all...)
}

// lines sets lines one below the other.
func (s *Sheet) lines(lines [][]Run, width float64) (strips []strip) {
	for _, runs := range lines {
		strips = append(strips, setAt(s.wrap(runs, width, s.body(&tag{kind: "P"})), 0)...)
	}
	return strips
}

// pairs sets lines whose first run stands at the left edge and whose others end at the
// right edge; one that is too wide for that wraps.
func (s *Sheet) pairs(lines [][]Run, x, width float64) (strips []strip) {
	for _, runs := range lines {
		st := s.body(&tag{kind: "P"})
		if len(runs) > 1 {
			first, rest := s.wrap(runs[:1], width, st), s.wrap(runs[1:], width, st)
			if len(first) <= 1 && len(rest) == 1 {
				if pair, ok := s.pair(first, rest[0], x, width); ok {
					strips = append(strips, pair)
					continue
				}
			}
			runs = slices.Insert(slices.Clone(runs), 1, Plain(" "))
		}
		strips = append(strips, setAt(s.wrap(runs, width, st), x)...)
	}
	return strips
}

// pair sets one line at the left, if there is one, and another at the right.
func (s *Sheet) pair(first []line, rest line, x, width float64) (strip, bool) {
	pair := strip{height: rest.height}
	if len(first) == 1 {
		if first[0].width+rest.width > width+rounding {
			return pair, false
		}
		end := &first[0].pieces[len(first[0].pieces)-1]
		end.text += " "
		pair.height = max(pair.height, first[0].height)
		pair.marks = first[0].marks(x, 0)
	}
	pair.marks = append(pair.marks, rest.marks(x+width-rest.width, 0)...)
	return pair, true
}

// widest is the width of a block of pairs.
func (s *Sheet) widest(lines [][]Run) (widest float64) {
	for _, runs := range lines {
		width := 0.0
		if len(runs) > 1 {
			width = pairEm * s.BodyMM()
		}
		for _, run := range runs {
			for _, l := range s.wrap([]Run{run}, s.page.sheetWidth+s.flow.width, s.body(nil)) {
				width += l.width
			}
		}
		widest = max(widest, width)
	}
	return widest
}

// foot is that of one page.
func (s *Sheet) foot(page, pages int) []strip {
	running := s.options.Foot
	number := []Run{Plain(""), Plain(fmt.Sprintf("%d\u00a0/\u00a0%d", page, pages))}
	running.Right = append(running.Right[:len(running.Right):len(running.Right)], number)
	return s.running(running, false)
}
