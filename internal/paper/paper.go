// Package paper writes a document on paper: a PDF whose blocks flow over pages of
// one size, with the fonts inside, a running head and foot, and tags that tell a
// reading program what is a heading, a list, a table or a picture. It knows type and
// pages; what the document says is the business of whoever composes it.
//
// Blocks are set in the order of the calls, which is also the order in which they are
// read aloud and copied. Lengths are in mm, sizes of type in points. The same calls
// give the same bytes. A Sheet belongs to one goroutine; many may be made at once.
package paper

import (
	_ "embed"
	"errors"
	"fmt"
	"io"

	"graftclock/internal/day"
	"graftclock/internal/drawing"
)

// Notice is the licence of the fonts, which has to go with every copy of them.
//
//go:embed NOTICE
var Notice string

// Size is the size of the pages.
type Size int

// The sizes.
const (
	A4       Size = iota // 210 mm x 297 mm (ISO 216)
	USLetter             // 8.5 in x 11 in
)

// Options say what all pages of a document share.
type Options struct {
	Size      Size
	BodyPT    float64 // size of the type; 0: 11. Headings, bullets and gaps grow with it
	LineGap   float64 // from baseline to baseline, as a multiple of the size; 0: 1.3
	MarginMM  float64 // on all four sides, outside head and foot; 0: 14
	Language  string  // of the text, such as "en-GB" (BCP 47)
	Title     string  // of the document, for the window of the reading program
	Head      Running // on each page at the same place
	Foot      Running // on each page, with the page's number at the right
	Watermark string  // a word in light grey across each page, behind the text; empty: none
	Created   day.Day // stands in the file as its date; no day at all is an error
}

// Running is what stands at the top or at the foot of each page. A line is a row of
// runs. The lines at the right are a block of two columns: the first run of each at
// the block's left edge, the others at the page's right margin. The head of the first
// page is read aloud; all others are not, as they say nothing new. Links work in the
// head of the first page only.
type Running struct {
	Left, Right [][]Run
}

// Run is text in one style. A line feed in it ends the line, and nothing else does.
// White space of any length is one space, at which a line may be broken; a no-break space
// is not broken at, and several in a row make a wider gap.
type Run struct {
	Text string
	Bold bool
	Size float64      // as a multiple of the body's; 0: 1
	Tone drawing.Tone // None: Ink
	Link string       // an address to go to, such as "tel:+441315550142"; empty: none
}

// Plain is text of the body.
func Plain(text string) Run { return Run{Text: text} }

// Strong is bold text of the body.
func Strong(text string) Run { return Run{Text: text, Bold: true} }

// Item is an item of a list, with the list inside it, if any.
type Item struct {
	Runs   []Run
	Inside []Item
}

// Items are plain items without lists inside them.
func Items(texts ...string) []Item {
	items := make([]Item, len(texts))
	for i, text := range texts {
		items[i].Runs = []Run{Plain(text)}
	}
	return items
}

// Cell is a cell of a table. Its text wraps; a line feed starts a new line.
type Cell struct {
	Runs []Run
	Span int // how many columns it takes; 0: 1
}

// Text is a cell of runs.
func Text(runs ...Run) Cell { return Cell{Runs: runs} }

// Table is a table. Its head is printed again on each page it goes on to, unless it is
// nearly a third of a page high; a row stays on one page unless it is higher than a page.
type Table struct {
	Head     []string  // of the columns; empty: no head row
	Shares   []float64 // of the width, one for each column, in any unit; empty: equal
	Rows     [][]Cell  // the spans of each row add up to the number of columns
	RowHeads bool      // the first cell of each row names the row; how it looks is up to its runs
	Stacked  bool      // for large print: the cells of a row one below the other, without the head row; give each cell the words it needs to be understood
}

// Box is the frame of a box.
type Box struct {
	Line   drawing.Tone // of the border, and of the headings inside; None: no border, headings in Accent
	LineMM float64      // width of the border
	Dashed bool
	Fill   drawing.Tone
	BarMM  float64      // width of a bar at the left edge; 0: none
	Bar    drawing.Tone // of that bar; None: Accent
}

