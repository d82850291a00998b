package drawing_test

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"graftclock/internal/drawing"
)

// sketch has a shape of each kind.
func sketch() drawing.Drawing {
	d := drawing.Drawing{ID: "plan-1", Title: "The plan", Says: "A line and two words.", WidthMM: 80, HeightMM: 20.5}
	d.Add(
		drawing.Path{Name: "area", Points: drawing.Rectangle(1, 2, 30, 10), Closed: true, Fill: drawing.Wash, Line: drawing.Line{Tone: drawing.Hair, WidthMM: 0.2}},
		drawing.Path{Name: "axis", Points: drawing.Straight(0, 15, 80, 15), Line: drawing.Line{Tone: drawing.Ink, WidthMM: 0.4, Dash: []float64{1, 0.5}}},
		drawing.Path{Points: []drawing.Point{{X: 1.0 / 3, Y: -0.00001}, {X: 2.5, Y: 1e-9}}, Line: drawing.Line{Tone: drawing.Accent, WidthMM: 1}},
		drawing.Label{Name: "start", At: drawing.Point{X: 4, Y: 5}, Text: "today", SizeMM: 3},
		drawing.Label{At: drawing.Point{X: 40, Y: 5}, Text: "middle", SizeMM: 3, Anchor: drawing.Middle, Bold: true, Tone: drawing.Accent},
		drawing.Label{At: drawing.Point{X: 80, Y: 5}, Text: "end", SizeMM: 3, Anchor: drawing.End},
	)
	return d
}

// element is one element of an SVG.
type element struct {
	name       string
	attributes map[string]string
	text       string
}

// read reads an SVG as XML and fails where it is not well formed.
func read(t interface{ Fatalf(string, ...any) }, svg string) (all []element) {
	decoder := xml.NewDecoder(strings.NewReader(svg))
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			return all
		}
		if err != nil {
			t.Fatalf("%v in\n%s", err, svg)
		}
		switch token := token.(type) {
		case xml.StartElement:
			next := element{name: token.Name.Local, attributes: map[string]string{}}
			for _, a := range token.Attr {
				next.attributes[a.Name.Local] = a.Value
			}
			all = append(all, next)
		case xml.CharData:
			if len(all) > 0 {
				all[len(all)-1].text += string(token)
			}
		}
	}
}

func TestSVGIsAsDrawn(t *testing.T) {
	all := read(t, string(sketch().SVG()))
	for i, want := range []struct {
		name, text string
		attributes map[string]string
	}{
		{"svg", "", map[string]string{"role": "img", "aria-labelledby": "plan-1-title", "aria-describedby": "plan-1-says", "width": "80mm", "height": "20.5mm", "viewBox": "0 0 80 20.5"}},
		{"title", "The plan", map[string]string{"id": "plan-1-title"}},
		{"desc", "A line and two words.", map[string]string{"id": "plan-1-says"}},
		{"path", "", map[string]string{"id": "plan-1-area", "d": "M1 2 L31 2 L31 12 L1 12 Z", "fill": "#f0f6f3", "stroke": "#9db5ac", "stroke-width": "0.2"}},
		{"path", "", map[string]string{"id": "plan-1-axis", "d": "M0 15 L80 15", "fill": "none", "stroke": "#1b1f1e", "stroke-dasharray": "1 0.5"}},
		{"path", "", map[string]string{"d": "M0.3333 0 L2.5 0", "stroke": "#0a4d3c"}},
		{"text", "today", map[string]string{"id": "plan-1-start", "x": "4", "y": "5", "font-size": "3", "fill": "#1b1f1e"}},
		{"text", "middle", map[string]string{"text-anchor": "middle", "font-weight": "700", "fill": "#0a4d3c"}},
		{"text", "end", map[string]string{"text-anchor": "end"}},
	} {
		if i >= len(all) || all[i].name != want.name || want.text != "" && strings.TrimSpace(all[i].text) != want.text {
			t.Fatalf("element %d of %v is no %s %q", i, all, want.name, want.text)
		}
		for name, value := range want.attributes {
			if got := all[i].attributes[name]; got != value {
				t.Errorf("%s of element %d (%s) is %q, and not %q", name, i, want.name, got, value)
			}
		}
	}
	if _, named := all[5].attributes["id"]; named || len(all) != 9 {
		t.Errorf("%d elements; the nameless has an id: %v", len(all), named)
	}
	if _, anchored := all[6].attributes["text-anchor"]; anchored {
		t.Error("a label that begins at its point has an anchor")
	}
}

// TestSVGNeedsNothingFromOutside: a page whose policy bans scripts and style attributes
// shows it whole.
func TestSVGNeedsNothingFromOutside(t *testing.T) {
	for _, e := range read(t, string(sketch().SVG())) {
		if e.name == "script" || e.name == "style" || e.name == "image" {
			t.Errorf("an element %s", e.name)
		}
		for name := range e.attributes {
			if name == "style" || name == "href" || name == "class" && e.name != "svg" || strings.HasPrefix(name, "on") {
				t.Errorf("%s has an attribute %s", e.name, name)
			}
		}
	}
}

