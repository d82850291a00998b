package paper_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"graftclock/internal/drawing"
	"graftclock/internal/paper"
)

// structure is what poppler reads of the tags, line by line without what it adds of its
// own.
func structure(t testing.TB, pdf []byte) string {
	t.Helper()
	var out strings.Builder
	for line := range strings.Lines(read(t, pdf, "pdfinfo", "-struct-text", "FILE")) {
		line = strings.TrimRight(line, " \n")
		for _, ours := range []string{":", " (block)", " (inline)"} {
			line = strings.TrimSuffix(line, ours)
		}
		if name := strings.TrimSpace(line); name == "" || strings.HasPrefix(name, "Object ") || strings.HasPrefix(name, "/BBox ") {
			continue
		}
		out.WriteString(line + "\n")
	}
	return out.String()
}

// TestReadingOrderIsTheOrderOfTheCalls, also side by side and in columns, and the tags
// are those of ISO 32000-1, 14.8.4.
func TestReadingOrderIsTheOrderOfTheCalls(t *testing.T) {
	o := plainOptions()
	o.Head.Left = [][]paper.Run{{paper.Strong("Harbour Row")}}
	o.Head.Right = [][]paper.Run{{paper.Plain("Phone"), paper.Strong("999")}}
	o.Foot.Left = [][]paper.Run{{paper.Plain("foot")}}
	o.Watermark = "DRAFT"
	s := paper.New(o)
	s.Heading(1, "Title")
	s.Beside([]float64{1, 1}, func() {
		s.Boxed(paper.Box{Fill: drawing.Wash, BarMM: 2}, func() {
			s.Heading(2, "Left")
			s.Large("Large")
		})
	}, func() {
		s.Paragraph(paper.Plain("Call "), paper.Run{Text: "999", Bold: true, Link: "tel:999"}, paper.Plain(" now."))
	})
	s.List([]paper.Item{{Runs: []paper.Run{paper.Plain("one")}}, {Runs: []paper.Run{paper.Plain("two")}}, {Runs: []paper.Run{paper.Plain("three")}}, {Runs: []paper.Run{paper.Plain("four")}, Inside: paper.Items("inside")}}, 2)
	s.Table(paper.Table{Head: []string{"A", "B", "C"}, RowHeads: true, Rows: [][]paper.Cell{
		{paper.Text(paper.Plain("r1")), paper.Text(), paper.Text(paper.Plain("c1"))},
		{paper.Text(paper.Plain("r2")), {Runs: []paper.Run{paper.Plain("wide")}, Span: 2}},
	}})
	s.Draw(drawing.Drawing{ID: "d", Title: "Näme", Says: "It shows <a> line.", WidthMM: 20, HeightMM: 10, Shapes: []drawing.Shape{
		drawing.Path{Points: drawing.Straight(0, 5, 20, 5), Line: drawing.Line{Tone: drawing.Ink, WidthMM: 1}},
		drawing.Label{At: drawing.Point{X: 0, Y: 4}, Text: "label", SizeMM: 3},
	}}, 0)
	s.Draw(drawing.Drawing{ID: "ornament", WidthMM: 20, HeightMM: 1, Shapes: []drawing.Shape{drawing.Label{At: drawing.Point{X: 0, Y: 1}, Text: "unread", SizeMM: 3}}}, 0)
	s.Heading(3, "Third")
	want := `Document
  P
    "Harbour Row"
  P
    "Phone 999"
  H1
    "Title"
  H2
    "Left"
  P
    "Large"
  P
    "Call "
    Link
      "999"
    " now."
  L
     /ListNumbering /Disc
    LI
      Lbl
        "• "
      LBody
        "one"
    LI
      Lbl
        "• "
      LBody
        "two"
    LI
      Lbl
        "• "
      LBody
        "three"
    LI
      Lbl
        "• "
      LBody
        "four"
        L
           /ListNumbering /Disc
          LI
            Lbl
              "• "
            LBody
              "inside"
  Table
    TR
      TH
         /Scope /Column
        "A"
      TH
         /Scope /Column
        "B"
      TH
         /Scope /Column
        "C"
    TR
      TH
         /Scope /Row
        "r1"
      TD
      TD
        "c1"
    TR
      TH
         /Scope /Row
        "r2"
      TD
         /ColSpan 2
        "wide"
  Figure
     /Placement /Block
    "label "
  H3
    "Third"
`
	pdf := write(t, s)
	if got := structure(t, pdf); got != want {
		t.Errorf("%s", got)
	}
	var left, bottom, right, top float64
	_, bounds, _ := strings.Cut(read(t, pdf, "pdfinfo", "-struct-text", "FILE"), "/BBox ")
	fmt.Sscanf(bounds, "[%f %f %f %f]", &left, &bottom, &right, &top)
	if got := fmt.Sprintf("%.1f: %.1f x %.1f", left*drawing.MMPerPoint, (right-left)*drawing.MMPerPoint, (top-bottom)*drawing.MMPerPoint); got != "14.0: 20.0 x 10.0" {
		t.Errorf("the picture is at %s mm", got)
	}
	plain := read(t, pdf, "qpdf", "--qdf", "--object-streams=disable", "FILE", "-")
	for _, part := range []string{"/Lang (en-GB)", "/Marked true", "/DisplayDocTitle true", "/URI (tel:999)", "/Tabs /S", "/Alt <feff004e00e4006d0065002e0020"} {
		if !strings.Contains(plain, part) {
			t.Errorf("no %s", part)
		}
	}
}

