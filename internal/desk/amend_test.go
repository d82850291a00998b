package desk_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/reference"
	"graftclock/internal/table"
)

// amended is the record of a case with changes, as a form would send it.
func amended(t *testing.T, record []byte, changes ...string) []byte {
	t.Helper()
	text, _, faults, err := casefile.Change("the form", record, changes)
	if err != nil || len(faults) > 0 {
		t.Fatal(err, faults)
	}
	return text
}

// TestWhoMayAmendWhat: the patient's part anybody, all else a surgeon, and a record in
// which both are changed a surgeon too.
func TestWhoMayAmendWhat(t *testing.T) {
	k, _ := keeping(t)
	id := admit(t, k, acting(t, k, "Ida Marlow", "2027-01-14"), "fenwick")
	for n, c := range []struct {
		who     string
		changes []string
		may     bool
	}{
		{"Ida Marlow", []string{"patient.phone=+353 1 555 0777"}, true},
		{"Nurse Wyn Tate", []string{"patient.unavailable+=2027-09-01", "patient.print=large"}, true},
		{"Ida Marlow", []string{"surgery.sutures=resorbable"}, false},
		{"Nurse Wyn Tate", []string{"patient.print=normal", "sinuses[0].graft.additive=rhPDGF-BB"}, false},
		{"Ida Marlow", []string{"surgery.referrer=none"}, false},
		{"Dr Alba Quill", []string{"surgery.sutures=resorbable", "patient.print=normal"}, true},
	} {
		before, err := k.Record(id, 0)
		if err != nil {
			t.Fatal(err)
		}
		live, err := k.Amend(acting(t, k, c.who, "2027-01-15"), id, amended(t, before.Record, c.changes...), "asked for")
		if (err == nil) != c.may {
			t.Errorf("%d: %s: %v", n, c.who, err)
		}
		if !c.may {
			refusalOf(t, err, graft.Invalid, "needs a surgeon; "+c.who)
			continue
		}
		if live.Kept.Revision != before.Number+1 || live.Approval != nil || live.Revision.By != c.who || live.Revision.Why != "asked for" {
			t.Errorf("%d: revision %d by %s", n, live.Kept.Revision, live.Revision.By)
		}
	}
}

// TestTheDeskTakesNoSurgicalFactInAnew takes a record of a kept case in at the desk, with
// the surgery changed: it is refused as set refuses it, reason or not, and with the
// patient's part alone it is a revision.
func TestTheDeskTakesNoSurgicalFactInAnew(t *testing.T) {
	k, store := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	id := admit(t, k, ida, "fenwick")
	kept, err := k.Record(id, 0)
	if err != nil {
		t.Fatal(err)
	}
	take := func(a desk.Actor, why string, changes ...string) desk.Admitted {
		record, c, faults, err := casefile.Change("the file", kept.Record, changes)
		if err != nil || len(faults) > 0 {
			t.Fatal(err, faults)
		}
		return k.Admit(a, record, c, why)
	}
	for _, why := range []string{"", "the file is right"} {
		did := take(ida, why, "patient.print=large", "surgery.day=2027-01-15")
		refusalOf(t, did.Err, graft.Invalid, "changing surgery.day: 2027-01-14 -> 2027-01-15 needs a surgeon; Ida Marlow is desk")
		if got, want := lastEntry(t, store), "refused|Ida Marlow|desk|"+string(id)+"||admit: changing surgery.day: 2027-01-14 -> 2027-01-15 needs a surgeon"; !strings.HasPrefix(got, want) {
			t.Errorf("history: %s", got)
		}
		if now, err := k.Record(id, 0); err != nil || now.Number != 1 {
			t.Fatalf("revision %d, %v", now.Number, err)
		}
	}
	if _, err := k.Set(acting(t, k, "Dr Alba Quill", "2027-01-18"), id, []string{"surgery.sutures=resorbable"}, ""); err != nil {
		t.Fatal(err)
	}
	refusalOf(t, take(ida, "", "patient.print=large").Err, graft.Invalid, "needs a surgeon; Ida Marlow is desk")
	if did := take(acting(t, k, "Dr Alba Quill", "2027-01-18"), "the file is right", "patient.print=large"); did.Err != nil || did.Revision != 3 {
		t.Errorf("a surgeon: %+v", did)
	}
	if did := take(ida, "", "patient.phone=+353 1 555 0777"); did.Err != nil || did.Did != "revised" || did.Revision != 4 {
		t.Errorf("the patient's part: %+v", did)
	}
}

