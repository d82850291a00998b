package casefile_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/table"
)

func dayOf(t testing.TB, text string) day.Day {
	t.Helper()
	d, err := day.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// fenwick is what testdata/case.yaml says.
func fenwick(t testing.TB) graft.Case {
	at := func(mm float64) *float64 { return &mm }
	return graft.Case{
		ID: "HR-2041",
		Patient: graft.Patient{
			Name:           "Nora Fenwick",
			Language:       "en",
			CalendarDetail: graft.Neutral,
			Unavailable:    []day.Span{{From: dayOf(t, "2027-07-05"), To: dayOf(t, "2027-07-16")}},
			Flags:          []graft.Flag{graft.Smoker},
			Phone:          "+353 1 555 0141",
			Mail:           graft.Mail{Address: "nora.fenwick@example.org", Agreed: dayOf(t, "2027-01-12"), Letter: true},
		},
		Surgery: graft.Surgery{Day: dayOf(t, "2027-01-14"), Surgeon: "Dr Alba Quill"},
		Sinuses: []graft.Sinus{{
			Side:          graft.Right,
			Health:        graft.Clear,
			Approach:      graft.LateralWindow,
			Outcome:       graft.Completed,
			Widths:        []graft.Width{{MM: 12.5, AboveFloorMM: at(4)}, {MM: 14, AboveFloorMM: at(9)}},
			Window:        &graft.AccessWindow{FromMM: 5, ToMM: 14, LowerEdgeMM: 3, HeightMM: 7},
			FrontWallAtMM: at(0),
			Septa:         []graft.Septum{{AtMM: 22, HeightMM: 4}},
			Graft:         graft.Graft{Material: graft.Xenograft, Additive: graft.NoAdditive, HeightMM: 13},
			Implants: []graft.Implant{
				{
					Tooth: 16, AtMM: at(9.5), MidlineRecorded: true, ResidualMM: 4, LengthMM: 10, DiameterMM: 4.1,
					Placed: graft.WithTheGraft, Torque: at(30), Closure: graft.Submerged, Protected: true, Restoration: "right bridge",
				},
				{
					Tooth: 17, AtMM: at(17), OffMidlineMM: 1, MidlineRecorded: true, ResidualMM: 2.5, LengthMM: 10, DiameterMM: 4.8,
					Placed: graft.WithTheGraft, Torque: at(20), Closure: graft.Submerged, Protected: true, Restoration: "right bridge",
				},
			},
		}},
	}
}

var sameDay = cmp.Comparer(func(a, b day.Day) bool { return a == b })

func TestExampleRecordReadsWhole(t *testing.T) {
	c, faults := casefile.ReadCase("case.yaml", []byte(example(t, "case.yaml")))
	if len(faults) > 0 {
		t.Fatalf("faults:\n%v", faults)
	}
	if diff := cmp.Diff(fenwick(t), c.Case, sameDay); diff != "" {
		t.Errorf("case (-want +got):\n%s", diff)
	}
	for path, line := range map[string]int{
		"":                                  2,
		"surgery.day":                       14,
		"sinuses[0].widths[1].mm":           25,
		"sinuses[0].implants[1].tooth":      45,
		"sinuses[0].implants[1].torque":     45, // no such key: the implant's own line
		"sinuses[0].graft.material.nowhere": 30,
		"sinuses[7].side":                   18,
		"nowhere":                           2,
	} {
		if got := c.LineOf(path); got != line {
			t.Errorf("LineOf(%q) = %d, want %d", path, got, line)
		}
	}
}

// TestFormReadsAsTheFile reads the example as a form would send it, once with
// numbers as numbers and once with all scalars as text.
func TestFormReadsAsTheFile(t *testing.T) {
	data := []byte(example(t, "case.yaml"))
	for name, form := range map[string]any{"numbers": decoded(t, data, asJSON), "words": decoded(t, data, inWords)} {
		c, faults := casefile.CaseOf("the form", form)
		if len(faults) > 0 {
			t.Errorf("%s: faults:\n%v", name, faults)
		}
		if diff := cmp.Diff(fenwick(t), c.Case, sameDay); diff != "" {
			t.Errorf("%s: case (-want +got):\n%s", name, diff)
		}
		if line := c.LineOf("surgery.day"); line != 0 {
			t.Errorf("%s: line %d of a form, want 0", name, line)
		}
	}
}

func TestFaultyFormNamesThePlaceWithoutALine(t *testing.T) {
	for _, c := range []struct {
		name, desc string
		form       any
		want       string
	}{
		{"no form", "a form that was never sent", nil, "the form: no value; allowed: a map of record, case, patient, surgery, sinuses, findings"},
		{"text", "", "record", `the form: "record"; allowed: a map of record, case, patient, surgery, sinuses, findings`},
		{"list", "", []any{1}, "the form: a list; allowed: a map of record, case, patient, surgery, sinuses, findings"},
		{"not a form at all", "a Go value that no form makes", struct{}{}, `the form: "{}"; allowed: a map of record, case, patient, surgery, sinuses, findings`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, faults := casefile.CaseOf("the form", c.form); faults.Error() != c.want {
				t.Errorf("got  %v\nwant %s", faults, c.want)
			}
		})
	}
	form := decoded(t, []byte(example(t, "case.yaml")), inWords).(map[string]any)
	form["patient"].(map[string]any)["name"] = "Nora \xff Fenwick"
	if _, faults := casefile.CaseOf("the form", form); !strings.Contains(faults.Error(), "patient.name: bytes that are no UTF-8 text") {
		t.Errorf("bytes that are no text: got %v", faults)
	}
}

