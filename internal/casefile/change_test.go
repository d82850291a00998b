package casefile_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"graftclock/internal/casefile"
	"graftclock/internal/graft"
)

// changesOf are single changes to testdata/case.yaml with the differences that
// each makes.
var changesOf = []struct {
	change string
	want   []string
}{
	{"surgery.day=2027-01-15", []string{"surgery.day: 2027-01-14 -> 2027-01-15"}},
	{"case=007", []string{`case: HR-2041 -> "007"`}},
	{"16.length_mm=8.50", []string{"sinuses[0].implants[0].length_mm: 10 -> 8.5"}},
	{"length_mm=8", []string{"sinuses[0].implants[0].length_mm: 10 -> 8", "sinuses[0].implants[1].length_mm: 10 -> 8"}},
	{"16.length_mm=10.0", nil},
	{"patient.unavailable+=2027-12-24", []string{"patient.unavailable: [2027-07-05..2027-07-16] -> [2027-07-05..2027-07-16, 2027-12-24]"}},
	{"patient.flags-=smoker", []string{"patient.flags: [smoker] -> (not recorded)"}},
	{"patient.mail.address=ida@example.org", []string{"patient.mail.address: nora.fenwick@example.org -> ida@example.org"}},
	{"patient.mail.address=*@example.org", []string{`patient.mail.address: nora.fenwick@example.org -> "*@example.org"`}},
	{"patient.mail.agreed=2027-07-01", []string{"patient.mail.agreed: 2027-01-12 -> 2027-07-01"}},
	{"patient.mail.letter=FALSE", []string{"patient.mail.letter: true -> false"}},
	{"patient.phone=01 555 0199", []string{`patient.phone: "+353 1 555 0141" -> 01 555 0199`}},
	{"patient.phone=035315550199", []string{`patient.phone: "+353 1 555 0141" -> "035315550199"`}},
	{"patient.phone=none", []string{`patient.phone: "+353 1 555 0141" -> (not recorded)`}},
	{"patient.mail=none", []string{"patient.mail: {address: nora.fenwick@example.org, agreed: 2027-01-12, letter: true} -> (not recorded)"}},
	{"window=none", []string{"sinuses[0].window: {from_mm: 5, to_mm: 14, lower_edge_above_floor_mm: 3, height_mm: 7, lid: removed} -> (not recorded)"}},
	{"window.lid=repositioned", []string{"sinuses[0].window.lid: removed -> repositioned"}},
	{"findings+={day: 2027-02-10, what: infection}", []string{"findings[0]: (not recorded) -> {day: 2027-02-10, what: infection}"}},
	{"widths[0]=none", []string{"sinuses[0].widths[0]: {mm: 12.5, above_floor_mm: 4} -> (not recorded)"}},
	{"sinuses[0].implants[0]=none", []string{"sinuses[0].implants[0]: {tooth: 16, at_mm: 9.5, off_midline_mm: 0, residual_bone_mm: 4, length_mm: 10, diameter_mm: 4.1, placed: with the graft, insertion_torque_ncm: 30, closure: submerged, loading: protected, restoration: right bridge} -> (not recorded)"}},
	{"patient.name=(not recorded)", []string{`patient.name: Nora Fenwick -> "(not recorded)"`}},
}

func TestChangeTellsWhatItChanged(t *testing.T) {
	record := canonical(t, []byte(example(t, "case.yaml")))
	for _, c := range changesOf {
		text, kase, faults, err := casefile.Change("HR-2041", record, []string{c.change})
		if err != nil || len(faults) > 0 {
			t.Errorf("%s: %v %v", c.change, err, faults)
			continue
		}
		if diff := cmp.Diff(c.want, casefile.Differences(record, text)); diff != "" {
			t.Errorf("%s: differences (-want +got):\n%s", c.change, diff)
		}
		if diff := cmp.Diff(string(canonical(t, text)), string(text)); diff != "" {
			t.Errorf("%s: not in canonical form (-want +got):\n%s", c.change, diff)
		}
		line := 2 + strings.Count(string(text[:strings.Index(string(text), "\nsurgery:")]), "\n") + 1
		with, _, _ := casefile.With("HR-2041", record, []string{c.change})
		if diff := cmp.Diff(with.Case, kase.Case, sameDay); diff != "" || kase.Lines["surgery"] != line || kase.File != "HR-2041" {
			t.Errorf("%s: case of %s, surgery on line %d (-with +change):\n%s", c.change, kase.File, kase.Lines["surgery"], diff)
		}
	}
}

