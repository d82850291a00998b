package web_test

import (
	"cmp"
	"maps"
	"net/url"
	"strings"
	"testing"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// TestASurgeonApproves, and the page then says who did and when.
func TestASurgeonApproves(t *testing.T) {
	s := serve(t, "2027-01-18 08:30")
	s.admit("fenwick")
	b := s.as(surgeon)
	form := formTo(t, b.get("/case/HR-2041"), "/case/HR-2041/approve", "")
	got := b.post("/case/HR-2041/approve", form)
	if got.status != 200 || !got.says("Approved: revision 1.") || !got.says("approved by Dr Alba Quill on Mon 18 January 2027") || got.says("Approve revision") {
		t.Errorf("%d\n%s", got.status, got.body)
	}
	if e := s.lastEntry(fenwick); e.What != "approve" || e.By.Name != surgeon || s.live(fenwick).Draft() {
		t.Errorf("%+v", e)
	}
	if got = b.post("/case/HR-2041/approve", form); got.status != 409 || !got.says("was changed meanwhile") {
		t.Errorf("approved twice: %d\n%s", got.status, got.body)
	}
	wantGoodPage(t, got.body)
}

// TestAFindingIsShownBeforeItIsKept goes through both steps of every kind.
func TestAFindingIsShownBeforeItIsKept(t *testing.T) {
	for _, c := range []struct {
		what   string
		fields []string
		shows  []string
	}{
		{"stability", []string{"tooth", "17", "isq", "62"}, []string{"Stability, implant 17, ISQ 62, Mon 1 February 2027", "New findings"}},
		{"image", []string{"result", "unclear", "shows", "a shadow at the floor"}, []string{"Image, unclear"}},
		{"infection", nil, []string{"Infection, Mon 1 February 2027", "A stop finding would stand", "no longer in the plan"}},
		{"perforation", []string{"size_mm", "3", "repaired", "true"}, []string{"Perforation, 3 mm, repaired"}},
		{"graft removed", nil, []string{"Graft removed", "no longer in the plan"}},
		{"left out", []string{"id", string(review)}, []string{"Left out: healing review", "no longer in the plan", "falls away"}},
		{"attended", []string{"id", string(wound), "day", "2027-01-26"}, []string{"Attended: wound check, Tue 26 January 2027"}},
	} {
		s := serve(t, "2027-02-01 08:30")
		s.admit("fenwick")
		b := s.as(surgeon)
		page := b.get("/case/HR-2041/finding?what=" + url.QueryEscape(c.what))
		form := formTo(t, page, "/case/HR-2041/finding", "finding-day")
		for n := 0; n+1 < len(c.fields); n += 2 {
			if !form.Has(c.fields[n]) {
				t.Errorf("%s: the form has no field %s", c.what, c.fields[n])
			}
			form.Set(c.fields[n], c.fields[n+1])
		}
		form.Set("why", "seen on the chair")
		before := s.lastEntry(fenwick)
		shown := b.post("/case/HR-2041/finding", form)
		if shown.status != 200 || s.lastEntry(fenwick) != before || s.live(fenwick).Kept.Revision != 1 {
			t.Fatalf("%s: %d, or it was kept\n%s", c.what, shown.status, shown.body)
		}
		wantGoodPage(t, shown.body)
		for _, words := range c.shows {
			if !shown.says(words) {
				t.Errorf("%s: the page does not say %q\n%s", c.what, words, shown.body)
			}
		}
		keep := formTo(t, shown, "/case/HR-2041/finding", "")
		again := with2(keep, "again", "yes")
		if back := b.post("/case/HR-2041/finding", again); fieldOf(t, back, "finding-why").attr["value"] != "seen on the chair" {
			t.Errorf("%s: what was typed is gone\n%s", c.what, back.body)
		}
		got := b.post("/case/HR-2041/finding", with2(keep, "keep", "yes"))
		if got.status != 200 || !strings.HasPrefix(got.path, "/case/HR-2041") || !got.says("Recorded: "+c.what) {
			t.Fatalf("%s: %d\n%s", c.what, got.status, got.body)
		}
		if e := s.lastEntry(fenwick); e.What != "note" || e.Why != "seen on the chair" || s.live(fenwick).Kept.Revision != 2 {
			t.Errorf("%s: %+v", c.what, e)
		}
	}
}

// with2 is a form with one more field.
func with2(form url.Values, name, value string) url.Values {
	more := maps.Clone(form)
	more.Set(name, value)
	return more
}

// TestAFaultOfAFindingStandsAtItsField in the words of the command line.
func TestAFaultOfAFindingStandsAtItsField(t *testing.T) {
	s := serve(t, "2027-02-01 08:30")
	s.admit("fenwick")
	b := s.as(surgeon)
	got := b.post("/case/HR-2041/finding", s.acting(fenwick, "", "what", "stability", "day", "2027-02-01", "tooth", "17", "isq", "400", "why", "typed"))
	if got.status != 422 || fieldOf(t, got, "finding-isq").attr["aria-invalid"] != "true" || !strings.Contains(fieldOf(t, got, "finding-isq-fault").text, "allowed: a whole number from 1 to 100") {
		t.Errorf("%d\n%s", got.status, got.body)
	}
	if fieldOf(t, got, "finding-isq").attr["value"] != "400" || fieldOf(t, got, "finding-why").attr["value"] != "typed" {
		t.Errorf("what was typed is gone\n%s", got.body)
	}
	wantGoodPage(t, got.body)
	for _, fields := range [][]string{{"what", "toothache", "day", "2027-02-01"}, {"what", "image", "day", "soon"}, {"what", "image", "day", ""}, {"what", "left out", "day", "2027-02-01", "id", "recalls//"}} {
		got := b.post("/case/HR-2041/finding", s.acting(fenwick, "", fields...))
		if got.status != 422 || s.live(fenwick).Kept.Revision != 1 {
			t.Errorf("%v: %d", fields, got.status)
		}
		wantGoodPage(t, got.body)
	}
}

// TestAnOverrideIsShownBeforeItIsKept, is shown beside the computed day, and taken back.
func TestAnOverrideIsShownBeforeItIsKept(t *testing.T) {
	s := serve(t, "2027-02-01 08:30")
	s.admit("fenwick")
	b := s.as(surgeon)
	page := b.get(stepOf(fenwick, uncovering))
	if !page.says("Computed: not before Sat 7 August 2027") || !page.says("Hard floor: none") {
		t.Errorf("the page does not say what was computed\n%s", page.body)
	}
	form := formTo(t, page, "/case/HR-2041/override", "override-day")
	form.Set("day", "2027-09-06")
	form.Set("why", "wishes to see the scan first")
	shown := b.post("/case/HR-2041/override", form)
	if shown.status != 200 || !shown.says("14 days later") || s.live(fenwick).Kept.Revision != 1 {
		t.Fatalf("%d\n%s", shown.status, shown.body)
	}
	wantGoodPage(t, shown.body)
	keep := formTo(t, shown, "/case/HR-2041/override", "")
	if back := b.post("/case/HR-2041/override", with2(keep, "again", "yes")); fieldOf(t, back, "override-day").attr["value"] != "2027-09-06" || fieldOf(t, back, "override-why").attr["value"] != "wishes to see the scan first" {
		t.Errorf("what was typed is gone\n%s", back.body)
	}
	got := b.post("/case/HR-2041/override", with2(keep, "keep", "yes"))
	if m := mustFind(t, s.live(fenwick), uncovering); got.status != 200 || m.Override == nil || m.Override.Day != dayOf("2027-09-06") {
		t.Fatalf("%d\n%s", got.status, got.body)
	}
	if !got.says("Set to Mon 6 September 2027 by Dr Alba Quill on Mon 1 February 2027: wishes to see the scan first. Computed: not before Sat 7 August 2027") {
		t.Errorf("the case does not tell of the override\n%s", got.body)
	}
	back := formTo(t, b.get(stepOf(fenwick, uncovering)), "/case/HR-2041/override", "none-why")
	back.Set("why", "the scan is clear")
	if shown = b.post("/case/HR-2041/override", back); shown.status != 200 || !shown.says("14 days earlier") {
		t.Fatalf("%d\n%s", shown.status, shown.body)
	}
	b.post("/case/HR-2041/override", with2(formTo(t, shown, "/case/HR-2041/override", ""), "keep", "yes"))
	if m := mustFind(t, s.live(fenwick), uncovering); m.Override != nil {
		t.Error("it was not taken back")
	}
}

// TestNoOverrideGoesBelowTheFloor nor without a reason.
func TestNoOverrideGoesBelowTheFloor(t *testing.T) {
	s := serve(t, "2027-02-01 08:30")
	s.admit("fenwick")
	b := s.as(surgeon)
	const loading = graft.MilestoneID("first-loading/right bridge/")
	floor := mustFind(t, s.live(fenwick), loading).Floor
	if got := b.get(stepOf(fenwick, loading)); floor.IsZero() || !got.says("Hard floor: "+floor.Time().Format("Mon 2 January 2006")) {
		t.Errorf("the page does not say the floor, %s\n%s", floor, got.body)
	}
	for fields, says := range map[[4]string]string{
		{"day", floor.AddDays(-1).String(), "why", "in haste"}: "lies below the hard floor, " + floor.Time().Format("Monday 2 January 2006"),
		{"day", floor.AddDays(1).String(), "why", ""}:          "an override needs its reason",
		{"day", "", "why", "x"}:                                "a day is needed",
	} {
		got := b.post("/case/HR-2041/override", s.acting(fenwick, loading, fields[:]...))
		if got.status != 422 || !strings.Contains(strings.ToLower(got.body), strings.ToLower(says)) || s.live(fenwick).Kept.Revision != 1 {
			t.Errorf("%v: %d\n%s", fields, got.status, got.body)
		}
		wantGoodPage(t, got.body)
	}
}

// TestWhatIsKeptIsWhatWasShown changes the case between both steps: nothing is kept,
// and what was typed comes back.
func TestWhatIsKeptIsWhatWasShown(t *testing.T) {
	s := serve(t, "2027-02-01 08:30")
	s.admit("fenwick")
	b := s.as(surgeon)
	shown := b.post("/case/HR-2041/finding", s.acting(fenwick, "", "what", "stability", "day", "2027-02-01", "tooth", "17", "isq", "62"))
	if _, _, err := s.keeper.Hold(s.actor(front), fenwick, desk.ChoiceOf(review), ""); err != nil {
		t.Fatal(err)
	}
	got := b.post("/case/HR-2041/finding", with2(formTo(t, shown, "/case/HR-2041/finding", ""), "keep", "yes"))
	if got.status != 409 || !got.says("was changed meanwhile (Ida Marlow: hold") || fieldOf(t, got, "finding-isq").attr["value"] != "62" {
		t.Errorf("%d\n%s", got.status, got.body)
	}
	if s.live(fenwick).Kept.Revision != 1 {
		t.Error("it was kept")
	}
}

// TestSettlingIsShownBeforeItIsDone makes a booked visit impossible and settles it.
func TestSettlingIsShownBeforeItIsDone(t *testing.T) {
	s := serve(t, "2027-01-18 08:30")
	s.admit("fenwick")
	if _, _, err := s.keeper.Book(s.actor(front), fenwick, desk.ChoiceOf(wound), slotOf("2027-01-25", "09:00"), ""); err != nil {
		t.Fatal(err)
	}
	if _, err := s.keeper.Set(s.actor(front), fenwick, []string{"patient.unavailable+=2027-01-25"}, ""); err != nil {
		t.Fatal(err)
	}
	b := s.as(front)
	page := b.get("/case/HR-2041")
	if !page.says("The patient cannot come") || !page.says("Settle it first; until then nothing is given to the patient") {
		t.Errorf("the case does not tell\n%s", page.body)
	}
	head := s.live(fenwick).Kept.Head
	shown := b.get("/case/HR-2041/settle")
	does := s.live(fenwick).Unsettled()[0].Proposal
	if shown.status != 200 || !shown.says("move it to "+does.Day.Time().Format("Mon 2 January 2006")) || s.live(fenwick).Kept.Head != head {
		t.Fatalf("%d\n%s", shown.status, shown.body)
	}
	wantGoodPage(t, shown.body)
	form := formTo(t, shown, "/case/HR-2041/settle", "settle-why")
	form.Set("why", "she is away")
	old := with2(form, "seen", "1")
	if got := b.post("/case/HR-2041/settle", old); got.status != 409 || fieldOf(t, got, "settle-why").attr["value"] != "she is away" {
		t.Errorf("an outdated page: %d\n%s", got.status, got.body)
	}
	got := b.post("/case/HR-2041/settle", form)
	if got.status != 200 || !got.says("Settled: 1 visit. Tell the patient") {
		t.Errorf("%d\n%s", got.status, got.body)
	}
	if v, _ := s.live(fenwick).Latest(wound); v.State != ledger.Booked || v.Slot != does || v.Why != "she is away" {
		t.Errorf("%+v", v)
	}
	if got := b.get("/case/HR-2041/settle"); !got.says("There is nothing to settle") {
		t.Errorf("%s", got.body)
	}
}

// TestOnlyASurgeonDecides posts what is a surgeon's as everybody else: refused by the
// desk, kept in the history as refused, and never offered by a page.
func TestOnlyASurgeonDecides(t *testing.T) {
	s := serve(t, "2027-02-01 08:30")
	s.admit("fenwick")
	for _, who := range []string{nurse, front} {
		b := s.as(who)
		for act, fields := range map[string][]string{
			"approve":  nil,
			"override": {"id", string(uncovering), "day", "2027-09-06", "why", "x"},
			"finding":  {"what", "infection", "day", "2027-02-01"},
		} {
			before := s.live(fenwick).Kept
			got := b.post("/case/HR-2041/"+act, s.acting(fenwick, graft.MilestoneID(uncovering), fields...))
			if got.status != 422 || !got.says("needs a surgeon; "+who) || s.live(fenwick).Kept != before {
				t.Errorf("%s %s: %d\n%s", who, act, got.status, got.body)
			}
			refused := map[string]string{"finding": "note"}[act]
			if e := s.lastEntry(fenwick); e.What != ledger.Refused || e.By.Name != who || !strings.HasPrefix(e.Now, cmp.Or(refused, act)+": ") || !strings.Contains(e.Now, "needs a surgeon") {
				t.Errorf("%s %s: the history says %+v", who, act, e)
			}
		}
		for _, path := range []string{"/case/HR-2041", stepOf(fenwick, uncovering)} {
			got := b.get(path)
			for _, f := range forms(t, got) {
				if strings.HasSuffix(f.to, "/approve") || strings.HasSuffix(f.to, "/override") || strings.HasSuffix(f.to, "/finding") {
					t.Errorf("%s offers %s to %s", path, f.to, who)
				}
			}
		}
	}
}