// TestOtherRecordsThatAreValid holds the reader to what it must let through: no
// check may be stricter than the format.
func TestOtherRecordsThatAreValid(t *testing.T) {
	valid := example(t, "case.yaml")
	const findings = "findings: []"
	wall, septa := spoil{from: "    anterior_wall_at_mm: 0 ", to: "    #"}, spoil{from: "    septa:", to: "    #"}
	measured := spoil{from: "    window: ", to: "    #"}
	oneImplant := spoil{from: valid[strings.Index(valid, "      - tooth: 17"):strings.Index(valid, findings)], to: ""}
	for _, c := range []struct {
		name, desc string
		changes    []spoil
		holds      func(graft.Case) bool
	}{
		{"aborted lift", "needs no graft, widths or implants",
			[]spoil{{from: "outcome: completed", to: "outcome: aborted"}, {from: valid[strings.Index(valid, "    widths:"):strings.Index(valid, findings)], to: ""}},
			func(c graft.Case) bool { return c.Sinuses[0].Outcome == graft.Aborted && c.Sinuses[0].Implants == nil }},
		{"staged", "no torque or loading before the implant is there",
			[]spoil{{from: "        placed: with the graft\n        insertion_torque_ncm: 20\n        closure: submerged\n        loading: protected\n", to: "        placed: later\n        closure: submerged\n"}},
			func(c graft.Case) bool {
				i := c.Sinuses[0].Implants[1]
				return i.Placed == graft.Later && i.Torque == nil
			}},
		{"surgery ahead", "the torque cannot be known",
			[]spoil{{from: "insertion_torque_ncm: 20", to: "insertion_torque_ncm: not yet"}},
			func(c graft.Case) bool { return c.Sinuses[0].Implants[1].Torque == nil }},
		{"torque of nought", "measured, not missing",
			[]spoil{{from: "insertion_torque_ncm: 20", to: "insertion_torque_ncm: 0"}},
			func(c graft.Case) bool { t := c.Sinuses[0].Implants[1].Torque; return t != nil && *t == 0 }},
		{"one implant alone", "nothing depends on its place along the arch",
			[]spoil{oneImplant, wall, septa, measured, {from: "        at_mm: 9.5 ", to: "        #"}},
			func(c graft.Case) bool { return c.Sinuses[0].Implants[0].AtMM == nil && c.Sinuses[0].Window == nil }},
		{"mid-line not recorded", "0 and not recorded differ",
			[]spoil{{from: "        off_midline_mm: 0 ", to: "        #"}},
			func(c graft.Case) bool { return !c.Sinuses[0].Implants[0].MidlineRecorded }},
		{"no residual bone", "nought is a measurement",
			[]spoil{{from: "residual_bone_mm: 2.5", to: "residual_bone_mm: 0"}},
			func(c graft.Case) bool { return c.Sinuses[0].Implants[1].ResidualMM == 0 }},
		{"width above the crest", "",
			[]spoil{{from: "{mm: 12.5, above_floor_mm: 4}", to: "{mm: 12.5, above_crest_mm: 9}"}},
			func(c graft.Case) bool {
				w := c.Sinuses[0].Widths[0]
				return w.AboveFloorMM == nil && *w.AboveCrestMM == 9
			}},
		{"transcrestal", "no window there",
			[]spoil{{from: "approach: lateral window", to: "approach: transcrestal"}, measured},
			func(c graft.Case) bool { return c.Sinuses[0].Approach == graft.Transcrestal }},
		{"lid put back", "",
			[]spoil{{from: "lid: removed}", to: "lid: repositioned}"}},
			func(c graft.Case) bool { return c.Sinuses[0].Window.LidIsRepositioned }},
		{"graft height not recorded", "",
			[]spoil{{from: "      height_mm: 13 ", to: "      #"}},
			func(c graft.Case) bool { return c.Sinuses[0].Graft.HeightMM == 0 }},
		{"perforation repaired", "TRUE is YAML's truth as well as true",
			[]spoil{{from: "perforation: none", to: "perforation: {size_mm: 4, repaired: TRUE}"}},
			func(c graft.Case) bool {
				return *c.Sinuses[0].Perforation == graft.Perforation{SizeMM: 4, Repaired: true}
			}},
		{"perforation left", "",
			[]spoil{{from: "perforation: none", to: "perforation: {size_mm: 4, repaired: false}"}},
			func(c graft.Case) bool { return !c.Sinuses[0].Perforation.Repaired }},
		{"two sinuses", "teeth of the left, findings that say which side",
			[]spoil{{from: findings, to: "  - {side: left, health: not assessed, approach: transcrestal, outcome: completed, perforation: none, widths: [{mm: 13, above_floor_mm: 5}], graft: {material: none, additive: rhBMP-2}, implants: [{tooth: 26, residual_bone_mm: 5, length_mm: 8, diameter_mm: 4, placed: later, closure: submerged, restoration: left crown}]}\nfindings: [{day: 2027-01-14, what: infection, side: left}, {day: 2027-05-13, what: stability, tooth: 26, isq: 71}, {day: 2027-05-20, what: attended, step: recall, for: left crown, which: 3 months}]"}},
			func(c graft.Case) bool {
				return c.Sinuses[1].Side == graft.Left && len(c.Observations) == 3 && c.Observations[2].AtIndex == 2 && c.Observations[2].Which == "3 months" && c.Observations[1].ISQ == 71
			}},
		{"perforation and images seen later", "an image without a side is of both",
			[]spoil{{from: findings, to: "findings: [{day: 2027-02-13, what: perforation, size_mm: 4.5, repaired: false}, {day: 2027-07-01, what: image, result: not as expected, shows: 'a shadow, at 16'}, {day: 2027-07-02, what: image, result: as expected, side: right}]"}},
			func(c graft.Case) bool {
				o := c.Observations
				return o[0].What == graft.LatePerforation && o[0].SizeMM == 4.5 && !o[0].Repaired &&
					o[1].What == graft.Image && o[1].Result == graft.NotAsExpected && o[1].Shows == "a shadow, at 16" && o[1].Side == "" &&
					o[2].Result == graft.AsExpected && o[2].Side == graft.Right
			}},
		{"findings left out", "", []spoil{{from: findings, to: ""}}, func(c graft.Case) bool { return c.Observations == nil }},
		{"large print, plain calendar", "",
			[]spoil{{from: "print: normal", to: "print: large"}, {from: "calendar_detail: neutral", to: "calendar_detail: plain"}},
			func(c graft.Case) bool { return c.Patient.LargePrint && c.Patient.CalendarDetail == graft.Plain }},
		{"no choice of e-mail", "nothing is mailed",
			[]spoil{{from: "  mail: {", to: "  #"}},
			func(c graft.Case) bool { return c.Patient.Mail == graft.Mail{} }},
		{"no telephone number", "",
			[]spoil{{from: "  phone: +353 1 555 0141", to: "  #"}},
			func(c graft.Case) bool { return c.Patient.Phone == "" }},
		{"telephone number as digits alone", "its leading noughts and its + stay",
			[]spoil{{from: "phone: +353 1 555 0141", to: "phone: 0035315550141"}},
			func(c graft.Case) bool { return c.Patient.Phone == "0035315550141" }},
		{"e-mail agreed long after the surgery, without the letter", "",
			[]spoil{{from: "agreed: 2027-01-12, letter: true", to: "agreed: 2199-12-31, letter: FALSE"}},
			func(c graft.Case) bool {
				return c.Patient.Mail.Agreed.String() == "2199-12-31" && !c.Patient.Mail.Letter
			}},
		{"leap day", "", []spoil{{from: "day: 2027-01-14", to: "day: 2028-02-29"}}, func(c graft.Case) bool { return c.Surgery.Day.String() == "2028-02-29" }},
		{"digits as case number", "leading noughts stay", []spoil{{from: "case: HR-2041", to: "case: 007"}}, func(c graft.Case) bool { return c.ID == "007" }},
		{"Norwegian", "no is a language and no truth", []spoil{{from: "language: en ", to: "language: no "}}, func(c graft.Case) bool { return c.Patient.Language == "no" }},
		{"teeth named from the back", "the order in the record does not matter",
			[]spoil{{from: "- tooth: 16", to: "- tooth: 18"}, {from: "at_mm: 9.5", to: "at_mm: 30"}},
			func(c graft.Case) bool { return c.Sinuses[0].Implants[0].Tooth == 18 }},
		{"window from the front wall to the top", "both ends are still wall",
			[]spoil{{from: "from_mm: 5,", to: "from_mm: 0,"}, {from: "lower_edge_above_floor_mm: 3,", to: "lower_edge_above_floor_mm: 33,"}},
			func(c graft.Case) bool {
				return c.Sinuses[0].Window.FromMM == 0 && c.Sinuses[0].Window.LowerEdgeMM == 33
			}},
		{"implants that just touch", "the sum of the radii apart",
			[]spoil{{from: "at_mm: 17.0", to: "at_mm: 14.0"}, {from: "off_midline_mm: 1\n", to: "off_midline_mm: 0\n"}, {from: "diameter_mm: 4.8", to: "diameter_mm: 4.9"}},
			func(c graft.Case) bool { return true }},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, faults := casefile.ReadCase("case.yaml", spoilt(t, valid, c.changes...))
			if len(faults) > 0 {
				t.Fatalf("%s: refused:\n%v", c.desc, faults)
			}
			if !c.holds(got.Case) {
				t.Errorf("%s: got %+v", c.desc, got.Case)
			}
		})
	}
}

