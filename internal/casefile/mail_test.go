package casefile_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"graftclock/internal/casefile"
	"graftclock/internal/graft"
)

// withoutMail is the example in canonical form, without the choice of e-mail.
func withoutMail(t testing.TB) []byte {
	t.Helper()
	text, c, faults, err := casefile.Change("case", []byte(example(t, "case.yaml")), []string{"patient.mail=none"})
	if err != nil || len(faults) > 0 || c.Patient.Mail != (graft.Mail{}) || strings.Contains(string(text), "mail") {
		t.Fatalf("%v %v\n%s", err, faults, text)
	}
	return text
}

// TestChoiceOfMailIsMadeWholeOrNotAtAll records it key by key.
func TestChoiceOfMailIsMadeWholeOrNotAtAll(t *testing.T) {
	record := withoutMail(t)
	const address, agreed, letter = "patient.mail.address=ida@example.org", "patient.mail.agreed=2027-06-01", "patient.mail.letter=false"
	const noAddress, noDay, noWord = "case: patient.mail.address: missing; allowed: an e-mail address such as name@example.org", "case: patient.mail.agreed: missing; allowed: a day as YYYY-MM-DD", "case: patient.mail.letter: missing; allowed: true or false"
	for _, c := range []struct {
		name    string
		changes []string
		want    []string // faults
	}{
		{"whole", []string{address, agreed, letter}, nil},
		{"in another order", []string{letter, agreed, address}, nil},
		{"address alone", []string{address}, []string{noDay, noWord}},
		{"no word on the letter", []string{agreed, address}, []string{noWord}},
		{"letter alone", []string{letter}, []string{noAddress, noDay}},
		{"address taken away", []string{address, agreed, letter, "patient.mail.address=none"}, []string{`case: patient.mail.address: "none" is no e-mail address: want one such as name@example.org`}},
		{"address left empty", []string{"patient.mail.address=", agreed, letter}, []string{"case: patient.mail.address: no value; allowed: an e-mail address such as name@example.org"}},
		{"letter as yes", []string{address, agreed, "patient.mail.letter=yes"}, []string{`case: patient.mail.letter: "yes"; allowed: true or false`}},
		{"unknown key", []string{address, agreed, letter, "patient.mail.addres=x"}, []string{"case: patient.mail.addres: unknown key; allowed: address, agreed, letter; did you mean address?"}},
		{"a word for all of it", []string{"patient.mail=ida@example.org"}, []string{`case: patient.mail: "ida@example.org"; allowed: a map of address, agreed, letter`}},
	} {
		text, changed, faults, err := casefile.Change("case", record, c.changes)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		if diff := cmp.Diff(c.want, withoutPlaces(faults)); diff != "" {
			t.Errorf("%s: faults (-want +got):\n%s", c.name, diff)
		}
		if len(c.want) > 0 {
			continue
		}
		if want := (graft.Mail{Address: "ida@example.org", Agreed: dayOf(t, "2027-06-01")}); changed.Patient.Mail != want {
			t.Errorf("%s: got %+v", c.name, changed.Patient.Mail)
		}
		if diff := cmp.Diff([]string{"patient.mail: (not recorded) -> {address: ida@example.org, agreed: 2027-06-01, letter: false}"}, casefile.Differences(record, text)); diff != "" {
			t.Errorf("%s: differences (-want +got):\n%s", c.name, diff)
		}
	}
}

// mailColumns returns the arrivals with the columns of the choice of e-mail, the
// cells of each line given.
func mailColumns(t *testing.T, lines ...[]string) []byte {
	rows := cells(t)[:len(lines)+1]
	rows[0] = append(rows[0], "patient.mail.address", "patient.mail.agreed", "patient.mail.letter")
	for n, cells := range lines {
		rows[n+1] = append(rows[n+1], cells...)
	}
	return text(rows, ",")
}

