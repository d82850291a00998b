package paper

import (
	"strings"

	"graftclock/internal/drawing"
)

// style is how a piece of text is set.
type style struct {
	face face
	size float64 // mm
	tone drawing.Tone
	link string
	tag  *tag // what the text belongs to; nil: nothing that is read
}

// piece is text in one style.
type piece struct {
	style
	text  string
	width float64
}

// line is one line of text. Its baseline lies below its top.
type line struct {
	pieces                  []piece
	width, height, baseline float64
}

// word is what stands between two places where a line may be broken.
type word struct {
	pieces   []piece
	width    float64
	after    piece // the white space behind it, if any
	endsLine bool
}

// advance is the width of a rune in mm.
func (st style) advance(r rune) float64 {
	const thousandths = 1000
	return float64(fonts()[st.face].advance[r]) / thousandths * st.size
}

// with is the style for one rune: the bold sans where the serif has no glyph.
func (st style) with(r rune) style {
	if !fonts()[st.face].has(r) {
		st.face = bold
	}
	return st
}

// styled is a run's style, built upon that of its block.
func (s *Sheet) styled(r Run, block style) style {
	if r.Bold && block.face == regular {
		block.face = bold
	}
	if r.Size != 0 {
		block.size *= r.Size
	}
	if r.Tone != drawing.None {
		block.tone = r.Tone
	}
	if r.Link != "" && block.tag != nil {
		block.link, block.tag = r.Link, &tag{kind: "Link", parent: block.tag}
	}
	return block
}

// words takes runs apart.
func (s *Sheet) words(runs []Run, block style) (all []word) {
	var current word
	finish := func(after piece, endsLine bool) {
		if len(current.pieces) > 0 || endsLine {
			current.after, current.endsLine = after, endsLine
			all = append(all, current)
		}
		current = word{}
	}
	for _, run := range runs {
		st := s.styled(run, block)
		for _, r := range s.odd.clean(run.Text) {
			switch r {
			case '\n', space:
				finish(piece{style: st, text: " ", width: st.advance(space)}, r == '\n')
			default:
				current.add(r, st.with(r))
			}
		}
	}
	finish(piece{style: block, text: " ", width: block.advance(space)}, false)
	return all
}

// add puts a rune at the end of a word.
func (w *word) add(r rune, st style) {
	width := st.advance(r)
	w.width += width
	w.pieces = join(w.pieces, piece{style: st, text: string(r), width: width})
}

// join puts a piece behind others, as one with the last where the style is the same.
func join(pieces []piece, next piece) []piece {
	if last := len(pieces) - 1; last >= 0 && pieces[last].style == next.style {
		pieces[last].text += next.text
		pieces[last].width += next.width
		return pieces
	}
	return append(pieces, next)
}

// wrap sets runs in lines no wider than width, in mm. Each line but the last ends with
// a space, so that whoever copies the text gets whole words.
func (s *Sheet) wrap(runs []Run, width float64, block style) (lines []line) {
	var current line
	var between piece
	finish := func(after piece) {
		current.pieces = join(current.pieces, after)
		lines = append(lines, s.measured(current, block))
		current = line{}
	}
	for _, w := range s.words(runs, block) {
		if len(current.pieces) > 0 && current.width+between.width+w.width > width+rounding {
			finish(between)
		}
		if len(current.pieces) > 0 {
			current.pieces = join(current.pieces, between)
			current.width += between.width
		}
		for w.width > width+rounding {
			var head word
			if head, w = w.split(width); len(w.pieces) == 0 {
				w = head
				break
			}
			lines = append(lines, s.measured(line{pieces: head.pieces, width: head.width}, block))
		}
		for _, p := range w.pieces {
			current.pieces = join(current.pieces, p)
		}
		current.width += w.width
		if between = w.after; w.endsLine {
			finish(between)
		}
	}
	if len(current.pieces) > 0 {
		lines = append(lines, s.measured(current, block))
	}
	return lines
}

// balanced sets large type in as few lines as fit, all about as wide, so that no single
// word hangs below the others.
func (s *Sheet) balanced(text string, width float64, block style) []line {
	runs := []Run{Plain(text)}
	lines := s.wrap(runs, width, block)
	count := len(lines)
	const steps = 6 // each halves the doubt about the least width
	least := 0.0    // of the width: no word is broken for looks
	for _, w := range s.words(runs, block) {
		least = max(least, w.width)
	}
	for range steps {
		if count < 2 || least > width {
			break
		}
		middle := (least + width) / 2
		if narrower := s.wrap(runs, middle, block); len(narrower) == count {
			lines, width = narrower, middle
		} else {
			least = middle
		}
	}
	return lines
}

// split cuts a word that is wider than a line: as much as fits, preferably up to a sign
// that parts it anyway, and the rest. There is always at least one rune in front.
func (w word) split(width float64) (head, rest word) {
	const signs = "-/_.@=&?"
	rest.after, rest.endsLine = w.after, w.endsLine
	runes, cut, sign := 0, 0, 0
	taken := 0.0
	for _, p := range w.pieces {
		for _, r := range p.text {
			runes++
			if taken += p.advance(r); taken <= width || runes == 1 {
				cut = runes
				if strings.ContainsRune(signs, r) {
					sign = runes
				}
			}
		}
	}
	if sign > cut/2 {
		cut = sign
	}
	for _, p := range w.pieces {
		for _, r := range p.text {
			if cut--; cut >= 0 {
				head.add(r, p.style)
			} else {
				rest.add(r, p.style)
			}
		}
	}
	return head, rest
}

// measured gives a line its height: that of its largest type.
func (s *Sheet) measured(l line, block style) line {
	size := 0.0
	for _, p := range l.pieces {
		size = max(size, p.size)
	}
	if size == 0 {
		size = block.size
	}
	l.height = size * s.options.LineGap
	if block.face == serif {
		l.height = size * min(s.options.LineGap, headingGap)
	}
	l.baseline = (l.height-(ascent+descent)*size)/2 + ascent*size
	return l
}