// TestPlaceAlongTheArchIsAskedForWhereItCounts leaves one implant without its
// place and takes away all that depends on it but one thing.
func TestPlaceAlongTheArchIsAskedForWhereItCounts(t *testing.T) {
	valid := example(t, "case.yaml")
	always := []spoil{{from: "        at_mm: 9.5 ", to: "        #"}, {from: valid[strings.Index(valid, "      - tooth: 17"):strings.Index(valid, "findings:")], to: ""}}
	window, wall, septa := spoil{from: "    window: ", to: "    #"}, spoil{from: "    anterior_wall_at_mm: ", to: "    #"}, spoil{from: "    septa: ", to: "    #"}
	const missing = "34:9: sinuses[0].implants[0].at_mm: missing; allowed: a number from -100 to 100 mm; needed with "
	for _, c := range []struct {
		left string
		away []spoil
		want []string
	}{
		{"a window", []spoil{wall, septa}, []string{missing + "a measured window"}},
		{"a septum", []spoil{wall, window}, []string{missing + "a septum"}},
		{"a front wall", []spoil{window, septa}, []string{missing + "a front wall"}},
		{"an empty list of septa", []spoil{window, wall, {from: "septa: [{at_mm: 22, height_mm: 4}]", to: "septa: []"}}, nil},
	} {
		_, faults := casefile.ReadCase("case.yaml", spoilt(t, valid, append(c.away, always...)...))
		if diff := cmp.Diff(c.want, complaints("case.yaml", faults)); diff != "" {
			t.Errorf("%s left (-want +got):\n%s", c.left, diff)
		}
	}
}

