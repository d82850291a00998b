package web_test

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

// TestTheLivePartSaysWhatThePlanSays, to the digit and the day.
func TestTheLivePartSaysWhatThePlanSays(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	quill := s.as(surgeon)
	for _, name := range demoNames {
		record := demo(t, name)
		c, _ := casefile.ReadCase(name, record)
		plan, err := s.keeper.Plan(c, day.Of(s.clock.now()))
		if err != nil {
			t.Fatal(err)
		}
		got := quill.post("/record/live", casefile.FormOf(record))
		if got.status != http.StatusOK || strings.Contains(got.body, "<html") {
			t.Fatalf("%s: %d\n%s", name, got.status, got.body)
		}
		for _, clock := range plan.Timeline.Implants {
			for _, want := range []string{
				fmt.Sprintf("Implant %d: full support after %.2f months, band %.2f to %.2f.", clock.Tooth, clock.ToFull, clock.BandLow, clock.BandHigh),
				fmt.Sprintf(`<svg role="img" class="drawing" aria-labelledby="section-%d-title"`, clock.Tooth),
				fmt.Sprintf("%s, %.1f mm above the floor, waiting for the %s", clock.LastAspect, clock.LastHeightMM, clock.WaitsFor),
			} {
				if !got.says(want) {
					t.Errorf("%s does not say %s", name, want)
				}
			}
			for _, step := range []graft.Step{graft.Placement, graft.Uncovering, graft.FirstLoading} {
				if m, there := plan.Timeline.Find(graft.MilestoneIDOf(step, clock.Restoration, "")); there && step != graft.Uncovering && !m.Window.Latest.IsZero() {
					if want := "not before " + m.Window.NotBefore.Time().Format("Mon 2 January 2006"); !got.says(want) {
						t.Errorf("%s, %s: %s is not said", name, step, want)
					}
				}
			}
		}
		if strings.Contains(got.body, " style=") || strings.Contains(got.body, "<script") {
			t.Error("something that the page's policy forbids")
		}
	}
}

// TestNothingIsTakenForGranted leaves out one fact at a time: what the bone clock needs
// stops the clock, all else the dates alone, and each is named.
func TestNothingIsTakenForGranted(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	quill := s.as(surgeon)
	whole := casefile.FormOf(demo(t, "fenwick"))
	months := "Implant 17: full support after 6.71 months"
	for _, c := range []struct {
		field, where  string
		clocked, ends bool // the clock goes on without it; the dates do
	}{
		{"sinuses[0].side", "Sinus 1, Side", false, false},
		{"sinuses[0].approach", "Sinus 1, Approach", false, false},
		{"sinuses[0].outcome", "Sinus 1, Outcome", false, false},
		{"sinuses[0].graft.additive", "Sinus 1, Graft, Additive", false, false},
		{"sinuses[0].widths[0].mm", "Sinus 1, Width 1, Wall to wall", false, false},
		{"sinuses[0].window.lid", "Sinus 1, Access window, Lid", false, false},
		{"sinuses[0].implants[1].length_mm", "Sinus 1, Implant 2, Length", false, false},
		{"sinuses[0].implants[1].at_mm", "Sinus 1, Implant 2, Place", false, false},
		{"sinuses[0].health", "Sinus 1, Health", true, false},
		{"sinuses[0].perforation", "Sinus 1, Perforation", true, false},
		{"sinuses[0].graft.material", "Sinus 1, Graft, Material", true, false},
		{"sinuses[0].implants[1].placed", "Sinus 1, Implant 2, Placed", true, false},
		{"sinuses[0].implants[1].insertion_torque_ncm", "Sinus 1, Implant 2, Insertion torque", true, false},
		{"sinuses[0].implants[1].closure", "Sinus 1, Implant 2, Closure", true, false},
		{"sinuses[0].implants[1].loading", "Sinus 1, Implant 2, Loading", true, false},
		{"sinuses[0].implants[1].restoration", "Sinus 1, Implant 2, Restoration", true, false},
		{"surgery.day", "Surgery, Day", true, false},
		{"patient.name", "", true, true},
		{"surgery.surgeon", "", true, true},
		{"case", "", true, true},
	} {
		got := quill.post("/record/live", with(whole, c.field, ""))
		if got.says(months) != c.clocked || got.says("First loading") != c.ends {
			t.Errorf("without %s: clocked %v, dated %v", c.field, got.says(months), got.says("First loading"))
		}
		if c.where != "" && !got.says(">"+c.where+"</a>") {
			t.Errorf("without %s: %s is not named", c.field, c.where)
		}
		if c.where == "" && got.says(`class="wanting"`) {
			t.Errorf("without %s: something is missing", c.field)
		}
	}
	first := quill.post("/record/live", with(whole, "sinuses[0].implants[1].length_mm", ""))
	if !first.says("Implant 16: full support after 6.00 months") || !first.says("The bone clock still needs 1 fact.") {
		t.Error("the implant that is all there is not timed")
	}
}

// TestStandInsMoveNoMonth changes every fact for which a word may stand in: the months
// stay, so the word can mislead nobody.
func TestStandInsMoveNoMonth(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	quill := s.as(surgeon)
	whole := casefile.FormOf(demo(t, "fenwick"))
	says := func(changes ...string) string {
		body := quill.post("/record/live", with(whole, changes...)).body
		_, after, _ := strings.Cut(body, "Implant 17")
		sentence, _, _ := strings.Cut(after, ".</p>")
		return sentence[:len(": full support after 6.71 months, band 5.11 to 9.37")]
	}
	want := says()
	for _, change := range [][]string{
		{"sinuses[0].health", "not clear"}, {"sinuses[0].graft.material", "autogenous"}, {"sinuses[0].graft.material", "none"}, {"sinuses[0].perforation", "", "sinuses[0].perforation.size_mm", "12", "sinuses[0].perforation.repaired", "false"},
		{"sinuses[0].implants[1].placed", "later"}, {"sinuses[0].implants[1].insertion_torque_ncm", "5"}, {"sinuses[0].implants[1].closure", "through the gum"},
		{"sinuses[0].implants[1].loading", "not protected"}, {"sinuses[0].implants[1].restoration", "another"}, {"surgery.day", "2027-02-28"}, {"patient.flags", "smoker"},
	} {
		if got := says(change...); got != want {
			t.Errorf("%v: %q, not %q", change, got, want)
		}
	}
}

