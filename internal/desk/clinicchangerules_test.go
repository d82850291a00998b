package desk_test

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"graftclock/internal/casefile"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/protocol"
	"graftclock/internal/table"
)

func TestAdoptingARuleMakesItsFileAndTellsWho(t *testing.T) {
	k, store := keeping(t)
	files := clinicOnShelf(t)
	quill := acting(t, k, "Dr Alba Quill", "2027-01-18")
	files.texts["clinic-rules.yaml"] = "somebody's notes"
	d, err := k.AdoptRule(quill, files, k.Seen(), "share-to-hold", "0.9", "dense bone here")
	if err != nil {
		t.Fatal(err)
	}
	rule, _ := d.Rules.Lookup("share-to-hold")
	if d.Clinic.Protocol != "clinic-rules-2.yaml" || rule.Adopted == nil || rule.Adopted.By != quill.Name || rule.Adopted.On != quill.On || rule.Adopted.Why != "dense bone here" || rule.Value.Number != 0.9 {
		t.Errorf("%s: %+v", d.Clinic.Protocol, rule.Adopted)
	}
	if files.texts["clinic-rules.yaml"] != "somebody's notes" {
		t.Error("a file that the clinic file does not name was written over")
	}
	k = files.keeper(t, store)
	if k.Seen() != d.Seen() {
		t.Errorf("the files give %s, the desk that came back %s", k.Seen(), d.Seen())
	}
	_, err = k.AdoptRule(quill, files, k.Seen(), "share-to-hold", "0.9", "dense bone here")
	refusalOf(t, err, graft.Conflict, "share-to-hold is 0.9 share already")
	_, err = k.AdoptRule(quill, files, k.Seen(), "share-to-hold", "0.5", "x")
	var faults table.Faults
	if !errors.As(err, &faults) || faults[0].Path != "changes[0].value" || !strings.Contains(faults[0].Allowed, "0.8 to 1 share") {
		t.Errorf("%v", err)
	}
	_, err = k.AdoptRule(quill, files, "old+"+k.Rules.Digest(), "share-to-hold", "0.8", "x")
	refusalOf(t, err, graft.Conflict, "was changed meanwhile")
	_, err = k.AdoptRule(quill, files, k.Clinic.Digest+"+old", "share-to-hold", "0.8", "x")
	refusalOf(t, err, graft.Conflict, "was changed meanwhile")
	_, err = k.AdoptRule(quill, files, k.Seen(), "share-to-hold", "0.8", " ")
	refusalOf(t, err, graft.Invalid, "needs its reason")
	_, err = k.AdoptRule(quill, files, k.Seen(), "share-to-hol", "0.8", "x")
	refusalOf(t, err, graft.NotFound, "did you mean share-to-hold?")
	_, err = k.TakeBackRule(quill, files, k.Seen(), "growth-rate", "x")
	refusalOf(t, err, graft.Invalid, "no value of its own for the rule growth-rate")
	if d, err = k.TakeBackRule(quill, files, k.Seen(), "share-to-hold", "as before"); err != nil {
		t.Fatal(err)
	}
	if rule, _ := d.Rules.Lookup("share-to-hold"); rule.Adopted != nil || d.Rules.Version() != protocol.Default().Version() {
		t.Errorf("%+v", rule.Adopted)
	}
	var said []string
	for _, e := range aboutNoCase(t, store) {
		if e.What != ledger.Refused {
			said = append(said, fmt.Sprintf("%s | %s | %s | %s", e.What, e.Was, e.Now, e.Why))
		}
	}
	const adopted = "share-to-hold: 0.9 share; the clinic's own value, adopted by Dr Alba Quill on 2027-01-18: dense bone here (default 1.0 share)"
	want := []string{
		"adopt | share-to-hold: 1.0 share; the rule's own value | " + adopted + " | dense bone here",
		"clinic |  | own rule values in clinic-rules-2.yaml | dense bone here",
		"take back | " + adopted + " | share-to-hold: 1.0 share; the rule's own value | as before",
	}
	if !slices.Equal(said, want) {
		t.Errorf("the history says\n%s\nwant\n%s", strings.Join(said, "\n"), strings.Join(want, "\n"))
	}
}

// TestAnotherFileOfRulesCountsFromThenOn names one in the clinic file, and one that is
// not there.
func TestAnotherFileOfRulesCountsFromThenOn(t *testing.T) {
	k, store := keeping(t)
	files := clinicOnShelf(t)
	files.texts["own.yaml"] = "rules: 1\nadopted_by: Dr Alba Quill\nadopted_on: 2026-12-01\nchanges: [{id: share-to-hold, value: 0.9, reason: dense bone here}]\n"
	quill := acting(t, k, "Dr Alba Quill", "2027-01-18")
	name := func(k *desk.Keeper, file string) (*desk.Desk, error) {
		return k.ChangeClinic(quill, files, k.Seen(), []casefile.ClinicChange{casefile.SetProtocol{File: file}}, "")
	}
	d, err := name(k, "own.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if rule, _ := d.Rules.Lookup("share-to-hold"); rule.Adopted == nil {
		t.Error("the desk that came back does not go by the file")
	}
	was := files.texts["clinic.yaml"]
	_, err = name(files.keeper(t, store), "none.yaml")
	var faults table.Faults
	if !errors.As(err, &faults) || faults[0].Path != "protocol" || files.texts["clinic.yaml"] != was {
		t.Errorf("%v\n%s", err, files.texts["clinic.yaml"])
	}
	if d, err = name(files.keeper(t, store), ""); err != nil || d.Rules.Digest() != "" {
		t.Errorf("%v", err)
	}
}

// TestRulesNamedApartFromTheClinicFile adopts into the file that counts in place of the
// clinic file's.
func TestRulesNamedApartFromTheClinicFile(t *testing.T) {
	k, store := keeping(t)
	files := clinicOnShelf(t)
	files.rules = "apart.yaml"
	files.texts["apart.yaml"] = "rules: 1\nadopted_by: Dr Otto Brandt\nadopted_on: 2026-12-01\nchanges: [] # none yet\n"
	rules, faults := protocol.Default().Adopt("apart.yaml", []byte(files.texts["apart.yaml"]))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	k = desk.NewKeeper(desk.New(k.Clinic, rules), store)
	quill := acting(t, k, "Dr Alba Quill", "2027-01-18")
	d, err := k.AdoptRule(quill, files, k.Seen(), "share-to-hold", "0.9", "dense bone here")
	if err != nil {
		t.Fatal(err)
	}
	_, data := demo(t, "clinic.yaml")
	if d.Clinic.Protocol != "" || !bytes.Equal(data, []byte(files.texts["clinic.yaml"])) || !strings.HasSuffix(files.texts["apart.yaml"], "# none yet\n") {
		t.Errorf("%s\n%s", files.texts["clinic.yaml"], files.texts["apart.yaml"])
	}
}