// TestNames holds names to one line, and to nothing else.
func TestNames(t *testing.T) {
	form := decoded(t, []byte(example(t, "case.yaml")), inWords).(map[string]any)
	patient := form["patient"].(map[string]any)
	for _, name := range []string{"Ada O'Brien-Šimůnková", `Jo "Jo" Ash: the 2nd # 1`, "梅 🦷", "Null", "yes", "12", "- x", "{a: b}", "*a", "&a", "!!int 4", strings.Repeat("ä", 400)} {
		patient["name"] = name
		if c, faults := casefile.CaseOf("form", form); len(faults) > 0 || c.Patient.Name != name {
			t.Errorf("name %q reads as %q: %v", name, c.Patient.Name, faults)
		}
	}
	for name, says := range map[string]string{
		"Nora\nFenwick":             `a line break or control character (U+000A) in "Nora\nFenwick"; allowed: one line of text`,
		"Nora\r\nBEGIN:VALARM":      "a line break or control character (U+000D)",
		"Nora\tFenwick":             "a line break or control character (U+0009)",
		"Nora\x00":                  "a line break or control character (U+0000)",
		"Nora\x7f":                  "a line break or control character (U+007F)",
		"Nora\u0085Fenwick":         "a line break or control character (U+0085)",
		"Nora\u2028Fenwick":         "a line break or control character (U+2028)",
		"Nora\u2029Fenwick":         "a line break or control character (U+2029)",
		" \u3000":                   "blank text",
		strings.Repeat("ä", 401):    "401 characters; allowed: at most 400",
		strings.Repeat("x", 100000): "100000 characters",
	} {
		patient["name"] = name
		if _, faults := casefile.CaseOf("form", form); len(faults) != 1 || !strings.Contains(faults.Error(), "form: patient.name: "+says) {
			t.Errorf("name %.20q: got %v, want %q", name, faults, says)
		}
	}
}

