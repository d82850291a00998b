package casefile_test

import (
	"bytes"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"go.yaml.in/yaml/v3"
	"pgregory.net/rapid"

	"graftclock/internal/casefile"
)

// canonicalFenwick is testdata/case.yaml in its canonical form.
const canonicalFenwick = `record: 1
case: HR-2041
patient:
  name: Nora Fenwick
  language: en
  print: normal
  calendar_detail: neutral
  unavailable: [2027-07-05..2027-07-16]
  flags: [smoker]
  phone: "+353 1 555 0141"
  mail:
    address: nora.fenwick@example.org
    agreed: 2027-01-12
    letter: true
surgery:
  day: 2027-01-14
  surgeon: Dr Alba Quill
  sutures: removable
sinuses:
  - side: right
    health: clear
    approach: lateral window
    outcome: completed
    perforation: none
    widths:
      - {mm: 12.5, above_floor_mm: 4}
      - {mm: 14, above_floor_mm: 9}
    window:
      from_mm: 5
      to_mm: 14
      lower_edge_above_floor_mm: 3
      height_mm: 7
      lid: removed
    anterior_wall_at_mm: 0
    septa:
      - {at_mm: 22, height_mm: 4}
    graft:
      material: xenograft
      additive: none
      height_mm: 13
    implants:
      - tooth: 16
        at_mm: 9.5
        off_midline_mm: 0
        residual_bone_mm: 4
        length_mm: 10
        diameter_mm: 4.1
        placed: with the graft
        insertion_torque_ncm: 30
        closure: submerged
        loading: protected
        restoration: right bridge
      - tooth: 17
        at_mm: 17
        off_midline_mm: 1
        residual_bone_mm: 2.5
        length_mm: 10
        diameter_mm: 4.8
        placed: with the graft
        insertion_torque_ncm: 20
        closure: submerged
        loading: protected
        restoration: right bridge
`

// canonical returns a record without fault in its canonical form.
func canonical(t testing.TB, data []byte) []byte {
	t.Helper()
	text, _, faults := casefile.Canonical("case", data)
	if len(faults) > 0 {
		t.Fatalf("%v\n%s", faults, data)
	}
	return text
}