func TestChoiceOfMailFromASheet(t *testing.T) {
	rows := casefile.ReadCSV("a.csv", mailColumns(t, []string{"orla@example.org", "2027-03-01", "TRUE"}, []string{"", "", ""}, []string{" o'hara+x@example.org ", "2027-04-02", "false"}))
	want := []graft.Mail{{Address: "orla@example.org", Agreed: dayOf(t, "2027-03-01"), Letter: true}, {}, {Address: "o'hara+x@example.org", Agreed: dayOf(t, "2027-04-02")}}
	for n, r := range rows {
		if len(r.Faults) > 0 || r.Case.Patient.Mail != want[n] {
			t.Errorf("line %d: got %+v, %v", r.Line, r.Case.Patient.Mail, r.Faults)
		}
		if again, faults := casefile.ReadCase("a.csv", r.Canonical); len(faults) > 0 || again.Patient.Mail != want[n] {
			t.Errorf("line %d, as kept: got %+v, %v", r.Line, again.Patient.Mail, faults)
		}
	}
	rows = casefile.ReadCSV("a.csv", mailColumns(t, []string{"orla@example.org", "", ""}, []string{"", "2027-02-29", "yes"}, []string{"Orla <orla@example.org>", "2027-04-02", "false"}))
	var got []string
	for _, complaint := range complaintsOf(rows) {
		_, says, _ := strings.Cut(complaint, ": ")
		got = append(got, says)
		line, column := 0, 0
		for _, r := range rows {
			for _, f := range r.Faults {
				if strings.HasSuffix(f.String(), complaint) {
					line, column = f.Line, f.Column
				}
			}
		}
		if line < 2 || column < 200 {
			t.Errorf("%s: line %d, column %d: want the cell's own place", complaint, line, column)
		}
	}
	wantFaults := []string{
		"patient.mail.agreed: missing; allowed: a day as YYYY-MM-DD",
		"patient.mail.letter: missing; allowed: true or false",
		"patient.mail.address: missing; allowed: an e-mail address such as name@example.org",
		`patient.mail.agreed: "2027-02-29" is no day: February 2027 has 28 days`,
		`patient.mail.letter: "yes"; allowed: true or false`,
		`patient.mail.address: "Orla <orla@example.org>" is no e-mail address: want the address alone, orla@example.org`,
	}
	if diff := cmp.Diff(wantFaults, got); diff != "" {
		t.Errorf("faults (-want +got):\n%s", diff)
	}
	rows = casefile.ReadCSV("a.csv", []byte("case,patient.mail\nHR-1,orla@example.org\n"))
	if diff := cmp.Diff([]string{"1:6: patient.mail: a map, which fills no single cell; allowed: its keys: patient.mail.address, patient.mail.agreed, patient.mail.letter"}, complaintsOf(rows)); diff != "" {
		t.Errorf("one column for all of it (-want +got):\n%s", diff)
	}
}

// TestAnyAddressComesThroughWhole sends drawn addresses by every way into a record
// and out again.
func TestAnyAddressComesThroughWhole(t *testing.T) {
	record := withoutMail(t)
	rapid.Check(t, func(rt *rapid.T) {
		address := rapid.StringMatching(casefile.MailAddress.Pattern).Filter(func(s string) bool { return casefile.MailAddress.Check(s) == nil }).Draw(rt, "address")
		letter := rapid.SampledFrom([]string{"true", "false", "TRUE"}).Draw(rt, "letter")
		agreed := rapid.SampledFrom([]string{"1999-12-31", "2027-01-14", "2199-12-31"}).Draw(rt, "agreed")
		want := graft.Mail{Address: address, Agreed: dayOf(t, agreed), Letter: strings.EqualFold(letter, "true")}

		kept, c, faults, err := casefile.Change("case", record, []string{"patient.mail.letter=" + letter, "patient.mail.address=" + address, "patient.mail.agreed=" + agreed})
		if err != nil || len(faults) > 0 || c.Patient.Mail != want {
			rt.Fatalf("changed: %+v, %v %v", c.Patient.Mail, err, faults)
		}
		form, faults := casefile.CaseOf("form", decoded(t, kept, inWords))
		if len(faults) > 0 || form.Patient.Mail != want {
			rt.Errorf("form: %+v, %v", form.Patient.Mail, faults)
		}
		if twice := canonical(t, kept); string(twice) != string(kept) {
			rt.Errorf("written twice:\n%s", cmp.Diff(string(kept), string(twice)))
		}
		rows := casefile.ReadCSV("a.csv", mailColumns(t, []string{address, agreed, letter}))
		if len(rows) != 1 || len(rows[0].Faults) > 0 || rows[0].Case.Patient.Mail != want {
			rt.Errorf("sheet: %+v", rows)
		}
		if back, _, faults, err := casefile.Change("case", kept, []string{"patient.mail=none"}); err != nil || len(faults) > 0 || string(back) != string(record) {
			rt.Errorf("taken back: %v %v\n%s", err, faults, back)
		}
	})
}
