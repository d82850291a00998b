package web_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"graftclock/internal/drawing"
)

// Where a drawing is narrowest: a page of 320 pixels without its margins (WCAG 2.2,
// 1.4.10), and the least size of a word there.
const (
	narrowestPixels = 289.0
	leastPixels     = 12.0
)

// written is one row of words of a drawing with the room that it takes at most, in mm.
type written struct {
	text                     string
	left, top, right, bottom float64
}

func (w written) meets(o written) bool {
	const touch = 1e-6
	return w.left+touch < o.right && o.left+touch < w.right && w.top+touch < o.bottom && o.top+touch < w.bottom
}

func mm(t testing.TB, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// axisWords reads the drawing of a case's page: its size and its words.
func axisWords(t testing.TB, page string) (width, height float64, all []written) {
	t.Helper()
	const ascent, descent = 0.76, 0.24 // of type, as shares of its size
	for _, e := range elements(t, page) {
		switch e.tag {
		case "svg":
			var x, y float64
			if _, err := fmt.Sscan(e.attr["viewBox"], &x, &y, &width, &height); err != nil || x != 0 || y != 0 {
				t.Fatalf("viewBox %q: %v", e.attr["viewBox"], err)
			}
		case "text":
			size, text := mm(t, e.attr["font-size"]), strings.TrimSpace(e.text)
			long := drawing.TextWidth(text, size, e.attr["font-weight"] == "700")
			w := written{text, mm(t, e.attr["x"]), mm(t, e.attr["y"]) - ascent*size, 0, mm(t, e.attr["y"]) + descent*size}
			if e.attr["text-anchor"] == "end" {
				w.left -= long
			}
			w.right = w.left + long
			if size/width*narrowestPixels < leastPixels {
				t.Errorf("%q is written in %.1f pixels on a narrow page", text, size/width*narrowestPixels)
			}
			all = append(all, w)
		}
	}
	return width, height, all
}

// wantReadableAxis wants every word of the drawing inside it, whole and free of others,
// in the widest common typeface, and large enough for a phone.
func wantReadableAxis(t testing.TB, page string) {
	t.Helper()
	width, height, all := axisWords(t, page)
	if len(all) == 0 {
		t.Error("the drawing has no words")
	}
	for n, w := range all {
		if w.left < 0 || w.top < 0 || w.right > width || w.bottom > height {
			t.Errorf("%q leaves the drawing of %.1f x %.1f: %.1f to %.1f, %.1f to %.1f", w.text, width, height, w.left, w.right, w.top, w.bottom)
		}
		if strings.Contains(w.text, "…") {
			t.Errorf("%q is cut", w.text)
		}
		for _, o := range all[:n] {
			if w.meets(o) {
				t.Errorf("%q lies over %q", w.text, o.text)
			}
		}
	}
}

// TestTheAxisCanBeRead looks at the drawing of every demo case, from before the surgery
// until long after it.
func TestTheAxisCanBeRead(t *testing.T) {
	for _, at := range []string{"2027-01-04 08:30", "2027-02-08 08:30", "2027-08-09 08:30", "2029-05-07 08:30"} {
		s := serve(t, at)
		b := s.as(front)
		for _, name := range []string{"fenwick", "doyle", "lindqvist", "marsh", "okafor", "petrov"} {
			id := s.admit(name)
			got := b.get("/case/" + string(id))
			if got.status != 200 {
				t.Fatalf("%s: %d", name, got.status)
			}
			wantReadableAxis(t, got.body)
			if t.Failed() {
				t.Fatalf("%s on %s", name, at)
			}
		}
	}
}

// TestLongNamesStandWholeInTheAxis has closures with names that no row can hold.
func TestLongNamesStandWholeInTheAxis(t *testing.T) {
	s := serve(t, "2027-01-26 08:30")
	s.admit("fenwick")
	names := []string{"Refurbishment of both surgeries and of the waiting room", strings.Repeat("W", 60), "Ärztekammer <b>&amp;</b> \"Umbau\""}
	runs := "closures: ["
	for n, name := range names {
		runs += fmt.Sprintf("{from: 2027-%02d-07, to: 2027-%02d-19, name: %q}, ", 4+n, 4+n, name)
	}
	text := strings.Replace(s.clinicText(), "closures: [", runs, 1)
	if err := os.WriteFile(filepath.Join(s.folder, "clinic.yaml"), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	got := s.as(front).get("/case/HR-2041")
	wantReadableAxis(t, got.body)
	_, _, all := axisWords(t, got.body)
	var rows []string
	for _, w := range all {
		rows = append(rows, w.text)
	}
	for _, name := range names {
		if !strings.Contains(strings.ReplaceAll(strings.Join(rows, ""), " ", ""), strings.ReplaceAll(name, " ", "")) {
			t.Errorf("the drawing does not say %q: %q", name, rows)
		}
	}
}
