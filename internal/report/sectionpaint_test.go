package report

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"graftclock/internal/casefile"
	"graftclock/internal/drawing"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
	"graftclock/internal/reference"
)

// sample is a set of sites to draw, with a name.
type sample struct {
	name  string
	sites []protocol.Site
}

// samples are the demo cases, and the same altered to what else a record may say.
func samples(t testing.TB) []sample {
	t.Helper()
	widths := func(low, high float64) func(*graft.Case) {
		return func(c *graft.Case) { c.Sinuses[0].Widths[0].MM, c.Sinuses[0].Widths[1].MM = low, high }
	}
	var list []sample
	for _, of := range []struct {
		name, file string
		change     func(*graft.Case)
	}{
		{"fenwick", "fenwick", nil},
		{"lindqvist", "lindqvist", nil},
		{"marsh", "marsh", nil},
		{"okafor", "okafor", nil},
		{"petrov", "petrov", nil},
		{"doyle", "doyle", nil},
		{"narrow", "okafor", widths(7, 9)},
		{"wide", "okafor", widths(18, 24)},
		{"no-window", "okafor", func(c *graft.Case) { c.Sinuses[0].Approach, c.Sinuses[0].Window = graft.Transcrestal, nil }},
		{"offset", "okafor", func(c *graft.Case) { c.Sinuses[0].Implants[0].OffMidlineMM = -2.5 }},
		{"no-axis", "okafor", func(c *graft.Case) { c.Sinuses[0].Implants[0].MidlineRecorded = false }},
		{"nothing", "marsh", func(c *graft.Case) { c.Sinuses[0].Implants[0].ResidualMM = 9 }},
		{"low-graft", "okafor", func(c *graft.Case) { c.Sinuses[0].Graft.HeightMM = 7 }},
		{"septum", "fenwick", func(c *graft.Case) {
			c.Sinuses[0].Septa = []graft.Septum{{AtMM: 17, HeightMM: 4}, {AtMM: 12, HeightMM: 5}}
		}},
	} {
		list = append(list, sample{of.name, sitesOf(t, of.file, of.change)})
	}
	list = append(list, sample{"four-fifths", sitesOf(t, "okafor", nil)})
	site := &list[len(list)-1].sites[0]
	site.Share = 0.8 // a clinic may ask for less
	site.Clock.ToShare = site.Months(site.Bone.MonthsTo(site.Share, site.RateMMPerMonth))
	site.GateMonths = site.Clock.ToShare
	return list
}

// sitesOf are the sites of a demo case, changed if need be: none of a lift that was
// given up.
func sitesOf(t testing.TB, file string, change func(*graft.Case)) []protocol.Site {
	t.Helper()
	name := filepath.Join(reference.Root(), "testdata/demo", file+".yaml")
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	c, faults := casefile.ReadCase(name, text)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if change != nil {
		change(&c.Case)
	}
	sites, err := protocol.Sites(c.Case, protocol.Default())
	if err != nil {
		t.Fatal(err)
	}
	return sites
}

// drawingsOf are all drawings of a sample, with distinct ids.
func drawingsOf(s sample) []drawing.Drawing {
	if len(s.sites) == 0 {
		return nil
	}
	var all []drawing.Drawing
	for n, site := range s.sites {
		all = append(all, crossSection(site, fmt.Sprintf("section-%s-%d", s.name, n)), curve(site, fmt.Sprintf("curve-%s-%d", s.name, n)))
	}
	return append(all, bandBar(s.sites, "band-"+s.name))
}

// TestPaint writes every drawing of the samples as a page into the directory that
// GRAFTCLOCK_DRAWINGS names, for somebody to look at.
func TestPaint(t *testing.T) {
	folder := os.Getenv("GRAFTCLOCK_DRAWINGS")
	if folder == "" {
		t.Skip("GRAFTCLOCK_DRAWINGS names no directory")
	}
	for _, s := range samples(t) {
		var page strings.Builder
		page.WriteString(`<!doctype html><meta charset="utf-8"><style>body{margin:4mm;font-family:"DejaVu Sans";width:184mm}svg{vertical-align:top}</style>`)
		for _, d := range drawingsOf(s) {
			page.WriteString(string(d.SVG()) + "\n")
		}
		if err := os.WriteFile(filepath.Join(folder, s.name+".html"), []byte(page.String()), 0o600); err != nil {
			t.Fatal(err)
		}
	}
}
