package desk_test

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/report"
)

// demoDays are the demo cases with the day each is planned on.
var demoDays = map[string]string{
	"fenwick": "2027-01-14", "okafor": "2027-02-09", "marsh": "2027-03-02", "lindqvist": "2027-04-06", "doyle": "2027-04-13", "petrov": "2027-04-20",
}

// asked plans a record and asks what other facts would change.
func asked(t *testing.T, record []byte, onDay string) (*desk.Desk, desk.Plan, []report.WhatIf) {
	t.Helper()
	c, faults := casefile.ReadCase("record.yaml", record)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	d := demoDesk(t)
	p := planned(t, d, c, on(onDay))
	all, err := d.WhatIf(p, record)
	if err != nil {
		t.Fatal(err)
	}
	return d, p, all
}

// change does to a case, in memory, what a row of the table says was done.
func change(t *testing.T, c *graft.Case, tooth int, says string) {
	t.Helper()
	for n := range c.Sinuses {
		s := &c.Sinuses[n]
		for m := range s.Implants {
			if i := &s.Implants[m]; i.Tooth == tooth {
				changeSite(t, s, i, says)
			}
		}
	}
}

func changeSite(t *testing.T, s *graft.Sinus, i *graft.Implant, says string) {
	t.Helper()
	head, _, _ := strings.Cut(says, " (recorded:")
	switch {
	case head == "as recorded":
	case strings.HasPrefix(head, "additive "):
		s.Graft.Additive = graft.Additive(strings.TrimPrefix(head, "additive "))
	case strings.HasPrefix(head, "no access window"):
		s.Approach, s.Window = graft.Transcrestal, nil
	case strings.HasPrefix(head, "access window half"):
		w := s.Window
		w.FromMM, w.ToMM = (3*w.FromMM+w.ToMM)/4, (w.FromMM+3*w.ToMM)/4
		w.LowerEdgeMM, w.HeightMM = w.LowerEdgeMM+w.HeightMM/4, w.HeightMM/2
	case strings.HasPrefix(head, "lid repositioned"):
		s.Window.LidIsRepositioned = true
	case strings.HasPrefix(head, "implant "):
		i.LengthMM -= 2
		if !strings.HasPrefix(head, "implant "+strconv.FormatFloat(i.LengthMM, 'f', -1, 64)+" mm long") {
			t.Errorf("%q is not 2 mm shorter", says)
		}
	case head == "axis on the mid-line":
		i.OffMidlineMM = 0
	case head == "axis 1 mm towards the palatal wall":
		i.OffMidlineMM, i.MidlineRecorded = i.OffMidlineMM-1, true
	case head == "axis 1 mm towards the lateral wall":
		i.OffMidlineMM, i.MidlineRecorded = i.OffMidlineMM+1, true
	default:
		t.Errorf("nobody knows what %q changes", says)
	}
}

// TestEachRowIsThePlanOfWhatItSays changes the case in memory as the words of the row
// say, and compares case, months and days with what the table was made of.
func TestEachRowIsThePlanOfWhatItSays(t *testing.T) {
	t.Parallel()
	rows := 0
	for name, onDay := range demoDays {
		_, record := demo(t, name+".yaml")
		d, _, all := asked(t, record, onDay)
		for _, w := range all {
			for _, row := range w.Rows {
				rows++
				with, faults, err := casefile.With("record.yaml", record, row.Set)
				if err != nil || len(faults) > 0 {
					t.Fatal(err, faults)
				}
				c := demoCase(t, name)
				change(t, &c.Case, w.Tooth, row.Change)
				if diff := cmp.Diff(c.Case, with.Case, cmp.Comparer(func(a, b day.Day) bool { return a == b })); diff != "" {
					t.Errorf("%s, %d, %s (-says +set):\n%s", name, w.Tooth, row.Change, diff)
				}
				checkRow(t, planned(t, d, c, on(onDay)), w, row)
			}
		}
	}
	if rows < 60 {
		t.Errorf("%d rows only", rows)
	}
}

func checkRow(t *testing.T, p desk.Plan, w report.WhatIf, row report.Answer) {
	t.Helper()
	for _, i := range p.Timeline.Implants {
		if i.Tooth != w.Tooth {
			continue
		}
		if i.ToFull != row.ToFull {
			t.Errorf("%d, %s: %v months, the plan says %v", w.Tooth, row.Change, row.ToFull, i.ToFull)
		}
		for step, got := range map[graft.Step]day.Day{w.Gate: row.Gate, graft.FirstLoading: row.Loading} {
			m, _ := p.Timeline.Find(graft.MilestoneIDOf(step, i.Restoration, ""))
			if want := day.Max(m.Window.NotBefore, m.Window.Earliest); got != want || got.IsZero() {
				t.Errorf("%d, %s: %s from %s, the plan says %s", w.Tooth, row.Change, step, got, want)
			}
		}
	}
}