// Sheet is a document that is being written.
type Sheet struct {
	options  Options
	page     geometry
	flow     flow
	headings int   // level of the last heading
	faults   error // what was called wrongly; Write tells
	odd      oddities
}

// New begins a document.
func New(o Options) *Sheet {
	s := &Sheet{options: o.filled()}
	if o.Created.IsZero() {
		s.fault("no day of creation")
	}
	s.begin()
	return s
}

const (
	usualBodyPT   = 11
	usualLineGap  = 1.3
	usualMarginMM = 14
)

func (o Options) filled() Options {
	if o.BodyPT == 0 {
		o.BodyPT = usualBodyPT
	}
	if o.LineGap == 0 {
		o.LineGap = usualLineGap
	}
	if o.MarginMM == 0 {
		o.MarginMM = usualMarginMM
	}
	return o
}

func (s *Sheet) fault(format string, values ...any) {
	s.faults = errors.Join(s.faults, fmt.Errorf("paper: "+format, values...))
}

// Heading sets a heading of level 1 to 3, which stays with what follows it. The first
// of a document is of level 1, and none is more than one level below the one before it;
// anything else is an error of Write.
func (s *Sheet) Heading(level int, text string) { s.heading(level, text) }

// Paragraph sets runs as one paragraph, with its left edge straight and no word divided.
// A word wider than the column is broken.
func (s *Sheet) Paragraph(runs ...Run) { s.paragraph(runs) }

// Large sets a line of large bold type, such as the day of the next visit.
func (s *Sheet) Large(text string) { s.large(text) }

// List sets a list with bullets. With more than one column the items go down the first
// and then down the next, and the list stays on one page; where the columns would be too
// narrow for the type, as in large print, it is one column.
func (s *Sheet) List(items []Item, columns int) { s.list(items, columns) }

// Table sets a table over the whole width of the column. A row whose spans do not add up
// is an error of Write.
func (s *Sheet) Table(t Table) { s.table(t) }

// Draw sets a drawing at its own size, or smaller so that it is no wider than maxWidthMM
// (0: the column) and no higher than a page. Its Title and Says are read aloud; one
// without a title is an ornament and is not.
func (s *Sheet) Draw(d drawing.Drawing, maxWidthMM float64) { s.draw(d, maxWidthMM) }

// Boxed puts a frame around what is set within. It stays on one page if it fits there.
func (s *Sheet) Boxed(b Box, within func()) { s.boxed(b, within) }

// Keep keeps what is set within on one page if it fits there.
func (s *Sheet) Keep(within func()) { s.keep(within) }

// Beside sets blocks side by side, each on its share of the width (in any unit), and
// read one after the other. They stay on one page; where the highest does not fit there
// they are set one below the other.
func (s *Sheet) Beside(shares []float64, within ...func()) { s.beside(shares, within) }

// Gap leaves room before what follows. It vanishes at the top of a page.
func (s *Sheet) Gap(mm float64) { s.flow.pending += mm }

// NewPage makes what follows begin on a new page, unless it is inside of something that
// stays on one page.
func (s *Sheet) NewPage() { s.flow.turn = true }

// BodyMM is the size of the body's type in mm, for drawings whose labels should match.
func (s *Sheet) BodyMM() float64 { return s.options.BodyPT * drawing.MMPerPoint }

// WidthMM is the width of the column in which the next block is set.
func (s *Sheet) WidthMM() float64 { return s.flow.width }

// Pages is the number of pages so far.
func (s *Sheet) Pages() int { return len(s.paginate()) }

// Unprintable are the characters that could not be printed as they were written, each
// once and in the order of their code points: those without a glyph and those of scripts
// that need shaping or run from right to left stand as U+FFFD on the paper; accents that
// no letter of the font carries stand beside their letter.
func (s *Sheet) Unprintable() []rune { return s.odd.sorted() }

// Write writes the document. It fails where a method was called wrongly, and where w
// fails; then what was written is no PDF.
func (s *Sheet) Write(w io.Writer) error {
	if s.faults != nil {
		return s.faults
	}
	return s.write(w)
}