func TestCanonicalFormOfARecord(t *testing.T) {
	text, c, faults := casefile.Canonical("HR-2041", []byte(example(t, "case.yaml")))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if diff := cmp.Diff(canonicalFenwick, string(text)); diff != "" {
		t.Errorf("text (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(fenwick(t), c.Case, sameDay); diff != "" {
		t.Errorf("case (-want +got):\n%s", diff)
	}
	if got := c.Lines["sinuses[0].implants[1].at_mm"]; c.File != "HR-2041" || got != 54 {
		t.Errorf("at_mm of the second implant: line %d of %s, want line 54 of the canonical text", got, c.File)
	}
}

func TestFaultyRecordHasNoCanonicalForm(t *testing.T) {
	valid := example(t, "case.yaml")
	for _, s := range recordSpoils {
		data := spoilt(t, valid, s)
		_, want := casefile.ReadCase("case", data)
		text, _, got := casefile.Canonical("case", data)
		if diff := cmp.Diff(want, got); diff != "" || text != nil {
			t.Errorf("%s: text %q, faults (-read +canonical):\n%s", s.name, text, diff)
		}
	}
}

// TestWriteHidesNoFault writes every spoilt record and wants the text refused in
// the words that the form is refused in.
func TestWriteHidesNoFault(t *testing.T) {
	valid := example(t, "case.yaml")
	for _, s := range recordSpoils {
		form := decoded(t, spoilt(t, valid, s), inWords)
		_, want := casefile.CaseOf("case", form)
		for i, f := range want {
			want[i].Found = strings.Replace(f.Found, "1.0 mm", "1 mm", 1) // in its shortest digits
		}
		_, got := casefile.ReadCase("case", casefile.Write(form))
		if diff := cmp.Diff(withoutPlaces(want), withoutPlaces(got)); diff != "" {
			t.Errorf("%s: faults (-form +written):\n%s", s.name, diff)
		}
	}
}

// oddValues are what somebody may enter anywhere, right or wrong.
var oddValues = []any{
	"", " ", "  x  ", "x", "null", "~", "true", "TRUE", "yes", "no", "16", "017", "1e3", "0x1F", "0o17", "1_000", "+5", "-0", ".5", "5.", "1,5", "12.50",
	"10.000000000000000001", "1e400", "99999999999999999999", "NaN", ".inf", "2027-01-14", "2027-1-4", "2027-02-30", "2027-07-05..2027-07-16", "a\nb", "a\r\nb", "a\tb",
	"\x00", "\u0085", "\u2028", "\u202e", "\ufeff", "\xff", "#x", "- a", "x: y", "[1]", "{a: 1}", "&a b", "*a", "!!int 5", "'", "\"", "---", strings.Repeat("x", 500),
	16.0, 0.1, -1.0, 1e21, true, false, nil, []any{}, []any{""}, []any{"smoker"}, []any{nil}, []any{[]any{}}, map[string]any{}, map[string]any{"x": "y"}, map[string]any{"": 1.0},
}

// TestNoValueLosesItsFaultByWriting puts every odd value in the place of every value of a
// record, and under a key that is none: the text is at fault where the record is.
func TestNoValueLosesItsFaultByWriting(t *testing.T) {
	tried, faulty := 0, 0
	withFindings := variants(t)[1]
	form := decoded(t, withFindings, inWords).(map[string]any)
	everyPlace(form, func(put func(any)) {
		for _, odd := range oddValues {
			put(odd)
			_, entered := casefile.CaseOf("case", form)
			text := casefile.Write(form)
			if _, written := casefile.ReadCase("case", text); len(entered) > 0 != (len(written) > 0) {
				t.Errorf("%#v: faults as entered %v, as written %v\n%s", odd, entered, written, text)
			}
			tried++
			faulty += min(1, len(entered))
		}
	})
	if tried < 4000 || faulty < tried/2 || faulty == tried {
		t.Errorf("%d of %d records were faulty: too few to tell", faulty, tried)
	}
}

// everyPlace visits every value below a map or a list, each with what puts another one in
// its place; afterwards it is as it was.
func everyPlace(at any, visit func(put func(any))) {
	switch v := at.(type) {
	case map[string]any:
		visit(func(odd any) { v["odd key"] = odd })
		delete(v, "odd key")
		for key, was := range maps.Clone(v) {
			visit(func(odd any) { v[key] = odd })
			v[key] = was
			everyPlace(was, visit)
		}
	case []any:
		for n, was := range v {
			visit(func(odd any) { v[n] = odd })
			v[n] = was
			everyPlace(was, visit)
		}
	}
}

// variants are records of one form or another; each has but one meaning.
func variants(t testing.TB) [][]byte {
	valid := example(t, "case.yaml")
	list := [][]byte{[]byte(valid), []byte(strings.Replace(valid, "findings: []", `findings:
  - {day: 2027-02-13, what: perforation, size_mm: 4.50, repaired: FALSE}
  - {what: image, day: 2027-07-01, result: unclear, side: right, shows: "a shadow: 'at' 16 # or so"}
  - {day: 2027-07-20, what: stability, tooth: 16, isq: 71}
  - {day: 2027-08-02, what: attended, step: uncovering, for: right bridge}`, 1))}
	files, err := filepath.Glob("../../testdata/demo/*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range files {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(data, []byte("\nrecord: 1")) {
			list = append(list, data)
		}
	}
	if len(list) < 7 {
		t.Fatalf("%d records found", len(list))
	}
	return list
}

// TestRecordsThatSayTheSameHaveOneForm writes a record in many ways: keys in any
// order, comments, quotation marks, flow and block style, line ends, numbers with
// more noughts than they need.
func TestRecordsThatSayTheSameHaveOneForm(t *testing.T) {
	all := variants(t)
	rapid.Check(t, func(rt *rapid.T) {
		data := all[rapid.IntRange(0, len(all)-1).Draw(rt, "record")]
		want := canonical(t, data)
		var doc yaml.Node
		if err := yaml.Unmarshal(data, &doc); err != nil {
			rt.Fatal(err)
		}
		shuffle(rt, &doc)
		restyle(rt, &doc)
		other, err := yaml.Marshal(&doc)
		if err != nil {
			rt.Fatal(err)
		}
		if rapid.Bool().Draw(rt, "CRLF") {
			other = bytes.ReplaceAll(other, []byte("\n"), []byte("\r\n"))
		}
		got, _, faults := casefile.Canonical("case", other)
		if diff := cmp.Diff(string(want), string(got)); diff != "" || len(faults) > 0 {
			rt.Errorf("%v\n(-want +got):\n%s\n%s", faults, diff, other)
		}
	})
}