func TestChangeRefusesAsWithDoes(t *testing.T) {
	record := canonical(t, []byte(example(t, "case.yaml")))
	text, _, faults, err := casefile.Change("HR-2041", record, []string{"surgry.day=2027-01-15"})
	if text != nil || len(faults) > 0 || err == nil || !strings.Contains(err.Error(), "did you mean surgery?") {
		t.Errorf("a key that is none: %q, %v, %v", text, faults, err)
	}
	text, _, faults, err = casefile.Change("HR-2041", record, []string{"surgery.day=2027-02-29"})
	if text != nil || err != nil || faults.Error() != `HR-2041: surgery.day: "2027-02-29" is no day: February 2027 has 28 days` {
		t.Errorf("a day that is none: %q, %v, %v", text, faults, err)
	}
	if text, _, faults, err = casefile.Change("HR-2041", []byte("record: 1"), nil); text != nil || err != nil || len(faults) == 0 {
		t.Errorf("half a record: %q, %v, %v", text, faults, err)
	}
}

// TestDifferencesOfLists pairs what is alike before it tells what is not.
func TestDifferencesOfLists(t *testing.T) {
	of := func(findings ...string) []byte {
		record := canonical(t, []byte(example(t, "case.yaml")))
		for _, f := range findings {
			changed, _, faults, err := casefile.Change("case", record, []string{"findings+=" + f})
			if err != nil || len(faults) > 0 {
				t.Fatal(err, faults)
			}
			record = changed
		}
		return record
	}
	const (
		a = "{day: 2027-02-10, what: infection}"
		b = "{day: 2027-03-10, what: stability, tooth: 16, isq: 60}"
		c = "{day: 2027-03-10, what: stability, tooth: 16, isq: 66}"
		d = "{day: 2027-04-10, what: infection}"
	)
	for _, l := range []struct {
		name   string
		before []byte
		after  []byte
		want   []string
	}{
		{"the same", of(a, b), of(a, b), nil},
		{"one at the end", of(a), of(a, b), []string{"findings[1]: (not recorded) -> " + b}},
		{"one at the start", of(b), of(a, b), []string{"findings[0]: (not recorded) -> " + a}},
		{"one taken from the middle", of(a, b, d), of(a, d), []string{"findings[1]: " + b + " -> (not recorded)"}},
		{"one changed", of(a, b, d), of(a, c, d), []string{"findings[1].isq: 60 -> 66"}},
		{"one twice", of(a), of(a, a), []string{"findings[1]: (not recorded) -> " + a}},
		{"one changed and one more", of(a, b), of(a, c, d), []string{"findings[1].isq: 60 -> 66", "findings[2]: (not recorded) -> " + d}},
		{"all of them", of(a, b), of(), []string{"findings[0]: " + a + " -> (not recorded)", "findings[1]: " + b + " -> (not recorded)"}},
	} {
		if diff := cmp.Diff(l.want, casefile.Differences(l.before, l.after)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", l.name, diff)
		}
	}
	torn, _, _, err := casefile.Change("case", of(), []string{"perforation.size_mm=4", "perforation.repaired=true"})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"sinuses[0].perforation: none -> {size_mm: 4, repaired: true}"}, casefile.Differences(of(), torn)); diff != "" {
		t.Errorf("a word and a map (-want +got):\n%s", diff)
	}
}

// TestDifferencesVanishOnlyBetweenEqualRecords makes some changes and takes them
// back.
func TestDifferencesVanishOnlyBetweenEqualRecords(t *testing.T) {
	record := canonical(t, []byte(example(t, "case.yaml")))
	rapid.Check(t, func(rt *rapid.T) {
		var changes []string
		for _, n := range rapid.SliceOfNDistinct(rapid.IntRange(0, len(changesOf)-1), 0, 4, rapid.ID[int]).Draw(rt, "changes") {
			changes = append(changes, changesOf[n].change)
		}
		text, _, faults, err := casefile.Change("case", record, changes)
		if err != nil || len(faults) > 0 {
			rt.Skip("the changes do not go together")
		}
		lines := casefile.Differences(record, text)
		if same := string(text) == string(record); same != (len(lines) == 0) {
			rt.Errorf("%q: same text %v, differences %q", changes, same, lines)
		}
		if back := casefile.Differences(text, record); len(back) != len(lines) {
			rt.Errorf("%q: %d differences, %d back", changes, len(lines), len(back))
		}
	})
}

