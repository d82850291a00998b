package desk_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// The roles of the clinic file, and a role that it does not know.
var everyRole = []string{"surgeon", "nurse", "hygienist", "desk", "visitor"}

// Who may do what. Whoever is signed in has a role of the clinic file; the last is
// there to see that an unknown one gets no more than the least.
var (
	everybody    = everyRole
	surgeons     = []string{"surgeon"}
	clinicPeople = []string{"surgeon", "desk"}
)

// scene is a case on which every act can be done by somebody who may.
type scene struct {
	keeper *desk.Keeper
	files  *shelfOfFiles
	id     graft.CaseID
	record []byte
	read   casefile.Case
}

// rightTo is an act with the roles that may do it.
type rightTo struct {
	name string
	may  []string
	do   func(s scene, a desk.Actor) error
}

var rights = []rightTo{
	{"admit a new record", everybody, func(s scene, a desk.Actor) error {
		record, c, faults, err := casefile.Change("another", s.record, []string{"case=HR-7777"})
		if err != nil || len(faults) > 0 {
			return errors.Join(err, faults)
		}
		return s.keeper.Admit(a, record, c, "").Err
	}},
	{"admit a kept record anew, with what is the patient's changed", everybody, func(s scene, a desk.Actor) error { return readmit(s, a, "patient.print=large") }},
	{"admit a kept record anew, with what is the surgery's changed", surgeons, func(s scene, a desk.Actor) error { return readmit(s, a, "surgery.sutures=resorbable") }},
	{"admit a kept record anew, with both changed", surgeons, func(s scene, a desk.Actor) error {
		return readmit(s, a, "patient.print=large", "sinuses[0].graft.additive=rhPDGF-BB")
	}},
	{"admit a kept record anew, unchanged", everybody, func(s scene, a desk.Actor) error { return readmit(s, a) }},
	{"set what is the patient's", everybody, func(s scene, a desk.Actor) error {
		_, err := s.keeper.Set(a, s.id, []string{"patient.print=large"}, "")
		return err
	}},
	{"set what is the surgery's", surgeons, func(s scene, a desk.Actor) error {
		_, err := s.keeper.Set(a, s.id, []string{"surgery.sutures=resorbable"}, "")
		return err
	}},
	{"amend what is the patient's", everybody, func(s scene, a desk.Actor) error { return amendTo(s, a, "patient.print=large") }},
	{"amend what is the surgery's", surgeons, func(s scene, a desk.Actor) error { return amendTo(s, a, "surgery.sutures=resorbable") }},
	{"record a finding", surgeons, func(s scene, a desk.Actor) error {
		_, err := s.keeper.AddFinding(a, s.id, map[string]string{"day": a.On.String(), "what": "infection", "side": "right"}, "")
		return err
	}},
	{"override", surgeons, func(s scene, a desk.Actor) error {
		_, err := s.keeper.Override(a, s.id, theStep(graft.Uncovering), on("2027-09-06"), "because")
		return err
	}},
	{"approve", surgeons, func(s scene, a desk.Actor) error {
		_, err := s.keeper.Approve(a, s.id)
		return err
	}},
	{"book inside the window", everybody, func(s scene, a desk.Actor) error {
		_, _, err := s.keeper.Book(a, s.id, theStep(graft.LateCheck), at("2027-02-11", "10:00"), "")
		return err
	}},
	{"book before the gate", surgeons, func(s scene, a desk.Actor) error {
		_, _, err := s.keeper.Book(a, s.id, theStep(graft.Uncovering), at("2027-07-29", "10:00"), "earlier")
		return err
	}},
	{"move", everybody, func(s scene, a desk.Actor) error {
		_, _, err := s.keeper.Move(a, s.id, wound(), at("2027-01-26", "10:00"), "")
		return err
	}},
	{"hold", everybody, func(s scene, a desk.Actor) error {
		_, _, err := s.keeper.Hold(a, s.id, theStep(graft.HealingReview), "")
		return err
	}},
	{"cancel", everybody, func(s scene, a desk.Actor) error {
		_, _, err := s.keeper.Cancel(a, s.id, wound(), "")
		return err
	}},
	{"missed", everybody, func(s scene, a desk.Actor) error {
		a.On = on("2027-01-26")
		_, _, err := s.keeper.Missed(a, s.id, wound(), "")
		return err
	}},
	{"attended", everybody, func(s scene, a desk.Actor) error {
		a.On = on("2027-01-26")
		_, _, err := s.keeper.Attended(a, s.id, wound(), day.Day{}, "")
		return err
	}},
	{"note a call", everybody, func(s scene, a desk.Actor) error {
		_, err := s.keeper.Contact(a, s.id, wound(), ledger.Confirmed, "")
		return err
	}},
	{"open and end a feed", everybody, func(s scene, a desk.Actor) error {
		if _, err := s.keeper.OpenFeed(a, s.id, "", "token"); err != nil {
			return err
		}
		_, err := s.keeper.RevokeFeed(a, s.id)
		return err
	}},
	{"open and end the desk's feed", everybody, func(s scene, a desk.Actor) error {
		if _, err := s.keeper.OpenDeskFeed(a, "", "token"); err != nil {
			return err
		}
		_, err := s.keeper.RevokeDeskFeed(a, "")
		return err
	}},
	{"set one's own password", everybody, func(s scene, a desk.Actor) error {
		return s.keeper.SetPassword(a, a.Name, "nine quiet herons")
	}},
	{"set another's password", surgeons, func(s scene, a desk.Actor) error {
		return s.keeper.SetPassword(a, other(a), "nine quiet herons")
	}},
	{"end another's sign-in", surgeons, func(s scene, a desk.Actor) error {
		return s.keeper.EndAccount(a, "Ida Marlow")
	}},
	{"add a closure", clinicPeople, func(s scene, a desk.Actor) error {
		_, err := s.keeper.ChangeClinic(a, s.files, s.keeper.Seen(), []casefile.ClinicChange{casefile.AddClosure{Closure: clinic.Closure{From: on("2027-05-04"), To: on("2027-05-05"), Name: "Painters"}}}, "")
		return err
	}},
	{"adopt a rule value", surgeons, func(s scene, a desk.Actor) error {
		_, err := s.keeper.AdoptRule(a, s.files, s.keeper.Seen(), "staged-uncovering", "3mo", "because")
		return err
	}},
	{"keep and drop a draft", everybody, func(s scene, a desk.Actor) error {
		return errors.Join(s.keeper.KeepDraft(a, "record", []byte("{}")), s.keeper.DropDraft(a, "record"))
	}},
}