// TestWhatIfOfFenwick holds the table to figures that compare printed before there was
// a table.
func TestWhatIfOfFenwick(t *testing.T) {
	_, record := demo(t, "fenwick.yaml")
	_, _, all := asked(t, record, "2027-01-14")
	for _, want := range []struct {
		tooth  int
		change string
		months float64
		gate   string
	}{
		{16, "as recorded", 6.00, "2027-08-07"}, {17, "as recorded", 6.71, "2027-08-07"},
		{16, "additive rhPDGF-BB", 4.00, "2027-05-16"}, {17, "additive rhPDGF-BB", 4.00, "2027-05-16"},
		{17, "additive platelet-rich fibrin", 6.71, "2027-08-07"},
		{17, "implant 8 mm long", 5.50, "2027-07-16"},
	} {
		found := false
		for _, w := range all {
			for _, row := range w.Rows {
				if w.Tooth == want.tooth && strings.HasPrefix(row.Change, want.change) {
					found = true
					if row.ToFull != want.months || row.Gate != on(want.gate) {
						t.Errorf("%d, %s: %.2f months, from %s; want %.2f, %s", w.Tooth, row.Change, row.ToFull, row.Gate, want.months, want.gate)
					}
				}
			}
		}
		if !found {
			t.Errorf("%d: nobody asked for %q", want.tooth, want.change)
		}
	}
}

// TestWhatCannotBeIsLeftOut wants what the record's reader refuses, and what means
// nothing, to be left out with its reason.
func TestWhatCannotBeIsLeftOut(t *testing.T) {
	_, fenwick := demo(t, "fenwick.yaml")
	_, marsh := demo(t, "marsh.yaml")
	_, petrov := demo(t, "petrov.yaml")
	spoil := func(old, new string) []byte {
		if !strings.Contains(string(fenwick), old) {
			t.Fatalf("the demo case has no %q", old)
		}
		return []byte(strings.Replace(string(fenwick), old, new, 1))
	}
	for _, c := range []struct {
		name        string
		record      []byte
		on          string
		tooth       int
		change, why string
	}{
		{"too short", spoil("residual_bone_mm: 4", "residual_bone_mm: 8"), "2027-01-14", 16, "implant 8 mm long", "it would not reach past its 8 mm of residual bone"},
		{"no such implant", spoil("length_mm: 10\n        diameter_mm: 4.8", "length_mm: 5.5\n        diameter_mm: 4.8"), "2027-01-14", 17, "implant 3.5 mm long", "4 to 20 mm"},
		{"beyond the wall", spoil("off_midline_mm: 1", "off_midline_mm: 6.5"), "2027-01-14", 17, "axis 1 mm towards the lateral wall", "an implant outside the sinus"},
		{"lid is back", spoil("lid: removed", "lid: repositioned"), "2027-01-14", 16, "lid repositioned", "recorded so"},
		{"too low a window", spoil("height_mm: 7, lid", "height_mm: 1.5, lid"), "2027-01-14", 16, "access window half", "0.75"},
		{"no window", marsh, "2027-03-02", 15, "lid repositioned", "the approach is transcrestal"},
		{"not measured", petrov, "2027-04-20", 17, "access window half", "no window was measured"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, all := asked(t, c.record, c.on)
			for _, w := range all {
				starts := func(text string) bool { return strings.HasPrefix(text, c.change) }
				if w.Tooth != c.tooth {
					continue
				}
				if slices.ContainsFunc(w.Rows, func(a report.Answer) bool { return starts(a.Change) }) {
					t.Errorf("%q was tried", c.change)
				}
				n := slices.IndexFunc(w.Left, func(l report.LeftOut) bool { return starts(l.Change) })
				if n < 0 || !strings.Contains(w.Left[n].Why, c.why) {
					t.Errorf("left out %v; want %q because %q", w.Left, c.change, c.why)
				}
				return
			}
			t.Errorf("nobody asked about %d", c.tooth)
		})
	}
}

// TestEveryAdditiveOfTheFormatIsAsked compares with the words of the record format.
func TestEveryAdditiveOfTheFormatIsAsked(t *testing.T) {
	_, record := demo(t, "fenwick.yaml")
	_, faults, err := casefile.With("record.yaml", record, []string{"graft.additive=nonsense"})
	if err != nil || len(faults) != 1 {
		t.Fatal(err, faults)
	}
	_, _, all := asked(t, record, "2027-01-14")
	for _, word := range strings.Split(faults[0].Allowed, ", ") {
		says := fmt.Sprintf("additive %s (recorded: none)", word)
		if word != "none" && !slices.ContainsFunc(all[0].Rows, func(a report.Answer) bool { return a.Change == says }) {
			t.Errorf("nobody asked about %s", word)
		}
	}
}

// TestNewWarningsAreTold wants a row to tell a warning that its change brings.
func TestNewWarningsAreTold(t *testing.T) {
	_, record := demo(t, "fenwick.yaml")
	_, _, all := asked(t, record, "2027-01-14")
	for _, row := range all[0].Rows {
		var rules []string
		for _, f := range row.News {
			rules = append(rules, string(f.Rule))
		}
		want := map[bool]string{true: "additive-rhbmp-2"}[strings.HasPrefix(row.Change, "additive rhBMP-2")]
		if got := strings.Join(rules, " "); got != want {
			t.Errorf("%s: tells %q, want %q", row.Change, got, want)
		}
	}
}

func TestAnAbortedLiftHasNoWhatIf(t *testing.T) {
	_, record := demo(t, "doyle.yaml")
	if _, _, all := asked(t, record, "2027-04-13"); len(all) != 0 {
		t.Errorf("asked %v", all)
	}
}
