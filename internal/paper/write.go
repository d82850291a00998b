package paper

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"graftclock/internal/drawing"
)

// writer prints the marks of all pages.
type writer struct {
	*Sheet
	tree    *tree
	used    [faces]used
	content [][]byte // of each page: its operators (ISO 32000-1, Annex A)
	out     []byte   // of the page that is being printed

	open bool // a stretch of marked content
	tag  *tag // whose; nil: of an ornament
	face face
	size float64
	tone drawing.Tone
}

const noTone = drawing.Tone(-1)

func (s *Sheet) write(out io.Writer) error {
	w := &writer{Sheet: s, tree: newTree()}
	for _, marks := range s.marks() {
		w.onePage(marks)
	}
	_, err := out.Write(w.file())
	return err
}

// file puts pages, fonts and tags into a file.
func (w *writer) file() []byte {
	f := &file{}
	const fixed = 3
	catalog := f.reserve(fixed)
	pages, info := catalog+1, catalog+2
	first := f.reserve(len(w.content))
	var fonts, kids bytes.Buffer
	for face := range faces {
		if len(w.used[face].runes) > 0 {
			number := f.reserve(1)
			f.embed(number, face, &w.used[face])
			fmt.Fprintf(&fonts, "/F%d %d 0 R ", face, number)
		}
	}
	root, annots := f.tags(w.tree, first)
	width, height := w.page.sheetWidth/drawing.MMPerPoint, w.page.sheetHeight/drawing.MMPerPoint
	for i, content := range w.content {
		fmt.Fprintf(&kids, "%d 0 R ", first+i)
		f.set(first+i, "<</Type /Page /Parent %d 0 R /MediaBox [0 0 %.2f %.2f] /Resources <</Font <<%s>>>> /Contents %d 0 R /StructParents %d /Tabs /S /Annots [%s]>>",
			pages, width, height, fonts.String(), f.stream(content, ""), i, annots[i])
	}
	f.set(pages, "<</Type /Pages /Kids [%s] /Count %d>>", kids.String(), len(w.content))
	f.set(info, "<</Title %s /Producer (graftclock) /CreationDate %[2]s /ModDate %[2]s>>", textString(oddities{}.clean(w.options.Title)), w.options.Created.Time().Format("(D:20060102150405Z)"))
	f.set(catalog, "<</Type /Catalog /Pages %d 0 R /MarkInfo <</Marked true>> /StructTreeRoot %d 0 R /Lang %s /ViewerPreferences <</DisplayDocTitle true>>>>",
		pages, root, byteString(w.options.Language))
	return f.bytes(catalog, info)
}

// marks are the marks of each page, from its top left corner on.
func (s *Sheet) marks() (pages [][]mark) {
	sheets := s.paginate()
	head, _ := s.stack(s.page.head)
	for i, strips := range sheets {
		if i == 1 {
			head = unread(head)
		}
		body, _ := s.stack(strips)
		foot, _ := s.stack(s.foot(i+1, len(sheets)))
		var all []mark
		add := func(marks []mark, y float64) {
			for _, m := range marks {
				m.x, m.y = m.x+s.page.margin, m.y+y
				all = append(all, m)
			}
		}
		add(head, s.page.margin)
		add(body, s.page.top)
		add(unread(foot), s.page.sheetHeight-s.page.margin-s.page.footHeight)
		pages = append(pages, all)
	}
	return pages
}

// onePage prints one page: first what lies behind everything.
func (w *writer) onePage(marks []mark) {
	w.tree.pages = append(w.tree.pages, nil)
	w.out, w.face, w.tone = nil, faces, noTone
	for _, m := range marks {
		if m.back {
			w.mark(m)
		}
	}
	w.watermark()
	for _, m := range marks {
		if !m.back {
			w.mark(m)
		}
	}
	w.close()
	w.content = append(w.content, w.out)
}

func (w *writer) mark(m mark) {
	switch {
	case m.piece != nil:
		w.begin(m.tag)
		w.text(m)
	case m.path != nil:
		w.begin(m.tag)
		w.path(m)
	case m.tag != nil:
		left, top := w.points(m.x, m.y)
		right, bottom := w.points(m.x+m.area.X, m.y+m.area.Y)
		w.tree.node(m.tag).bounds = [4]float64{left, bottom, right, top}
	}
}

// points is a place in mm from the top left corner of the page in pt from the bottom left.
func (w *writer) points(x, y float64) (float64, float64) {
	return x / drawing.MMPerPoint, (w.page.sheetHeight - y) / drawing.MMPerPoint
}

// put writes operands with at most three decimals and an operator.
func (w *writer) put(operator string, operands ...float64) {
	const decimals = 1000
	for _, operand := range operands {
		rounded := math.Round(operand*decimals) / decimals
		w.out = append(strconv.AppendFloat(w.out, rounded+0, 'f', -1, 64), ' ')
	}
	w.out = append(append(w.out, operator...), '\n')
}

