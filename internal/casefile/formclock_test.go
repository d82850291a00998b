package casefile_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
)

// TestAWholeFormIsDated: nothing is missing, and the case is the record's own but for
// what is the patient's and the clinic's.
func TestAWholeFormIsDated(t *testing.T) {
	for name, data := range demoRecords(t) {
		text, want, _ := casefile.Canonical(name, data)
		f := readForm(t, casefile.FormOf(text), text)
		o := f.Outlook("the form", dayOf(t, "2027-01-14"))
		if !o.Dated() || len(o.Clock)+len(o.Dates) > 0 {
			t.Errorf("%s: %v %v", name, o.Clock, o.Dates)
		}
		if diff := cmp.Diff(want.Case.Sinuses, o.Case.Sinuses); diff != "" || o.Case.Surgery.Day != want.Surgery.Day {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}

// TestAnEmptyFormMissesWhatTheClockNeeds, and dates nothing.
func TestAnEmptyFormMissesWhatTheClockNeeds(t *testing.T) {
	f := readForm(t, casefile.BlankForm(), nil)
	o := f.Outlook("the form", dayOf(t, "2027-01-14"))
	if o.Dated() || len(o.Case.Sinuses) > 0 || len(o.Clock) == 0 || len(o.Dates) == 0 {
		t.Errorf("%v %v %v", o.Case.Sinuses, o.Clock, o.Dates)
	}
}

// TestTheClockGoesOnWithTheImplantsThatAreWhole: one that is half filled in takes out
// neither the others nor, where it stands alone, the other sinus.
func TestTheClockGoesOnWithTheImplantsThatAreWhole(t *testing.T) {
	text, _, _ := casefile.Canonical("petrov", demoRecords(t)["petrov.yaml"])
	for _, c := range []struct {
		name  string
		blank string
		want  []int
	}{
		{"nothing", "", []int{15, 17, 26}},
		{"an implant's length", "sinuses[0].implants[0].length_mm", []int{17, 26}},
		{"an implant's tooth", "sinuses[0].implants[1].tooth", []int{15, 26}},
		{"the only implant's diameter", "sinuses[1].implants[0].diameter_mm", []int{15, 17}},
		{"a sinus's approach", "sinuses[0].approach", []int{26}},
		{"a sinus's side", "sinuses[1].side", []int{15, 17}},
		{"a level", "sinuses[1].widths[0].above_floor_mm", []int{15, 17}},
		{"a torque", "sinuses[0].implants[0].insertion_torque_ncm", []int{15, 17, 26}},
		{"the day", "surgery.day", []int{15, 17, 26}},
	} {
		typed := casefile.FormOf(text)
		delete(typed, c.blank)
		o := readForm(t, typed, nil).Outlook("the form", dayOf(t, "2027-01-14"))
		var got []int
		for _, s := range o.Case.Sinuses {
			for _, i := range s.Implants {
				got = append(got, i.Tooth)
			}
		}
		if diff := cmp.Diff(c.want, got); diff != "" || o.Dated() != (c.blank == "") {
			t.Errorf("without %s: %v, dated %v: %v %v", c.name, got, o.Dated(), o.Clock, o.Dates)
		}
	}
}

// TestAnyFormIsReadWithoutPanic, faults or not: what is dated has no fault beside those
// of the patient's and the clinic's part.
func TestAnyFormIsReadWithoutPanic(t *testing.T) {
	text, _, _ := casefile.Canonical("petrov", demoRecords(t)["petrov.yaml"])
	names := slices.Sorted(maps.Keys(casefile.FormOf(text)))
	odd := []string{"", " ", "0", "-1", "4", "16", "none", "later", "right", "left", "aborted", "2027-02-30", "2027-05-11..2027-05-01", "\x00", "12,5", "1e9", strings.Repeat("9", 500)}
	rapid.Check(t, func(t *rapid.T) {
		typed := casefile.FormOf(text)
		for range rapid.IntRange(0, 12).Draw(t, "changes") {
			name := rapid.SampledFrom(names).Draw(t, "name")
			switch rapid.IntRange(0, 3).Draw(t, "kind") {
			case 0:
				delete(typed, name)
			case 1:
				typed[name] = []string{rapid.SampledFrom(odd).Draw(t, "text")}
			case 2:
				typed[strings.Replace(name, "[0]", "[3]", 1)] = typed[name]
			case 3:
				casefile.TakeEntry(typed, name[:max(0, strings.LastIndexByte(name, '.'))])
			}
		}
		f, err := casefile.ReadForm(typed, nil)
		if err != nil {
			t.Fatal(err)
		}
		on, _ := day.Parse("2027-01-14")
		o := f.Outlook("the form", on)
		_, _, faultless := f.Record("the form")
		for _, told := range f.Faults() {
			if o.Dated() && strings.HasPrefix(told.Path, "sinuses") {
				t.Fatalf("dated with a fault at %s: %s", told.Path, told.Says)
			}
		}
		if faultless && !o.Dated() {
			t.Fatalf("no date without a fault: %v %v", o.Clock, o.Dates)
		}
	})
}
