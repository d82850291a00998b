package drawing

import (
	"bytes"
	"fmt"
	"html"
	"html/template"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// SVG is the drawing as an element that a page holds: a named image without a style
// attribute, a script or anything from outside. Each named shape has the id
// ID-NAME. The same drawing gives the same bytes.
func (d Drawing) SVG() template.HTML {
	var out bytes.Buffer
	fmt.Fprintf(&out, `<svg role="img" class="drawing" aria-labelledby="%[1]s-title" aria-describedby="%[1]s-says" width="%[2]smm" height="%[3]smm" viewBox="0 0 %[2]s %[3]s">`+"\n", html.EscapeString(d.ID), number(d.WidthMM), number(d.HeightMM))
	fmt.Fprintf(&out, "<title id=\"%[1]s-title\">%[2]s</title>\n<desc id=\"%[1]s-says\">%[3]s</desc>\n", html.EscapeString(d.ID), escape(d.Title), escape(d.Says))
	for _, s := range d.Shapes {
		switch s := s.(type) {
		case Path:
			d.path(&out, s)
		case Label:
			d.label(&out, s)
		}
	}
	out.WriteString("</svg>")
	return template.HTML(out.String()) //nolint:gosec // every text above is escaped
}

func (d Drawing) id(name string) string {
	if name == "" {
		return ""
	}
	return ` id="` + html.EscapeString(d.ID+"-"+name) + `"`
}

func (d Drawing) path(out *bytes.Buffer, p Path) {
	fmt.Fprintf(out, `<path%s d="%s" fill="%s"`, d.id(p.Name), data(p), p.Fill.Hex())
	if p.Line.Tone != None {
		fmt.Fprintf(out, ` stroke="%s" stroke-width="%s" stroke-linejoin="round"`, p.Line.Tone.Hex(), number(p.Line.WidthMM))
	}
	if len(p.Line.Dash) > 0 {
		lengths := make([]string, len(p.Line.Dash))
		for i, mm := range p.Line.Dash {
			lengths[i] = number(mm)
		}
		fmt.Fprintf(out, ` stroke-dasharray="%s"`, strings.Join(lengths, " "))
	}
	out.WriteString("/>\n")
}

// data is a path in SVG's path data: M x y L x y ... Z.
func data(p Path) string {
	var text strings.Builder
	for i, at := range p.Points {
		text.WriteString(map[bool]string{true: "M", false: " L"}[i == 0])
		text.WriteString(number(at.X) + " " + number(at.Y))
	}
	if p.Closed {
		text.WriteString(" Z")
	}
	return text.String()
}

func (d Drawing) label(out *bytes.Buffer, l Label) {
	tone := l.Tone
	if tone == None {
		tone = Ink
	}
	fmt.Fprintf(out, `<text%s x="%s" y="%s" font-size="%s" fill="%s"`, d.id(l.Name), number(l.At.X), number(l.At.Y), number(l.SizeMM), tone.Hex())
	if l.Anchor != Start {
		fmt.Fprintf(out, ` text-anchor="%s"`, [...]string{"start", "middle", "end"}[l.Anchor])
	}
	if l.Bold {
		out.WriteString(` font-weight="700"`)
	}
	fmt.Fprintf(out, ">%s</text>\n", escape(l.Text))
}

// escape makes text fit to stand in XML, which takes no control character but a tab and
// line ends (XML 1.0, 2.2).
func escape(text string) string {
	return html.EscapeString(strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' && r != '\n' && r != '\r' || r == 0xfffe || r == 0xffff {
			return utf8.RuneError
		}
		return r
	}, strings.ToValidUTF8(text, string(utf8.RuneError))))
}

// number writes a length to a ten-thousandth of a mm, without needless zeros.
func number(mm float64) string {
	const finest = 1e4
	rounded := math.Round(mm*finest) / finest
	if rounded == 0 {
		return "0" // and never "-0"
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}