// begin makes what follows belong to a tag.
func (w *writer) begin(t *tag) {
	if w.open && w.tag == t {
		return
	}
	w.close()
	w.open, w.tag = true, t
	if t == nil {
		w.put("/Artifact BMC")
		return
	}
	w.put(fmt.Sprintf("/%s <</MCID %d>> BDC", t.kind, w.tree.stretch(t)))
}

func (w *writer) close() {
	if w.open {
		w.put("EMC")
	}
	w.open = false
}

func (w *writer) text(m mark) {
	size := m.piece.size / drawing.MMPerPoint
	x, y := w.points(m.x, m.y)
	w.fill(m.piece.tone)
	w.show(x, y, m.piece.face, size, m.piece.text)
	if m.piece.link == "" || m.tag == nil || strings.TrimSpace(m.piece.text) == "" {
		return
	}
	w.tree.area(m.tag, annot{
		rect: [4]float64{x, y - descent*size, x + m.piece.width/drawing.MMPerPoint, y + ascent*size},
		link: m.piece.link, says: strings.TrimSpace(m.piece.text),
	})
}

// show prints text from a point on, in pt from the bottom left corner.
func (w *writer) show(x, y float64, f face, size float64, text string) {
	w.put("BT")
	if f != w.face || size != w.size {
		w.put(fmt.Sprintf("/F%d %.3f Tf", f, size))
		w.face, w.size = f, size
	}
	w.put("Td", x, y)
	w.out = append(w.out, '<')
	for _, r := range text {
		const digits = "0123456789ABCDEF"
		n := w.used[f].of(r)
		w.out = append(w.out, digits[n>>12&15], digits[n>>8&15], digits[n>>4&15], digits[n&15])
	}
	w.out = append(w.out, '>', ' ')
	w.put("Tj")
	w.put("ET")
}

func (w *writer) fill(t drawing.Tone) {
	if t != w.tone {
		w.colour("rg", t)
		w.tone = t
	}
}

// colour sets a colour by the operator for areas, rg, or for lines, RG.
func (w *writer) colour(operator string, t drawing.Tone) {
	const most = 255
	r, g, b := t.RGB()
	w.put(operator, float64(r)/most, float64(g)/most, float64(b)/most)
}

// path prints a path: its area, its line, or both.
func (w *writer) path(m mark) {
	stroked, filled := m.path.Line.Tone != drawing.None, m.path.Fill != drawing.None
	if len(m.path.Points) == 0 || !stroked && !filled {
		return
	}
	if filled {
		w.fill(m.path.Fill)
	}
	if stroked {
		w.stroke(m.path.Line, m.scale)
	}
	operator := "m"
	for _, p := range m.path.Points {
		x, y := w.points(m.x+p.X*m.scale, m.y+p.Y*m.scale)
		w.put(operator, x, y)
		operator = "l"
	}
	if m.path.Closed {
		w.put("h")
	}
	switch {
	case stroked && filled:
		w.put("B")
	case stroked:
		w.put("S")
	default:
		w.put("f")
	}
}

func (w *writer) stroke(l drawing.Line, scale float64) {
	const roundJoin = 1
	w.colour("RG", l.Tone)
	w.put("w", l.WidthMM*scale/drawing.MMPerPoint)
	w.put("j", roundJoin)
	dash := make([]string, len(l.Dash))
	for i, mm := range l.Dash {
		dash[i] = fmt.Sprintf("%.3f", mm*scale/drawing.MMPerPoint)
	}
	w.put("[" + strings.Join(dash, " ") + "] 0 d")
}

// watermark prints the word across the page, as large as fits.
func (w *writer) watermark() {
	word := oddities{}.clean(w.options.Watermark)
	if word == "" {
		return
	}
	const angle, light, most, share = 35 * math.Pi / 180, 0.89, 110.0, 0.9
	width := 0.0
	for _, r := range word {
		width += style{face: bold, size: 1}.advance(r)
	}
	size := min(most, share*w.page.width/math.Cos(angle)/width/drawing.MMPerPoint)
	sin, cos := math.Sincos(angle)
	half := width * size / 2
	x, y := w.page.sheetWidth/2/drawing.MMPerPoint-half*cos, w.page.sheetHeight/2/drawing.MMPerPoint-half*sin
	w.begin(nil)
	w.put(fmt.Sprintf("q %.2f g %.5f %.5f %.5f %.5f %.2f %.2f cm", light, cos, sin, -sin, cos, x, y))
	w.show(0, 0, bold, size, word)
	w.put("Q")
	w.face = faces // Q has brought back what was set before
}
