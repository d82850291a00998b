package report

import (
	"encoding/xml"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"graftclock/internal/drawing"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
)

// printedMM is how far a coordinate of a drawing's text may be off on the sheet: it
// has four decimals.
const printedMM = 0.51e-4

// tester is a test, or a run of one with random values.
type tester interface {
	Helper()
	Errorf(string, ...any)
	Fatal(...any)
	Fatalf(string, ...any)
}

// picture is a drawing as read back from its SVG.
type picture struct {
	WidthMM, HeightMM float64
	title, says       string
	paths             map[string]shape // by name
	labels            []drawing.Label
}

// shape is a path as read back.
type shape struct {
	points         []drawing.Point
	closed, broken bool
}

type element struct {
	XMLName  xml.Name
	ID       string    `xml:"id,attr"`
	Data     string    `xml:"d,attr"`
	Dash     string    `xml:"stroke-dasharray,attr"`
	ViewBox  string    `xml:"viewBox,attr"`
	X        float64   `xml:"x,attr"`
	Y        float64   `xml:"y,attr"`
	Size     float64   `xml:"font-size,attr"`
	Anchor   string    `xml:"text-anchor,attr"`
	Weight   string    `xml:"font-weight,attr"`
	Text     string    `xml:",chardata"`
	Children []element `xml:",any"`
}

// readSVG reads a drawing back from its own text.
func readSVG(t tester, d drawing.Drawing) picture {
	t.Helper()
	var svg element
	if err := xml.Unmarshal([]byte(d.SVG()), &svg); err != nil {
		t.Fatal(err)
	}
	p := picture{paths: map[string]shape{}}
	view := numbers(t, svg.ViewBox)
	p.WidthMM, p.HeightMM = view[2], view[3]
	for _, e := range svg.Children {
		switch e.XMLName.Local {
		case "title":
			p.title = e.Text
		case "desc":
			p.says = e.Text
		case "text":
			anchor := drawing.Anchor(max(0, slices.Index([]string{"start", "middle", "end"}, e.Anchor)))
			p.labels = append(p.labels, drawing.Label{At: drawing.Point{X: e.X, Y: e.Y}, Text: e.Text, SizeMM: e.Size, Anchor: anchor, Bold: e.Weight != ""})
		case "path":
			name, ours := strings.CutPrefix(e.ID, d.ID+"-")
			if !ours && e.ID != "" {
				t.Errorf("the id %q does not begin with the drawing's, %q", e.ID, d.ID)
			}
			if _, twice := p.paths[name]; twice && name != "" {
				t.Errorf("two paths are named %q", name)
			}
			p.paths[name] = shape{pointsOf(t, e.Data), strings.HasSuffix(e.Data, "Z"), e.Dash != ""}
		}
	}
	return p
}

func numbers(t tester, text string) []float64 {
	t.Helper()
	var all []float64
	for _, field := range strings.Fields(text) {
		v, err := strconv.ParseFloat(field, 64)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, v)
	}
	return all
}

func pointsOf(t tester, data string) []drawing.Point {
	t.Helper()
	all := numbers(t, strings.NewReplacer("M", "", "L", "", "Z", "").Replace(data))
	var points []drawing.Point
	for k := 0; k+1 < len(all); k += 2 {
		points = append(points, drawing.Point{X: all[k], Y: all[k+1]})
	}
	return points
}

// pieces are the paths of a name, as crossSection numbers them.
func (p picture) pieces(name string) []shape {
	var all []shape
	for n := 1; ; n++ {
		s, there := p.paths[piece(name, n)]
		if !there {
			return all
		}
		all = append(all, s)
	}
}

// path is the one path of a name.
func (p picture) path(t tester, name string) shape {
	t.Helper()
	s, there := p.paths[name]
	if !there {
		t.Fatalf("no path is named %q", name)
	}
	return s
}