func TestWhatIfsStandBesideTheFormWhenAsked(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	quill := s.as(surgeon)
	whole := casefile.FormOf(demo(t, "fenwick"))
	if got := quill.post("/record/live", whole); got.says("rhPDGF-BB") {
		t.Error("what-ifs that nobody asked for")
	}
	got := quill.post("/record/live", with(whole, "what_if", "yes"))
	if !got.says("additive rhPDGF-BB (recorded: none)") || !got.says(`data-label="Months to full support">4.00</td>`) {
		t.Error("no what-if of an additive")
	}
	if got := quill.post("/record", with(whole, "what_if", "yes", "act", "show")); !got.says("additive rhPDGF-BB (recorded: none)") || !got.says(`name="what_if" value="yes" checked`) {
		t.Error("no what-if without the script")
	}
}

// TestTheFormWithoutTheScriptShowsTheSame as the script puts in place.
func TestTheFormWithoutTheScriptShowsTheSame(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	quill := s.as(surgeon)
	whole := casefile.FormOf(demo(t, "marsh"))
	live := quill.post("/record/live", whole).body
	page := quill.post("/record", with(whole, "act", "show"))
	if !strings.Contains(page.body, strings.TrimSpace(live)) {
		t.Errorf("the page shows something else than\n%s", live)
	}
}

// spent is the processor time of this process.
func spent() time.Duration {
	var usage syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &usage); err != nil {
		return 0
	}
	return time.Duration(usage.Utime.Nano() + usage.Stime.Nano())
}

// BenchmarkLive asks what follows from one sinus with two implants, without and with
// what-ifs; cpu-ms is the processor time of one answer, the browser's side included.
func BenchmarkLive(b *testing.B) {
	s := serve(b, "2027-01-14 09:00")
	quill := s.as(surgeon)
	form := with(casefile.FormOf(demo(b, "fenwick")))
	for _, name := range []string{"alone", "with what-ifs"} {
		b.Run(name, func(b *testing.B) {
			before := spent()
			for b.Loop() {
				if got := quill.post("/record/live", form); got.status != http.StatusOK {
					b.Fatal(got.status)
				}
			}
			b.ReportMetric(float64((spent()-before).Microseconds())/float64(b.N)/1000, "cpu-ms/op")
		})
		form["what_if"] = []string{"yes"}
	}
	if !slices.Contains(form["what_if"], "yes") {
		b.Fatal("nobody asked")
	}
}

// TestTheFormOfAKeptCaseKnowsWhatTookPlace: what the ledger has as attended is not told
// as passed, and the dates count from its day, when the form is opened and while something
// is typed; the same record as a form of its own knows nothing of it.
func TestTheFormOfAKeptCaseKnowsWhatTookPlace(t *testing.T) {
	s := serve(t, "2027-10-04 09:00")
	id := s.admit("fenwick")
	for step, day := range map[graft.MilestoneID]string{wound: "2027-01-25", "late-check//": "2027-02-11", review: "2027-03-15", uncovering: "2027-10-01"} {
		if _, _, err := s.keeper.Attended(s.actor(surgeon), id, desk.ChoiceOf(step), dayOf(day), "late"); err != nil {
			t.Fatal(err)
		}
	}
	loading := func(timeline graft.Timeline) string {
		for _, m := range timeline.Milestones {
			if m.Step == graft.FirstLoading {
				return "not before " + m.Window.NotBefore.Time().Format("Mon 2 January 2006")
			}
		}
		return "no step"
	}
	alone, err := s.keeper.Plan(s.live(id).Case, dayOf("2027-10-04"))
	if err != nil || loading(alone.Timeline) == loading(s.live(id).Timeline) {
		t.Fatal("the late uncovering moves nothing", err)
	}
	quill := s.as(surgeon)
	path := "/case/" + string(id) + "/record"
	page := quill.get(path)
	form := page.typed(t)
	for how, got := range map[string]answer{
		"the page":        page,
		"as it is typed":  quill.post("/record/live", form),
		"what follows":    quill.post(path, with(form, "act", "show")),
		"typed otherwise": quill.post("/record/live", with(form, "patient.print", "large")),
	} {
		if got.says("Its window ended") || !got.says(loading(s.live(id).Timeline)) || got.says(loading(alone.Timeline)) {
			t.Errorf("%s does not go by what took place\n%s", how, got.body)
		}
		if !got.says("Planned from this form with what the ledger has of the case, attended, booked or overridden, as seen on Mon 4 October 2027.") || got.says("from this form alone") {
			t.Errorf("%s does not say from what it is planned\n%s", how, got.body)
		}
	}
	if got := quill.post("/record/live", casefile.FormOf([]byte(s.record(id)))); !got.says("wound-check. Its window ended") || !got.says("from this form alone") {
		t.Errorf("a form of its own: %d\n%s", got.status, got.body)
	}
	if got := quill.post("/record/live", with(form, "of", "HR-9999")); got.status != http.StatusNotFound {
		t.Errorf("of no case: %d", got.status)
	}
}