func TestWordsStayWords(t *testing.T) {
	const evil = `<script>alert("1")</script> & 'x' ]]> "`
	d := sketch()
	d.Title, d.Says = evil, evil
	d.Add(drawing.Label{Text: evil, SizeMM: 3})
	svg := string(d.SVG())
	if strings.Contains(svg, "<script") {
		t.Fatal(svg)
	}
	all := read(t, svg)
	for _, i := range []int{1, 2, len(all) - 1} {
		if got := strings.TrimSuffix(all[i].text, "\n"); got != evil {
			t.Errorf("element %d says %q", i, got)
		}
	}
	d.ID = `a" onload="alert(1)`
	for _, e := range read(t, string(d.SVG())) {
		if _, bad := e.attributes["onload"]; bad {
			t.Error("an id became an attribute")
		}
	}
}

// TestAnySVGIsWellFormed, the same twice, and without an exponent or a minus before zero.
func TestAnySVGIsWellFormed(t *testing.T) {
	length := rapid.OneOf(rapid.Float64Range(-1e6, 1e6), rapid.Float64Range(-1e-4, 1e-4), rapid.SampledFrom([]float64{0, math.Copysign(0, -1), 1e-300}))
	words := rapid.StringOf(rapid.Rune().Filter(func(r rune) bool { return r >= ' ' && r != 0xfffe && r != 0xffff })) // XML 1.0, 2.2
	rapid.Check(t, func(t *rapid.T) {
		d := drawing.Drawing{ID: "d", Title: words.Draw(t, "title"), Says: words.Draw(t, "says"), WidthMM: length.Draw(t, "width"), HeightMM: length.Draw(t, "height")}
		for range rapid.IntRange(0, 5).Draw(t, "shapes") {
			at := drawing.Point{X: length.Draw(t, "x"), Y: length.Draw(t, "y")}
			d.Add(drawing.Path{Points: []drawing.Point{at, at}, Closed: rapid.Bool().Draw(t, "closed"), Line: drawing.Line{Tone: drawing.Ink, WidthMM: length.Draw(t, "line")}},
				drawing.Label{At: at, Text: words.Draw(t, "label"), SizeMM: length.Draw(t, "size")})
		}
		svg := string(d.SVG())
		if svg != string(d.SVG()) {
			t.Fatal("another picture")
		}
		for _, e := range read(t, svg) {
			for _, name := range []string{"d", "x", "y", "width", "viewBox", "font-size", "stroke-width"} {
				for _, number := range strings.FieldsFunc(e.attributes[name], func(r rune) bool { return strings.ContainsRune("MLZ m", r) }) {
					whole, part, _ := strings.Cut(number, ".")
					if strings.ContainsAny(number, "eE") || number == "-0" || len(part) > 4 || strings.HasSuffix(part, "0") || whole == "" {
						t.Fatalf("%s is %q", name, e.attributes[name])
					}
				}
			}
		}
	})
}

// luminance is that of a colour, and contrast that of two (WCAG 2.2, "relative
// luminance" and "contrast ratio").
func luminance(tone drawing.Tone) float64 {
	r, g, b := tone.RGB()
	linear := func(value int) float64 {
		s := float64(value) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(r) + 0.7152*linear(g) + 0.0722*linear(b)
}

func contrast(a, b drawing.Tone) float64 {
	light, dark := luminance(a), luminance(b)
	if light < dark {
		light, dark = dark, light
	}
	return (light + 0.05) / (dark + 0.05)
}

func TestTonesCanBeRead(t *testing.T) {
	if black := contrast(drawing.White, drawing.None); math.Abs(black-21) > 1e-9 { // None is 0, 0, 0
		t.Fatalf("white to black is %v and not 21: the formula is wrong", black)
	}
	for tone, least := range map[drawing.Tone]float64{drawing.Ink: 14, drawing.Accent: 7} {
		for _, ground := range []drawing.Tone{drawing.White, drawing.Wash} {
			if got := contrast(tone, ground); got < least {
				t.Errorf("%s on %s: %.1f", tone.Hex(), ground.Hex(), got)
			}
		}
	}
}

// TestTonesDifferInGrey: each is darker than the one before it.
func TestTonesDifferInGrey(t *testing.T) {
	for tone := drawing.White; tone < drawing.Ink; tone++ {
		if luminance(tone+1) >= luminance(tone) {
			t.Errorf("%s is not darker than %s", (tone + 1).Hex(), tone.Hex())
		}
	}
}

func TestHexAndRGBAgree(t *testing.T) {
	for tone := drawing.White; tone <= drawing.Ink; tone++ {
		r, g, b := tone.RGB()
		if got := fmt.Sprintf("#%02x%02x%02x", r, g, b); got != tone.Hex() {
			t.Errorf("%s and %s", got, tone.Hex())
		}
	}
	if r, g, b := drawing.None.RGB(); r+g+b != 0 || drawing.None.Hex() != "none" {
		t.Error("None is a colour")
	}
}