// readmit takes the record of the kept case in once more, with changes.
func readmit(s scene, a desk.Actor, changes ...string) error {
	record, c, faults, err := casefile.Change("the record", s.record, changes)
	if err != nil || len(faults) > 0 {
		return errors.Join(err, faults)
	}
	return s.keeper.Admit(a, record, c, "the file is right").Err
}

func amendTo(s scene, a desk.Actor, change string) error {
	record, _, faults, err := casefile.Change("the record", s.record, []string{change})
	if err != nil || len(faults) > 0 {
		return errors.Join(err, faults)
	}
	_, err = s.keeper.Amend(a, s.id, record, "")
	return err
}

// other is a person of the clinic who is not the one who acts.
func other(a desk.Actor) string {
	if a.Name == "Nurse Wyn Tate" {
		return "Ida Marlow"
	}
	return "Nurse Wyn Tate"
}

// TestRolesAndActs tries every act in every role: who may, does it; who may not is
// refused with the words that say whom it needs, and changes nothing (OWASP ASVS 4.0.3,
// 4.1.1 and 4.1.2).
func TestRolesAndActs(t *testing.T) {
	for _, d := range rights {
		for _, role := range everyRole {
			t.Run(d.name+" as "+role, func(t *testing.T) {
				t.Parallel()
				s := setScene(t)
				a := inRole(t, s.keeper, role)
				was := headOf(t, s.keeper, s.id)
				err := d.do(s, a)
				if slices.Contains(d.may, role) {
					if err != nil {
						t.Errorf("may, and is refused: %v", err)
					}
					return
				}
				var refusal *graft.Refusal
				if !errors.As(err, &refusal) || refusal.Kind != graft.Invalid || !strings.Contains(refusal.Message+refusal.Hint, "surgeon") {
					t.Errorf("may not, and got %v", err)
				}
				if now := headOf(t, s.keeper, s.id); now != was || s.files.swaps > 0 {
					t.Error("refused, and something is changed")
				}
			})
		}
	}
}

// setScene is fenwick's case with the wound check booked.
func setScene(t *testing.T) scene {
	t.Helper()
	_, store := keeping(t)
	files := clinicOnShelf(t)
	k := files.keeper(t, store)
	quill := acting(t, k, "Dr Alba Quill", "2027-01-18")
	id := admit(t, k, quill, "fenwick")
	if _, _, err := k.Book(quill, id, wound(), at("2027-01-25", "10:00"), ""); err != nil {
		t.Fatal(err)
	}
	if err := k.SetPassword(quill, "Ida Marlow", "nine quiet herons at dusk"); err != nil {
		t.Fatal(err)
	}
	revision, err := k.Record(id, 0)
	if err != nil {
		t.Fatal(err)
	}
	live, err := k.Live(id, quill.On)
	if err != nil {
		t.Fatal(err)
	}
	return scene{k, files, id, revision.Record, live.Case}
}

// inRole is a person of the clinic file in a role; where the file has nobody of that
// role, one of its people in a role that they do not have there.
func inRole(t *testing.T, k *desk.Keeper, role string) desk.Actor {
	t.Helper()
	name := map[string]string{"surgeon": "Dr Alba Quill", "desk": "Ida Marlow"}[role]
	if name == "" {
		name = "Nurse Wyn Tate"
	}
	a := acting(t, k, name, "2027-01-18")
	a.Role = role
	return a
}