// TestTableGoesOnAsOneTable over pages; its head is read once.
func TestTableGoesOnAsOneTable(t *testing.T) {
	s := paper.New(plainOptions())
	s.Table(paper.Table{Head: []string{"Name", "Said", "Empty"}, Rows: rows(40, 5), RowHeads: true})
	if s.Pages() < 3 {
		t.Fatal("too short")
	}
	got := structure(t, write(t, s))
	for tag, want := range map[string]int{"\n  Table\n": 1, "\n    TR\n": 41, "\n      TH\n": 3 + 40, "\n      TD\n": 80, `"Said"`: 1} {
		if n := strings.Count(got, tag); n != want {
			t.Errorf("%d of %q, and not %d", n, tag, want)
		}
	}
	at := 0
	for _, row := range rows(40, 5) {
		next := strings.Index(got[at:], `"`+row[0].Runs[0].Text+`"`)
		if next < 0 {
			t.Fatalf("%s is not behind the row before it", row[0].Runs[0].Text)
		}
		at += next
	}
}

// TestLinksLieOverTheirText on the first page, and those of a repeated head are none.
func TestLinksLieOverTheirText(t *testing.T) {
	s := letter(letterOptions())
	pdf := write(t, s)
	plain := read(t, pdf, "qpdf", "--qdf", "--object-streams=disable", "FILE", "-")
	if got := strings.Count(plain, "/Subtype /Link"); got != 4 {
		t.Errorf("%d links", got)
	}
	if got := strings.Count(structure(t, pdf), "Link\n"); got != 4 {
		t.Errorf("%d tags of links", got)
	}
}

// TestTagsAreFoundFromThePages: a reading program that starts with what is under its
// finger goes through the parent tree (ISO 32000-1, 14.7.4.4).
func TestTagsAreFoundFromThePages(t *testing.T) {
	objects := objectsOf(t, write(t, letter(letterOptions())))
	nums := map[int]any{}
	var pages []string
	for name, o := range objects {
		if all, is := o["/Nums"].([]any); is {
			for i := 0; i < len(all); i += 2 {
				nums[int(all[i].(float64))] = all[i+1]
			}
		}
		if o["/Type"] == "/Page" {
			pages = append(pages, name)
		}
	}
	holds := func(tag any, key string, value any, page string) bool {
		for _, kid := range objects[tag.(string)]["/K"].([]any) {
			if k, is := kid.(map[string]any); is && k["/Pg"] == page && k[key] == value {
				return true
			}
		}
		return false
	}
	stretches, links := 0, 0
	for _, name := range pages {
		page := objects[name]
		for number, tag := range nums[int(page["/StructParents"].(float64))].([]any) {
			stretches++
			if !holds(tag, "/MCID", float64(number), name) {
				t.Errorf("stretch %d of %s is not that of %v", number, name, tag)
			}
		}
		for _, link := range page["/Annots"].([]any) {
			links++
			if tag := nums[int(objects[link.(string)]["/StructParent"].(float64))]; !holds(tag, "/Obj", link, name) {
				t.Errorf("link %v is not that of %v", link, tag)
			}
		}
	}
	if len(pages) != 2 || stretches < 90 || links != 4 {
		t.Errorf("%d pages, %d stretches, %d links", len(pages), stretches, links)
	}
}

// objectsOf are the dictionaries of a document by their names, such as "12 0 R".
func objectsOf(t testing.TB, pdf []byte) map[string]map[string]any {
	t.Helper()
	var parts struct{ QPDF []json.RawMessage } // what is known of the file, and the objects
	var all map[string]struct{ Value any }
	if err := json.Unmarshal([]byte(read(t, pdf, "qpdf", "--json=2", "--json-key=qpdf", "FILE")), &parts); err != nil || len(parts.QPDF) != 2 {
		t.Fatalf("%d parts: %v", len(parts.QPDF), err)
	}
	if err := json.Unmarshal(parts.QPDF[1], &all); err != nil {
		t.Fatal(err)
	}
	objects := map[string]map[string]any{}
	for name, o := range all {
		if dictionary, is := o.Value.(map[string]any); is {
			objects[strings.TrimPrefix(name, "obj:")] = dictionary
		}
	}
	return objects
}