func TestAnAmendedRecordIsReadAsAnyOther(t *testing.T) {
	k, _ := keeping(t)
	quill := acting(t, k, "Dr Alba Quill", "2027-01-14")
	id := admit(t, k, quill, "fenwick")
	kept, err := k.Record(id, 0)
	if err != nil {
		t.Fatal(err)
	}
	_, err = k.Amend(quill, id, []byte(strings.Replace(string(kept.Record), "right", "rigth", 1)), "")
	var faults table.Faults
	if !errors.As(err, &faults) {
		t.Errorf("a faulty record: %v", err)
	}
	_, err = k.Amend(quill, id, amended(t, kept.Record, "case=HR-9999"), "")
	refusalOf(t, err, graft.Invalid, "the number of a case stays what it is")
	_, err = k.Amend(quill, id, kept.Record, "")
	refusalOf(t, err, graft.Conflict, "says that already")
	if _, err := k.Set(quill, id, []string{"patient.print=large"}, ""); err != nil {
		t.Fatal(err)
	}
	late := quill
	late.Seen = 1
	_, err = k.Amend(late, id, amended(t, kept.Record, "surgery.sutures=resorbable"), "")
	refusalOf(t, err, graft.Conflict, "changed meanwhile")
}

func TestANewCaseNeverTakesTheNumberOfAnother(t *testing.T) {
	k, _ := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-14")
	data, err := os.ReadFile(filepath.Join(reference.Root(), "testdata", "demo", "okafor.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	record, c, faults := casefile.Canonical("okafor", data)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if err := k.AdmitNew(ida, record, c, "typed in"); err != nil {
		t.Fatal(err)
	}
	refusalOf(t, k.AdmitNew(ida, record, c, ""), graft.Conflict, "kept already, for Teni Okafor")
	kept, err := k.Record(c.ID, 0)
	if err != nil || kept.Number != 1 || kept.Source != "admit" || string(kept.Record) != string(record) {
		t.Errorf("revision %d, %s, %v", kept.Number, kept.Source, err)
	}
}

// TestSectionsAreThoseOfTheSurgeonsPage: the same picture, the same months.
func TestSectionsAreThoseOfTheSurgeonsPage(t *testing.T) {
	k, _ := keeping(t)
	quill := acting(t, k, "Dr Alba Quill", "2027-01-14")
	id := admit(t, k, quill, "petrov")
	live, err := k.Live(id, on("2027-01-14"))
	if err != nil {
		t.Fatal(err)
	}
	sections, err := k.Sections(live.Case.Case)
	if err != nil || len(sections) != len(live.Timeline.Implants) {
		t.Fatal(len(sections), err)
	}
	out, err := k.ReportFiles(live.Plan, live.Revision.Record, "report.html")
	if err != nil {
		t.Fatal(err)
	}
	page := string(out.Files[0].Data)
	for n, s := range sections {
		if clock := live.Timeline.Implants[n]; s.Clock.ToFull != clock.ToFull || s.Clock.Tooth != clock.Tooth || s.Drawing.ID != fmt.Sprintf("section-%d", clock.Tooth) {
			t.Errorf("implant %d: %v, not %v", clock.Tooth, s.Clock, clock)
		}
		if !strings.Contains(page, string(s.Drawing.SVG())) {
			t.Errorf("implant %d is drawn otherwise", s.Clock.Tooth)
		}
	}
}

// TestAPlanOfAFormIsThatOfItsRevision: with visits attended, booked and overridden, the
// plan of a record that is still a form is the plan that keeping it makes; nothing is
// changed by asking.
func TestAPlanOfAFormIsThatOfItsRevision(t *testing.T) {
	k, store := keeping(t)
	quill := acting(t, k, "Dr Alba Quill", "2027-04-20")
	id := admit(t, k, quill, "fenwick")
	for _, c := range []struct {
		step graft.Step
		on   string
	}{{graft.PhoneCall, "2027-01-15"}, {graft.WoundCheck, "2027-01-25"}, {graft.LateCheck, "2027-02-12"}} {
		if _, _, err := k.Attended(quill, id, theStep(c.step), on(c.on), ""); err != nil {
			t.Fatal(err)
		}
	}
	if _, _, err := k.Book(quill, id, theStep(graft.Uncovering), at("2027-08-24", "10:00"), ""); err != nil {
		t.Fatal(err)
	}
	if _, err := k.Override(quill, id, theStep(graft.Impression), on("2027-10-04"), "after the fair"); err != nil {
		t.Fatal(err)
	}
	kept, err := k.Record(id, 0)
	if err != nil {
		t.Fatal(err)
	}
	for n, changes := range [][]string{{"patient.print=large"}, {"surgery.day=2027-01-13"}, {"sinuses[0].implants[1].residual_bone_mm=1"}, {"patient.unavailable+=2027-08-24"}} {
		entries := len(entriesOf(t, store))
		record, c, faults := casefile.Canonical("the form", amended(t, kept.Record, changes...))
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		plan, err := k.PlanWith(id, c, quill.On)
		if err != nil || len(entriesOf(t, store)) != entries {
			t.Fatalf("%v: %v, or something is written", changes, err)
		}
		live, err := k.Amend(quill, id, record, "")
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(live.Timeline, plan.Timeline, cmp.Comparer(func(a, b day.Day) bool { return a == b })); diff != "" {
			t.Errorf("%d, %v (-kept +asked):\n%s", n, changes, diff)
		}
	}
	if _, err := k.PlanWith("HR-9999", casefile.Case{}, quill.On); !isRefusal(err) {
		t.Errorf("of no case: %v", err)
	}
}