// tidy checks that no label is cut off at an edge or written over another, and that
// title and words are there.
func (p picture) tidy(t tester, name string) {
	t.Helper()
	var boxes []box
	for _, l := range p.labels {
		b := boxOf(l)
		if b.left < 0 || b.top < 0 || b.right > p.WidthMM || b.bottom > p.HeightMM {
			t.Errorf("%s: %q at %+v is cut off: the drawing is %v x %v", name, l.Text, b, p.WidthMM, p.HeightMM)
		}
		if k := slices.IndexFunc(boxes, b.meets); k >= 0 {
			t.Errorf("%s: %q is written over %q", name, l.Text, p.labels[k].Text)
		}
		boxes = append(boxes, b)
	}
	if p.title == "" || p.says == "" {
		t.Errorf("%s: title %q, words %q", name, p.title, p.says)
	}
	for n, s := range p.paths {
		for _, at := range s.points {
			if at.X < 0 || at.Y < 0 || at.X > p.WidthMM || at.Y > p.HeightMM {
				t.Errorf("%s: %q leaves the drawing at %v", name, n, at)
				break
			}
		}
	}
}

func ptr[T any](v T) *T { return &v }

// drawSite is a random site as a record may have it.
func drawSite(t *rapid.T) protocol.Site {
	mm := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
	maybe := func(name string) bool { return rapid.Bool().Draw(t, name) }
	s := graft.Sinus{Side: graft.Left, Outcome: graft.Completed, Approach: graft.Transcrestal}
	for _, level := range rapid.SliceOfNDistinct(rapid.IntRange(0, 15), 1, 3, rapid.ID[int]).Draw(t, "levels") {
		s.Widths = append(s.Widths, graft.Width{MM: mm("width", 5, 28), AboveFloorMM: ptr(float64(level))})
	}
	if maybe("lateral") {
		s.Approach = graft.LateralWindow
		if from := mm("from", -12, 8); maybe("measured") {
			s.Window = &graft.AccessWindow{FromMM: from, ToMM: from + mm("long", 4, 20), LowerEdgeMM: mm("edge", 0, 5), HeightMM: mm("high", 3, 10), LidIsRepositioned: maybe("lid")}
		}
	}
	for range rapid.IntRange(0, 2).Draw(t, "septa") {
		s.Septa = append(s.Septa, graft.Septum{AtMM: mm("septum", -10, 10), HeightMM: mm("tall", 0.5, 10)})
	}
	if maybe("front wall") {
		s.FrontWallAtMM = ptr(mm("front", -12, -2))
	}
	if maybe("topped") {
		s.Graft.HeightMM = mm("top", 4, 18)
	}
	s.Graft.Additive = rapid.SampledFrom([]graft.Additive{graft.NoAdditive, graft.RhPDGF}).Draw(t, "additive")
	s.Implants = []graft.Implant{{
		Tooth: 26, AtMM: ptr(mm("at", -3, 3)), OffMidlineMM: mm("off", -3, 3), ResidualMM: mm("residual", 0, 12),
		LengthMM: mm("length", 6, 16), DiameterMM: mm("diameter", 3, 6), Placed: graft.WithTheGraft, Closure: graft.Submerged, MidlineRecorded: maybe("axis"),
	}}
	sites, err := protocol.Sites(graft.Case{Sinuses: []graft.Sinus{s}}, protocol.Default())
	if err != nil {
		t.Fatal(err)
	}
	return sites[0]
}

// everySite runs a check on the sites of all samples, and on random ones.
func everySite(t *testing.T, check func(t tester, name string, s protocol.Site)) {
	t.Helper()
	for _, sample := range samples(t) {
		for _, s := range sample.sites {
			check(t, fmt.Sprintf("%s, implant %d", sample.name, s.Implant.Tooth), s)
		}
	}
	t.Run("random", func(t *testing.T) {
		rapid.Check(t, func(t *rapid.T) { check(t, "random", drawSite(t)) })
	})
}