// TestFollowingFaultsAreNotInvented spoils a fact that others rest on and wants
// no complaint about those others.
func TestFollowingFaultsAreNotInvented(t *testing.T) {
	valid := example(t, "case.yaml")
	const withFindings = "findings: [{day: 2027-05-13, what: stability, tooth: 16, isq: 71}, {day: 2027-05-14, what: infection, side: right}, {day: 2027-05-20, what: attended, step: recall, for: right bridge}]"
	findings := spoil{from: "findings: []", to: withFindings}
	for _, s := range []spoil{
		{name: "side", from: "side: right ", to: "side: rigth "},
		{name: "tooth", from: "- tooth: 16", to: "- tooth: 61"},
		{name: "surgery day", from: "day: 2027-01-14", to: "day: 2027-13-14"},
		{name: "outcome", from: "outcome: completed", to: "outcome: done"},
		{name: "off mid-line", from: "at_mm: 17.0\n        off_midline_mm: 1\n", to: "at_mm: 13.0\n        off_midline_mm: 5 mm\n"},
		{name: "widths", from: "{mm: 14.0,", to: "{mm: 140,"},
		{name: "front wall", from: "anterior_wall_at_mm: 0 ", to: "anterior_wall_at_mm: front "},
		{name: "window", from: "from_mm: 5,", to: "from_mm: five,"},
	} {
		_, faults := casefile.ReadCase("case.yaml", spoilt(t, valid, findings, s))
		if len(faults) != 1 {
			t.Errorf("%s: %d complaints, want 1:\n%v", s.name, len(faults), faults)
		}
	}
}

func TestBlankRecordHasEveryKeyOnce(t *testing.T) {
	form := casefile.Record().Blank()
	_, faults := casefile.ReadCase("blank.yaml", []byte(form))
	if len(faults) == 0 {
		t.Error("an empty form reads without fault")
	}
	for _, f := range faults {
		if f.Found != "no value" {
			t.Errorf("the empty form as printed: %v", f)
		}
	}
	lines := strings.Split(form, "\n")
	for i, line := range lines {
		for strings.HasPrefix(line, "# ") {
			line = line[2:]
		}
		lines[i] = line
	}
	v := table.Read("blank.yaml", []byte(strings.Join(lines, "\n")), casefile.Record())
	for _, f := range v.Faults() {
		if f.Found != "no value" {
			t.Errorf("the empty form with every key: %v", f)
		}
	}
	got := map[string]int{}
	for _, line := range lines {
		key, _, _ := strings.Cut(strings.TrimPrefix(strings.TrimSpace(line), "- "), ":")
		if key = strings.TrimSpace(key); key != "" && key != "-" {
			got[key]++
		}
	}
	want := map[string]int{}
	countKeys(casefile.Record(), want)
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("keys of the form (-want +got):\n%s", diff)
	}
	if n := len(slices.Collect(maps.Keys(want))); n < 40 {
		t.Errorf("%d keys counted: the count itself is at fault", n)
	}
}

// countKeys counts every key that a shape shows on a line of its own.
func countKeys(s table.Shape, count map[string]int) {
	for _, f := range s.Fields {
		count[f.Key]++
		countKeys(f.Shape, count)
	}
	if s.Kind == table.KindList {
		countKeys(*s.Of, count)
	}
}
