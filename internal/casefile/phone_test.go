package casefile_test

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"graftclock/internal/casefile"
)

const notDialled = "; want digits, blanks and + - ( ) / alone"

func TestTelephoneNumber(t *testing.T) {
	read := formOf(t, recordForm, "patient.phone")
	for _, text := range []string{
		"12345", "5550100", "+353 1 555 0100", "0035315550100", "(01) 555 0100", "+353 (0)1/555-0100", "01 / 555 - 0100", "1-2-3-4-5", "-12345", "(12345)", strings.Repeat("1", 30),
	} {
		if got := read(text); got != "" {
			t.Errorf("%q: %s", text, got)
		}
	}
	for _, c := range []struct{ name, text, want string }{
		{"none", "none", `"none" is no telephone number: it has 'n'` + notDialled},
		{"four digits", "+1 (2) 3/4", `"+1 (2) 3/4" is no telephone number: want at least 5 digits`},
		{"no digit", "+-()/", `"+-()/" is no telephone number: want at least 5 digits`},
		{"two numbers", "01 555 0100, 01 555 0101", `"01 555 0100, 01 555 0101" is no telephone number: it has ','` + notDialled},
		{"a word beside it", "01 555 0100 home", `"01 555 0100 home" is no telephone number: it has 'h'` + notDialled},
		{"extension", "01 555 0100 x12", `"01 555 0100 x12" is no telephone number: it has 'x'` + notDialled},
		{"dots", "01.555.0100", `"01.555.0100" is no telephone number: it has '.'` + notDialled},
		{"link", "tel:+35315550100", `"tel:+35315550100" is no telephone number: it has 't'` + notDialled},
		{"blank before", " 01 555 0100", `" 01 555 0100" is no telephone number: want no blank before or after it`},
		{"blank after", "01 555 0100 ", `"01 555 0100 " is no telephone number: want no blank before or after it`},
		{"blanks alone", "   ", "blank text; allowed: a telephone number such as +353 1 555 0100"},
		{"wide digits", "１２３４５", `"１２３４５" is no telephone number: it has '１'` + notDialled},
		{"hyphen of another kind", "01\u2011555 0100", `"01` + "\u2011" + `555 0100" is no telephone number: it has '` + "\u2011" + `'` + notDialled},
		{"blank that does not break", "01\u00a0555 0100", `"01\u00a0555 0100" is no telephone number: it has '\u00a0'` + notDialled},
		{"31 characters", strings.Repeat("1", 31), "31 characters; allowed: at most 30"},
		{"line break", "01 555 0100\n", `a line break or control character (U+000A) in "01 555 0100\n"; allowed: one line of text`},
		{"digits turned round", "01 555\u202e 0100", `a line break or control character (U+202E) in "01 555\u202e 0100"; allowed: one line of text`},
	} {
		if got := read(c.text); got != c.want {
			t.Errorf("%s:\ngot  %s\nwant %s", c.name, got, c.want)
		}
	}
}

// TestAnyTelephoneNumberComesThroughWhole sends drawn numbers by every way into a
// record and out again: a text of digits alone must not lose a nought or its +.
func TestAnyTelephoneNumberComesThroughWhole(t *testing.T) {
	record, _, faults, err := casefile.Change("case", []byte(example(t, "case.yaml")), []string{"patient.phone=none"})
	if err != nil || len(faults) > 0 || strings.Contains(string(record), "phone") {
		t.Fatalf("%v %v\n%s", err, faults, record)
	}
	read := formOf(t, recordForm, "patient.phone")
	rapid.Check(t, func(rt *rapid.T) {
		number := rapid.StringMatching(`\+?[0-9]{1,4}([ /(-]{0,2}[0-9]{1,3}\)?){2,6}`).Filter(func(s string) bool { return read(s) == "" }).Draw(rt, "number")
		kept, c, faults, err := casefile.Change("case", record, []string{"patient.phone=" + number})
		if err != nil || len(faults) > 0 || c.Patient.Phone != number {
			rt.Fatalf("changed: %q, %v %v", c.Patient.Phone, err, faults)
		}
		if form, faults := casefile.CaseOf("form", decoded(t, kept, inWords)); len(faults) > 0 || form.Patient.Phone != number {
			rt.Errorf("form: %q, %v", form.Patient.Phone, faults)
		}
		if twice := canonical(t, kept); string(twice) != string(kept) {
			rt.Errorf("written twice: %s", twice)
		}
		sheet := cells(t)[:2]
		sheet[1][slices.Index(sheet[0], "patient.phone")] = number
		if rows := casefile.ReadCSV("a.csv", text(sheet, ",")); len(rows) != 1 || len(rows[0].Faults) > 0 || rows[0].Case.Patient.Phone != number {
			rt.Errorf("sheet: %+v", rows)
		}
		if back, _, faults, err := casefile.Change("case", kept, []string{"patient.phone=none"}); err != nil || len(faults) > 0 || string(back) != string(record) {
			rt.Errorf("taken back: %v %v\n%s", err, faults, back)
		}
	})
}