func TestAddFinding(t *testing.T) {
	record := canonical(t, []byte(example(t, "case.yaml")))
	for _, c := range []struct {
		name   string
		fields map[string]string
		want   graft.Observation
	}{
		{"stability", map[string]string{"day": "2027-07-20", "what": "stability", "tooth": "16", "isq": "71", "side": ""}, graft.Observation{What: graft.Stability, Tooth: 16, ISQ: 71}},
		{"infection", map[string]string{"day": "2027-07-20", "what": "infection"}, graft.Observation{What: graft.Infection}},
		{"graft removed", map[string]string{"day": "2027-07-20", "what": "graft removed", "side": "right"}, graft.Observation{What: graft.GraftRemoved, Side: graft.Right}},
		{"perforation", map[string]string{"day": "2027-07-20", "what": "perforation", "size_mm": "4.5", "repaired": "true"}, graft.Observation{What: graft.LatePerforation, SizeMM: 4.5, Repaired: true}},
		{"image", map[string]string{"day": "2027-07-20", "what": "image", "result": "unclear", "shows": "a shadow: 007"}, graft.Observation{What: graft.Image, Result: graft.Unclear, Shows: "a shadow: 007"}},
		{"attended", map[string]string{"day": "2027-07-20", "what": "attended", "step": "uncovering", "for": "right bridge"}, graft.Observation{What: graft.Attended, Step: graft.Uncovering, For: "right bridge"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			text, kase, faults, err := casefile.AddFinding("HR-2041", record, c.fields)
			if err != nil || len(faults) > 0 {
				t.Fatal(err, faults)
			}
			c.want.Day = dayOf(t, "2027-07-20")
			if diff := cmp.Diff([]graft.Observation{c.want}, kase.Observations, sameDay); diff != "" {
				t.Errorf("findings (-want +got):\n%s", diff)
			}
			if lines := casefile.Differences(record, text); len(lines) != 1 || !strings.HasPrefix(lines[0], "findings[0]: (not recorded) -> ") {
				t.Errorf("differences %q", lines)
			}
			again, kase, faults, err := casefile.AddFinding("HR-2041", text, map[string]string{"day": "2027-08-01", "what": "infection"})
			if err != nil || len(faults) > 0 || kase.Lines["findings[1].day"] != strings.Count(string(again), "\n") || len(kase.Observations) != 2 || kase.Observations[1].AtIndex != 1 {
				t.Errorf("a second finding: %+v, %v, %v", kase.Observations, faults, err)
			}
		})
	}
}

func TestAddFindingRefusesInTheRecordsOwnWords(t *testing.T) {
	record := canonical(t, []byte(example(t, "case.yaml")))
	for _, c := range []struct {
		name   string
		fields map[string]string
		want   []string
	}{
		{"nothing", nil, []string{
			"findings[0].day: missing; allowed: a day as YYYY-MM-DD",
			"findings[0].what: missing; allowed: stability, infection, graft removed, perforation, image, attended, left out"}},
		{"unknown key", map[string]string{"day": "2027-07-20", "what": "infection", "sid": "right"}, []string{
			"findings[0].sid: unknown key; allowed: day, what, tooth, isq, side, size_mm, repaired, result, shows, step, for, which; did you mean side?"}},
		{"all at once", map[string]string{"day": "2027-01-13", "what": "stability", "tooth": "15"}, []string{
			"findings[0].day: 2027-01-13, before the surgery; allowed: from 2027-01-14 on",
			"findings[0].isq: missing; allowed: a whole number from 1 to 100; needed for stability",
			"findings[0].tooth: 15, which has no implant in the record; allowed: a tooth of implants"}},
		{"a line break", map[string]string{"day": "2027-07-20", "what": "image", "result": "unclear", "shows": "a\nb"}, []string{
			`findings[0].shows: a line break or control character (U+000A) in "a\nb"; allowed: one line of text`}},
	} {
		text, _, faults, err := casefile.AddFinding("form", record, c.fields)
		var got []string
		for _, line := range withoutPlaces(faults) {
			got = append(got, strings.TrimPrefix(line, "form: "))
		}
		if diff := cmp.Diff(c.want, got); diff != "" || text != nil || err != nil {
			t.Errorf("%s: %q %v (-want +got):\n%s", c.name, text, err, diff)
		}
	}
	if text, _, faults, err := casefile.AddFinding("form", []byte("record: 1"), nil); text != nil || err != nil || len(faults) == 0 {
		t.Errorf("half a record: %q, %v, %v", text, faults, err)
	}
}