// restyle writes the same values in other ways.
func restyle(rt *rapid.T, n *yaml.Node) {
	for _, c := range n.Content {
		restyle(rt, c)
	}
	n.HeadComment, n.LineComment, n.FootComment = rapid.SampledFrom([]string{"", "# new"}).Draw(rt, "comment"), "", ""
	tag := n.ShortTag()
	n.Tag = ""
	switch {
	case n.Kind == yaml.MappingNode || n.Kind == yaml.SequenceNode:
		n.Style, n.HeadComment = rapid.SampledFrom([]yaml.Style{0, yaml.FlowStyle}).Draw(rt, "style"), ""
	case tag == "!!str" || tag == "!!timestamp":
		n.Style = rapid.SampledFrom([]yaml.Style{0, yaml.DoubleQuotedStyle, yaml.SingleQuotedStyle}).Draw(rt, "quotes")
	case tag == "!!float" && strings.Contains(n.Value, "."):
		n.Value += rapid.SampledFrom([]string{"", "0", "00"}).Draw(rt, "noughts")
	case tag == "!!int" && !strings.HasPrefix(n.Value, "-"):
		n.Value += rapid.SampledFrom([]string{"", ".0", ".00"}).Draw(rt, "noughts")
	}
	if n.Style&yaml.FlowStyle != 0 {
		strip(n)
	}
}

// strip takes the comments out of a value in flow style, which cannot hold them.
func strip(n *yaml.Node) {
	n.HeadComment, n.LineComment, n.FootComment = "", "", ""
	for _, c := range n.Content {
		strip(c)
	}
}

// TestWritingKeepsTheCaseAndIsDoneOnce draws records with names, numbers and
// findings of every kind, writes them, and reads them back.
func TestWritingKeepsTheCaseAndIsDoneOnce(t *testing.T) {
	valid := decoded(t, []byte(example(t, "case.yaml")), inWords)
	rapid.Check(t, func(rt *rapid.T) {
		form := copied(valid).(map[string]any)
		name := rapid.OneOf(rapid.StringMatching(`[-0-9a-fxoyn.:, #'"\\_+T?~!&*{}\[\]|>%@]{1,12}`), rapid.SampledFrom(trickyNames), rapid.String())
		form["case"] = name.Draw(rt, "case")
		form["patient"].(map[string]any)["name"] = name.Draw(rt, "name")
		sinus := form["sinuses"].([]any)[0].(map[string]any)
		sinus["graft"].(map[string]any)["height_mm"] = rapid.Float64Range(1, 30).Draw(rt, "height")
		for _, i := range sinus["implants"].([]any) {
			i.(map[string]any)["restoration"] = name.Draw(rt, "restoration")
		}
		form["findings"] = rapid.SliceOfN(finding(name), 0, 4).Draw(rt, "findings")
		want, faults := casefile.CaseOf("case", form)
		if len(faults) > 0 {
			rt.Skip("no record")
		}
		text := casefile.Write(form)
		got, faults := casefile.ReadCase("case", text)
		if diff := cmp.Diff(want.Case, got.Case, sameDay); diff != "" || len(faults) > 0 {
			rt.Fatalf("%v\ncase (-form +written):\n%s\n%s", faults, diff, text)
		}
		again, _, faults := casefile.Canonical("case", text)
		if diff := cmp.Diff(string(text), string(again)); diff != "" || len(faults) > 0 {
			rt.Errorf("%v\nwritten twice (-once +twice):\n%s", faults, diff)
		}
	})
}

var trickyNames = []string{"007", "a cyst?", "2027-01-14", "yes", "No", "null", "~", "1e3", "a: b", "a # b", "- x", "梅 🦷", "👩‍⚕️", `Jo "Jo" O'Brien`, `\`, " x ", "[a]", "4 mm"}

// finding draws a finding of any kind, as a form sends it.
func finding(text *rapid.Generator[string]) *rapid.Generator[any] {
	return rapid.Custom(func(rt *rapid.T) any {
		f := rapid.SampledFrom([]map[string]any{
			{"what": "stability", "tooth": "16", "isq": "071"[1:]},
			{"what": "infection"},
			{"what": "graft removed", "side": "right"},
			{"what": "perforation", "size_mm": "4.50", "repaired": "TRUE"},
			{"what": "image", "result": "not as expected", "side": "right"},
			{"what": "attended", "step": "recall", "which": "3 months"},
		}).Draw(rt, "kind")
		f = copied(f).(map[string]any)
		f["day"] = rapid.SampledFrom([]string{"2027-01-14", "2028-02-29"}).Draw(rt, "day")
		if f["what"] == "image" {
			f["shows"] = text.Draw(rt, "shows")
		}
		return f
	})
}

// copied returns a copy of maps, lists and scalars.
func copied(value any) any {
	switch v := value.(type) {
	case map[string]any:
		m := map[string]any{}
		for key, of := range v {
			m[key] = copied(of)
		}
		return m
	case []any:
		list := make([]any, len(v))
		for i, of := range v {
			list[i] = copied(of)
		}
		return list
	}
	return value
}

func BenchmarkCanonical(b *testing.B) {
	data := []byte(example(b, "case.yaml"))
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, _, faults := casefile.Canonical("case.yaml", data); len(faults) > 0 {
			b.Fatal(faults)
		}
	}
}
