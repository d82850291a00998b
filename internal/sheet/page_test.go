package sheet_test

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"graftclock/templates"
)

// element is what the tests want to know of one element of the page.
type element struct {
	tag  string
	attr map[string]string
	text string // all the text inside it
}

// parse reads the page and fails when an element is not closed.
func parse(t testing.TB, page string) []*element {
	t.Helper()
	reader := xml.NewDecoder(strings.NewReader(page))
	reader.Strict, reader.AutoClose, reader.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	var all, open []*element
	for {
		token, err := reader.Token()
		if errors.Is(err, io.EOF) && len(open) == 0 {
			return all
		}
		if err != nil {
			t.Fatal(err)
		}
		switch token := token.(type) {
		case xml.StartElement:
			e := &element{tag: token.Name.Local, attr: map[string]string{}}
			for _, a := range token.Attr {
				e.attr[a.Name.Local] = a.Value
			}
			all, open = append(all, e), append(open, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			for _, e := range open {
				e.text += string(token)
			}
		}
	}
}

// which returns the elements with a tag and, unless it is "", an attribute of
// that value.
func which(all []*element, tag, name, value string) []*element {
	var found []*element
	for _, e := range all {
		if e.tag == tag && (name == "" || e.attr[name] == value) {
			found = append(found, e)
		}
	}
	return found
}

func TestThePageIsATableWithHeads(t *testing.T) {
	all := parse(t, written(t, today().WriteHTML))
	const sectionsWithRows, rows, columnsOnPage = 2, 7, 8
	for _, want := range []struct {
		what, tag, name, value string
		n                      int
	}{
		{"language", "html", "lang", "en", 1},
		{"titles", "h1", "", "", 1},
		{"section heads", "h2", "", "", 3},
		{"tables", "table", "role", "table", sectionsWithRows},
		{"captions", "caption", "", "", sectionsWithRows},
		{"column heads", "th", "scope", "col", sectionsWithRows*(columnsOnPage+1) + 1}, // notes; tick in one
		{"row heads", "th", "scope", "row", rows},
		{"rows", "tr", "role", "row", rows + sectionsWithRows},
		{"boxes to tick, for visits only", "span", "class", "box", 6},
		{"said boxes", "span", "aria-label", "box to tick on paper", 6},
	} {
		if got := len(which(all, want.tag, want.name, want.value)); got != want.n {
			t.Errorf("%s: %d, want %d", want.what, got, want.n)
		}
	}
	for _, e := range which(all, "th", "scope", "row") {
		if !strings.HasPrefix(e.text, "Patient") {
			t.Errorf("a row goes by %q", e.text)
		}
	}
	roles := map[string]string{"table": "table", "thead": "rowgroup", "tbody": "rowgroup", "tr": "row", "td": "cell"}
	ids := map[string]bool{}
	for _, e := range all {
		if want := roles[e.tag]; want != e.attr["role"] && want != "" {
			t.Errorf("<%s role=%q>: without its role it is no table when a narrow screen shows it as blocks", e.tag, e.attr["role"])
		}
		ids[e.attr["id"]] = true
	}
	for _, e := range which(all, "section", "", "") {
		if !ids[e.attr["aria-labelledby"]] {
			t.Errorf("section is named by %q, which is not there", e.attr["aria-labelledby"])
		}
	}
}

func TestThePageSaysWhatTheSheetSays(t *testing.T) {
	page := written(t, today().WriteHTML)
	all := parse(t, page)
	if title := which(all, "title", "", "")[0].text; title != "Today, Thursday 14 January 2027, Harbour Row" {
		t.Errorf("title %q", title)
	}
	body := which(all, "body", "", "")[0].text
	for _, words := range []string{"Thursday 14 January 2027", "Nobody waits for a call today.", "not confirmed, two messages left", "+353 1 555 0100", "The clinician decides."} {
		if !strings.Contains(body, words) {
			t.Errorf("the page does not say %q", words)
		}
	}
	if strings.Contains(page, "fenwick-01") {
		t.Error("a column that is not for the page is on it")
	}
}

func TestWordsOfOthersStayWords(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		hostile := rapid.SampledFrom([]string{`</style><script>x()</script>`, `"; } body { display: none } x { content: "`, `url(http://x)`, `javascript:x()`, `<img src=x onerror=x()>`, `\`, "\n}", `--><b>`, `{{.}}`, "\u202e"})
		s := today()
		s.Title, s.Clinic, s.Caution = hostile.Draw(rt, "title")+"1", hostile.Draw(rt, "clinic")+"2", hostile.Draw(rt, "caution")+"3"
		s.Columns[3].Head, s.Sections[0].Name, s.Sections[1].Empty = hostile.Draw(rt, "head"), hostile.Draw(rt, "section"), hostile.Draw(rt, "empty")
		s.Sections[0].Rows[0][1] = hostile.Draw(rt, "cell")
		page := written(t, s.WriteHTML)
		if strings.Contains(page, "ZgotmplZ") {
			rt.Fatal("the layout puts words where it cannot escape them")
		}
		all := parse(t, page)
		for _, tag := range []string{"script", "img", "b", "link", "iframe"} {
			if len(which(all, tag, "", "")) > 0 {
				rt.Fatalf("there is a <%s>", tag)
			}
		}
		style := which(all, "style", "", "")
		if len(style) != 1 || strings.Count(style[0].text, "{") != strings.Count(style[0].text, "}") || strings.Contains(style[0].text, "display: none }") {
			rt.Fatal("words got into the style")
		}
	})
}

func TestThePageNeedsNothingFromOutside(t *testing.T) {
	page := written(t, today().WriteHTML)
	for _, outside := range []string{"http:", "https:", "src=", "href=", "url(", "@import", "<script", "<link", " style="} {
		if strings.Contains(page, outside) {
			t.Errorf("the page holds %q", outside)
		}
	}
}

func TestManyColumnsLieOnTheirSide(t *testing.T) {
	if page := written(t, today().WriteHTML); !strings.Contains(page, "size: A4 landscape;") {
		t.Error("eight columns stand upright")
	}
	if page := written(t, sheetOf("Calls", []string{"Nora", "+353 1 555 0100"}).WriteHTML); !strings.Contains(page, "size: A4;") {
		t.Error("two columns lie on their side")
	}
}

func TestColumnsShareTheWidth(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := sheetOf("Calls", []string{nasty().Draw(rt, "patient"), nasty().Draw(rt, "note")})
		sum := 0.0
		for _, found := range regexp.MustCompile(`\{ width: ([0-9.]+)%; \}`).FindAllStringSubmatch(written(t, s.WriteHTML), -1) {
			percent, _ := strconv.ParseFloat(found[1], 64)
			sum += percent
		}
		if math.Abs(sum-100) > 0.2 {
			rt.Fatalf("the columns take %g %% of the width", sum)
		}
	})
}

func TestFiguresThatBelongTogetherStayTogether(t *testing.T) {
	for _, test := range []struct{ name, cell, want string }{
		{"telephone number", "call +353 1 555 0100 now", "call [+353 1 555 0100] now"},
		{"local number", "01 555 0100", "[01 555 0100]"},
		{"day with weekday", "moved from Tue 2027-01-12", "moved from [Tue 2027-01-12]"},
		{"span of time", "10:00-10:20, 2027-01-12", "[10:00-10:20], [2027-01-12]"},
		{"no figures", "Nora Fenwick", "Nora Fenwick"},
	} {
		all := parse(t, strings.NewReplacer(`<span class="whole">`, "[").Replace(
			regexp.MustCompile(`(<span class="whole">[^<]*)</span>`).ReplaceAllString(written(t, sheetOf("Calls", []string{"x", test.cell}).WriteHTML), "$1]")))
		found := which(all, "td", "role", "cell")[0].text
		if found != "Note"+test.want {
			t.Errorf("%s: %q, want %q", test.name, found, test.want)
		}
	}
}

// TestContrastOnWhite holds the style to WCAG 2.2, 1.4.6: text at least 7:1.
func TestContrastOnWhite(t *testing.T) {
	style, err := templates.Files.ReadFile("desk/style.css")
	if err != nil {
		t.Fatal(err)
	}
	colours := map[string]string{}
	for _, found := range regexp.MustCompile(`--(\w+): #([0-9a-f]{6});`).FindAllStringSubmatch(string(style), -1) {
		colours[found[1]] = found[2]
	}
	for _, name := range []string{"ink", "accent"} {
		if ratio := 1.05 / (luminance(t, colours[name]) + 0.05); ratio < 7 {
			t.Errorf("%s #%s has %.1f:1 on white", name, colours[name], ratio)
		}
	}
	for _, used := range regexp.MustCompile(`[ {]color: ([^;]+);`).FindAllStringSubmatch(string(style), -1) {
		if used[1] != "var(--ink)" && used[1] != "var(--accent)" && used[1] != "#"+colours["ink"] {
			t.Errorf("text in %s", used[1])
		}
	}
}

// luminance is the relative luminance of an sRGB colour as WCAG defines it.
func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	value, err := strconv.ParseUint(hex, 16, 32)
	if err != nil {
		t.Fatal(err)
	}
	channel := func(shift uint) float64 {
		c := float64(value>>shift&0xff) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	return 0.2126*channel(16) + 0.7152*channel(8) + 0.0722*channel(0)
}
