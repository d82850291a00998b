package paper

import "graftclock/internal/drawing"

// How a table is drawn: padding as multiples of the body's size, lines in mm.
const (
	cellRightEm = 0.8
	cellAboveEm = 0.22
	hairMM      = 0.18
	ruleMM      = 0.42
)

// grid is a table that is being set.
type grid struct {
	*Sheet
	Table
	tag     *tag
	columns []place // without the padding at the right
	head    []strip // that is printed again on each page; nil: none is
}

func (s *Sheet) table(t Table) {
	count := len(t.Head)
	if count == 0 && len(t.Rows) > 0 {
		count = spans(t.Rows[0])
	}
	if count == 0 {
		return
	}
	shares := t.Shares
	if len(shares) == 0 {
		for range count {
			shares = append(shares, 1)
		}
	}
	if !s.divisible(shares, count, "columns of a table") {
		return
	}
	g := &grid{Sheet: s, Table: t, tag: &tag{kind: "Table"}}
	g.columns = divide(shares, s.flow.x, s.flow.width, cellRightEm*s.BodyMM())
	s.flow.space(paragraphEm * s.BodyMM())
	if len(t.Head) > 0 && !t.Stacked {
		head := g.headRow()
		s.flow.add(head...)
		const most = 0.3 // of a page: a head that is higher is not printed again
		if heightOf(head) < most*s.page.height {
			g.head = head
		}
	}
	for i, cells := range t.Rows {
		if spans(cells) != count {
			s.fault("row %d of a table spans %d columns of %d", i+1, spans(cells), count)
			return
		}
		s.flow.add(g.row(cells, i == 0 || i+2 >= len(t.Rows), i+1 == len(t.Rows))...)
	}
}

func spans(cells []Cell) (count int) {
	for _, c := range cells {
		count += max(1, c.Span)
	}
	return count
}

// headRow sets the head: bold, at the bottom of the row, over a rule.
func (g *grid) headRow() []strip {
	row := &tag{kind: "TR", parent: g.tag}
	cells := make([]cellText, len(g.Head))
	highest := 0.0
	for i, text := range g.Head {
		st := g.body(&tag{kind: "TH", parent: row, scope: "Column"})
		st.face, st.tone = bold, drawing.Accent
		cells[i] = cellText{g.wrap([]Run{Plain(text)}, g.columns[i].width, st), g.columns[i].x, st.tag}
		highest = max(highest, cells[i].height())
	}
	pad := cellAboveEm * g.BodyMM()
	head := []strip{{height: highest + 2*pad}}
	for _, c := range cells {
		head[0].marks = append(head[0].marks, c.marks(pad+highest-c.height())...)
	}
	if head[0].height > g.page.height {
		head = g.byLine(cells)
	}
	last := &head[len(head)-1]
	last.bond = light
	last.marks = append(last.marks, g.line(last.height, drawing.Accent, ruleMM))
	return head
}

// cellText is a cell whose text is set.
type cellText struct {
	lines []line
	x     float64
	tag   *tag
}

func (c cellText) height() (height float64) {
	for _, l := range c.lines {
		height += l.height
	}
	return height
}

// marks are those of the cell with its top at y. The first gives a cell without text
// its place in the row.
func (c cellText) marks(y float64) []mark {
	marks := []mark{{tag: c.tag}}
	for _, l := range c.lines {
		marks = append(marks, l.marks(c.x, y)...)
		y += l.height
	}
	return marks
}

// row sets one row. The first two stay together, and the last two, so that no row
// stands alone on a page.
func (g *grid) row(cells []Cell, keep, last bool) []strip {
	row := &tag{kind: "TR", parent: g.tag}
	var all []cellText
	at := 0
	for i, c := range cells {
		t := &tag{kind: "TD", parent: row, span: c.Span}
		if i == 0 && g.RowHeads {
			t.kind, t.scope = "TH", "Row"
		}
		first, end := g.columns[at], g.columns[at+max(1, c.Span)-1]
		at += max(1, c.Span)
		where := place{first.x, end.x + end.width - first.x}
		if g.Stacked {
			where = place{g.flow.x, g.flow.width}
		}
		all = append(all, cellText{g.wrap(c.Runs, where.width, g.body(t)), where.x, t})
	}
	strips := g.across(all)
	end := &strips[len(strips)-1]
	end.marks = append(end.marks, g.line(end.height, drawing.Hair, hairMM))
	if keep && !last {
		end.bond = light
	}
	for i := range strips {
		strips[i].head = g.head
	}
	return strips
}

// across sets the cells of a row side by side, in one strip unless that is higher than
// a page.
func (g *grid) across(cells []cellText) []strip {
	if g.Stacked {
		return g.stacked(cells)
	}
	pad := cellAboveEm * g.BodyMM()
	row := strip{height: 2 * pad}
	for _, c := range cells {
		row.marks = append(row.marks, c.marks(pad)...)
		row.height = max(row.height, c.height()+2*pad)
	}
	if row.height+heightOf(g.head) > g.page.height {
		return g.byLine(cells)
	}
	return []strip{row}
}

// stacked sets the cells of a row one below the other, on one page if they fit there.
func (g *grid) stacked(cells []cellText) (strips []strip) {
	pad := cellAboveEm * g.BodyMM()
	strips = []strip{{height: pad}}
	for _, c := range cells {
		lines := setAt(c.lines, c.x)
		strips[len(strips)-1].marks = append(strips[len(strips)-1].marks, mark{tag: c.tag})
		strips = append(strips, lines...)
	}
	strips = append(strips, strip{height: pad})
	strips[0].bond, strips[len(strips)-2].bond = firm, firm
	if heightOf(strips) <= g.page.height {
		glue(strips)
	}
	return strips
}

// byLine divides a row that is higher than a page between its lines.
func (g *grid) byLine(cells []cellText) (strips []strip) {
	for i := 0; ; i++ {
		var next strip
		for _, c := range cells {
			if i == 0 {
				next.marks = append(next.marks, mark{tag: c.tag})
			}
			if i < len(c.lines) {
				next.marks = append(next.marks, c.lines[i].marks(c.x, 0)...)
				next.height = max(next.height, c.lines[i].height)
			}
		}
		if next.height == 0 {
			return strips
		}
		strips = append(strips, next)
	}
}

// line is a line over the width of the table with its middle at y.
func (g *grid) line(y float64, tone drawing.Tone, width float64) mark {
	path := drawing.Path{Points: drawing.Straight(g.flow.x, y, g.flow.x+g.flow.width, y), Line: drawing.Line{Tone: tone, WidthMM: width}}
	return mark{path: &path, scale: 1}
}
