package casefile_test

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// arrivals returns the file of invented patients.
func arrivals(t testing.TB) string {
	t.Helper()
	data, err := os.ReadFile("../../testdata/demo/arrivals.csv")
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func TestArrivalsReadWithoutFault(t *testing.T) {
	rows := casefile.ReadCSV("arrivals.csv", []byte(arrivals(t)))
	var got []string
	for n, r := range rows {
		if len(r.Faults) > 0 {
			t.Fatal(r.Faults)
		}
		got = append(got, fmt.Sprintf("%s on %s, implants %d", r.Case.ID, r.Case.Surgery.Day, len(r.Case.Sinuses[0].Implants)))
		if diff := cmp.Diff(string(canonical(t, r.Canonical)), string(r.Canonical)); diff != "" {
			t.Errorf("%s is not in canonical form (-want +got):\n%s", r.Case.ID, diff)
		}
		if want := fmt.Sprintf("arrivals.csv line %d", n+2); r.Line != n+2 || r.Case.File != want || r.Case.Lines["case"] != 2 {
			t.Errorf("row %d: line %d, file %q, case on line %d", n, r.Line, r.Case.File, r.Case.Lines["case"])
		}
	}
	want := []string{"HR-2051 on 2027-03-16, implants 2", "HR-2053 on 2027-03-23, implants 1", "HR-2054 on 2027-04-20, implants 1", "HR-2055 on 2027-06-08, implants 1"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Fatalf("cases (-want +got):\n%s", diff)
	}
	first, second := rows[0].Case, rows[1].Case
	if diff := cmp.Diff([]day.Span{{From: dayOf(t, "2027-09-06"), To: dayOf(t, "2027-09-17")}, {From: dayOf(t, "2027-10-01"), To: dayOf(t, "2027-10-01")}}, first.Patient.Unavailable, sameDay); diff != "" {
		t.Errorf("days apart by semicolons (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]graft.Flag{graft.ControlledDiabetes, graft.Anticoagulant}, second.Patient.Flags); diff != "" {
		t.Errorf("flags (-want +got):\n%s", diff)
	}
	if p := second.Sinuses[0].Perforation; p == nil || *p != (graft.Perforation{SizeMM: 4, Repaired: true}) || first.Sinuses[0].Perforation != nil {
		t.Errorf("perforations %v and %v", first.Sinuses[0].Perforation, p)
	}
}

// table of cells that a test spoils: the first line and the arrivals below it.
func cells(t testing.TB) [][]string {
	var rows [][]string
	for _, line := range strings.Split(strings.TrimSpace(arrivals(t)), "\n") {
		rows = append(rows, strings.Split(line, ","))
	}
	return rows
}

func text(rows [][]string, separator string) []byte {
	var lines []string
	for _, r := range rows {
		lines = append(lines, strings.Join(r, separator))
	}
	return []byte(strings.Join(lines, "\n") + "\n")
}

// complaintsOf returns all faults of all rows.
func complaintsOf(rows []casefile.Row) []string {
	var list []string
	for _, r := range rows {
		list = append(list, complaints("a.csv", r.Faults)...)
	}
	return list
}

func TestCSVInOtherHands(t *testing.T) {
	want := casefile.ReadCSV("a.csv", []byte(arrivals(t)))
	same := func(name string, data []byte) {
		t.Helper()
		var faults []string
		var texts [2][]string
		rows := casefile.ReadCSV("a.csv", data)
		for n, list := range [][]casefile.Row{want, rows} {
			for _, r := range list {
				texts[n] = append(texts[n], string(r.Canonical))
			}
		}
		faults = complaintsOf(rows)
		if diff := cmp.Diff(texts[0], texts[1]); diff != "" || len(faults) > 0 {
			t.Errorf("%s: %q (-want +got):\n%s", name, faults, diff)
		}
	}
	plain := arrivals(t)
	same("byte order mark", []byte("\ufeff"+plain))
	same("CRLF", []byte(strings.ReplaceAll(plain, "\n", "\r\n")))
	same("no line end at the end", []byte(strings.TrimSuffix(plain, "\n")))
	same("semicolons left over", []byte(strings.ReplaceAll(plain, "controlled diabetes; anticoagulant", ";controlled diabetes;; anticoagulant ; ")))
	same("empty lines", []byte("\n"+strings.ReplaceAll(plain, "\n", "\n\n")+strings.Repeat(",", 50)+"\n"))
	rows := cells(t)
	width := len(rows[0])
	for _, r := range rows {
		for n := range r {
			r[n] = ` "` + r[n] + "\r\n\"" // a blank before, a line break at the end
		}
	}
	same("quoted, with line breaks", text(rows, ","))
	same("semicolons", text(rows, ";"))
	rows = cells(t)
	for _, r := range rows {
		slices.Reverse(r)
	}
	same("columns in another order", text(rows, ","))
	rows = cells(t)
	for n, r := range rows {
		rows[n] = append(r, []string{"record", "1", "", "1.0", "1"}[n])
	}
	same("column record", text(rows, ","))
	if got := complaintsOf(casefile.ReadCSV("a.csv", []byte("case;record\n\"a,b,c,d,e\";x\n"))); len(got) != 4 || !slices.ContainsFunc(got, func(s string) bool { return strings.HasPrefix(s, `2:13: record: "x"`) }) {
		t.Errorf("commas below a heading with semicolons: %q", got)
	}
	if len(rows[0]) != width+1 {
		t.Fatal("no column was added")
	}
}

// TestCSVRowsAreRefusedWithTheirPlace spoils cells of the file by column and
// line.
func TestCSVRowsAreRefusedWithTheirPlace(t *testing.T) {
	for _, c := range []struct {
		name   string
		column string
		line   int
		to     string
		want   []string
	}{
		{"a day that is none", "surgery.day", 3, "2027-02-29", []string{`3:77: surgery.day: "2027-02-29" is no day: February 2027 has 28 days`}},
		{"decimal comma in quotation marks", "sinuses[0].widths[0].mm", 4, `"12,5"`, []string{`4:123: sinuses[0].widths[0].mm: "12,5"; allowed: a number from 2 to 39 mm; write a decimal point: 12.5`}},
		{"names of any letters", "patient.name", 4, "Šimůnková 🦷", []string(nil)},
		{"one flag of two", "patient.flags", 3, "anticoagulant; smokr", []string{`3:42: patient.flags[1]: "smokr"; allowed: smoker, controlled diabetes, uncontrolled diabetes, antiresorptive drug, head and neck radiotherapy, positive-pressure mask, anticoagulant; did you mean smoker?`}},
		{"cell left empty", "patient.print", 2, "", []string{"2:27: patient.print: missing; allowed: normal, large"}},
		{"key that another needs", "sinuses[0].implants[0].loading", 2, "", []string{"2:256: sinuses[0].implants[0].loading: missing; allowed: protected, not protected; needed when placed with the graft"}},
		{"word and measures", "sinuses[0].perforation", 3, "none", []string{
			"3:154: sinuses[0].perforation.size_mm: 4, though sinuses[0].perforation says none; allowed: one of the two",
			"3:156: sinuses[0].perforation.repaired: true, though sinuses[0].perforation says none; allowed: one of the two"}},
		{"measure without the other", "sinuses[0].perforation.repaired", 3, "", []string{"3:152: sinuses[0].perforation.repaired: missing; allowed: true or false"}},
		{"first entry empty, second filled", "sinuses[0].widths[1].mm", 3, "14", []string{"3:162: sinuses[0].widths[1]: a width without its level; allowed: above_floor_mm or above_crest_mm; the same sinus is twice as wide a few millimetres higher"}},
		{"case of an earlier line", "case", 4, "HR-2051", []string{"4:1: case: HR-2051, which stands on line 2 already; allowed: each case once"}},
		{"line break inside a name", "patient.name", 2, "\"Orla\nWhitcombe\"", []string{`2:9: patient.name: a line break or control character (U+000A) in "Orla\nWhitcombe"; allowed: one line of text`}},
		{"one cell more", "patient.name", 3, "Jonas,Ferreby", []string{"3:1: 53 cells; allowed: 52, as in the first line"}},
		{"a quotation mark in the middle", "patient.name", 3, `Jo "Jo" Ash`, []string{"3:1: a quotation mark out of place or without its mate, seen on line 3; a cell that holds one stands in quotation marks, and the one in it is doubled; the file was read no further"}},
		{"a quotation mark without its mate", "patient.name", 3, `"Jo Ash`, []string{"3:1: a quotation mark out of place or without its mate, seen on line 5; a cell that holds one stands in quotation marks, and the one in it is doubled; the file was read no further"}},
		{"quotation marks as they should be", "patient.name", 3, `"Jo ""Jo"" Ash"`, []string(nil)},
	} {
		t.Run(c.name, func(t *testing.T) {
			rows := cells(t)
			at := slices.Index(rows[0], c.column)
			rows[c.line-1][at] = c.to
			if diff := cmp.Diff(c.want, complaintsOf(casefile.ReadCSV("a.csv", text(rows, ",")))); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
			wantSameChecked(t, text(rows, ","))
		})
	}
	rows := cells(t)
	rows[3][0], rows[3][1] = "HR-2051", "Ö" // bytes and characters part ways
	rows[3][2] = "english"
	rows[1][7] = "2027-02-30"
	want := []string{
		`2:84: surgery.day: "2027-02-30" is no day: February 2027 has 28 days`,
		"4:1: case: HR-2051, which stands on line 2 already; allowed: each case once",
		`4:11: patient.language: "english" is no language tag: want one such as en or pt-BR (BCP 47)`,
	}
	read := casefile.ReadCSV("a.csv", text(rows, ","))
	if diff := cmp.Diff(want, complaintsOf(read)); diff != "" {
		t.Errorf("all faults of all rows (-want +got):\n%s", diff)
	}
	for _, r := range read {
		if (r.Canonical == nil) != (len(r.Faults) > 0) {
			t.Errorf("line %d has %d faults and %d bytes of text", r.Line, len(r.Faults), len(r.Canonical))
		}
	}
}

// wantSameChecked wants who only asks what is wrong to hear the same.
func wantSameChecked(t *testing.T, data []byte) {
	t.Helper()
	read, checked := casefile.ReadCSV("a.csv", data), casefile.CheckCSV("a.csv", data)
	for _, rows := range [][]casefile.Row{read, checked} {
		for n := range rows {
			rows[n].Canonical, rows[n].Case.Lines, rows[n].Case.File = nil, nil, ""
		}
	}
	if diff := cmp.Diff(read, checked, sameDay, cmpopts.EquateEmpty()); diff != "" {
		t.Errorf("(-read +checked):\n%s", diff)
	}
}

// TestCSVOfOddValuesIsCheckedAsItIsRead fills each cell with every odd text.
func TestCSVOfOddValuesIsCheckedAsItIsRead(t *testing.T) {
	good := cells(t)
	for column := range good[0] {
		var rows [][]string
		for n, odd := range oddValues {
			if typed, isText := odd.(string); isText && utf8.ValidString(typed) {
				row := slices.Clone(good[1+n%(len(good)-1)])
				row[0] = fmt.Sprintf("HR-%d", n)
				row[column] = `"` + strings.ReplaceAll(typed, `"`, `""`) + `"`
				rows = append(rows, row)
			}
		}
		wantSameChecked(t, text(append([][]string{good[0]}, rows...), ","))
	}
}

// TestCSVHeadingIsHeldToTheRecordsKeys names columns that are none.
func TestCSVHeadingIsHeldToTheRecordsKeys(t *testing.T) {
	const sinusKeys = "sinuses[0].side, sinuses[0].health, sinuses[0].approach, sinuses[0].outcome, sinuses[0].perforation, sinuses[0].widths, sinuses[0].window, sinuses[0].anterior_wall_at_mm, sinuses[0].septa, sinuses[0].graft, sinuses[0].implants"
	for _, c := range []struct{ name, heading, want string }{
		{"unknown key", "case,surgery.dya", "1:6: surgery.dya: unknown key; allowed: surgery.day, surgery.surgeon, surgery.sutures, surgery.referrer; did you mean surgery.day?"},
		{"unknown key of a sinus", "sinuses[0].helth", "1:1: sinuses[0].helth: unknown key; allowed: " + sinusKeys + "; did you mean sinuses[0].health?"},
		{"unknown list", "sinus[0].side", "1:1: sinus[0].side: unknown key; allowed: record, case, patient, surgery, sinuses, findings; did you mean sinuses[0].side?"},
		{"capital letter", "Case", "1:1: Case: unknown key; allowed: record, case, patient, surgery, sinuses, findings; did you mean case?"},
		{"short key", "graft.material", "1:1: graft.material: unknown key; allowed: record, case, patient, surgery, sinuses, findings"},
		{"twice", "case;surgery.day;case", "1:18: case: column 1 has this name already; allowed: each key once"},
		{"no name", "case,,surgery.day", "1:6: a column without a name; allowed: record, case, patient, surgery, sinuses, findings"},
		{"map", "surgery", "1:1: surgery: a map, which fills no single cell; allowed: its keys: surgery.day, surgery.surgeon, surgery.sutures, surgery.referrer"},
		{"list", "sinuses[0].septa", "1:1: sinuses[0].septa: a list, which fills no single cell; allowed: keys of its entries: sinuses[0].septa[0].at_mm, sinuses[0].septa[0].height_mm"},
		{"entry", "sinuses[0].septa[1]", "1:1: sinuses[0].septa[1]: a map, which fills no single cell; allowed: its keys: sinuses[0].septa[1].at_mm, sinuses[0].septa[1].height_mm"},
		{"list without its number", "sinuses.side", "1:1: sinuses.side: a key below one that has none; allowed: sinuses"},
		{"number where none belongs", "surgery[0].day", "1:1: surgery[0].day: surgery has no numbered entries; allowed: surgery"},
		{"number of a word", "patient.flags[0]", "1:1: patient.flags[0]: flags has no numbered entries; allowed: patient.flags"},
		{"number with a nought before", "sinuses[00].side", `1:1: sinuses[00].side: "[00]" is no number of an entry; allowed: [0] to [99]`},
		{"number below nought", "sinuses[-1].side", `1:1: sinuses[-1].side: "[-1]" is no number of an entry; allowed: [0] to [99]`},
		{"huge number", "sinuses[99999999].side", `1:1: sinuses[99999999].side: "[99999999]" is no number of an entry; allowed: [0] to [99]`},
		{"bracket left open", "sinuses[0.side", `1:1: sinuses[0.side: "[0" is no number of an entry; allowed: [0] to [99]`},
		{"key below a word", "case.number", "1:1: case.number: a key below one that has none; allowed: case"},
		{"several", "cse,surgery", "1:1: cse: unknown key; allowed: record, case, patient, surgery, sinuses, findings; did you mean case?\n1:5: surgery: a map, which fills no single cell; allowed: its keys: surgery.day, surgery.surgeon, surgery.sutures, surgery.referrer"},
		{"quotation mark", "case,\"surgery.day", "1:1: a quotation mark out of place or without its mate, seen on line 2; a cell that holds one stands in quotation marks, and the one in it is doubled; the file was read no further"},
	} {
		rows := casefile.ReadCSV("a.csv", []byte(c.heading+"\nx,y,z\n"))
		if diff := cmp.Diff(strings.Split(c.want, "\n"), complaintsOf(rows)); diff != "" || len(rows) != 1 {
			t.Errorf("%s: %d rows (-want +got):\n%s", c.name, len(rows), diff)
		}
	}
	for name, c := range map[string]struct{ data, want string }{
		"empty":     {"", "1:1: an empty file"},
		"blank":     {"\ufeff \n\n", "1:1: an empty file"},
		"no UTF-8":  {"case,patient.name\nHR-1,Ana\nHR-2,\u00d6l\xf6f\n", "3:8: bytes that are no UTF-8 text; allowed: UTF-8; save the file as UTF-8"},
		"UTF-16":    {"\xff\xfec\x00a\x00", "1:1: bytes that are no UTF-8 text; allowed: UTF-8; save the file as UTF-8"},
		"too large": {strings.Repeat("x", casefile.MaxCSVBytes+1), "1:1: 8388609 bytes; allowed: at most 8388608"},
	} {
		if diff := cmp.Diff([]string{c.want}, complaintsOf(casefile.ReadCSV("a.csv", []byte(c.data)))); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
	if rows := casefile.ReadCSV("a.csv", []byte("case\n")); len(rows) != 0 {
		t.Errorf("a heading alone: %d rows", len(rows))
	}
	got := complaintsOf(casefile.ReadCSV("a.csv", []byte("case\nHR-1\n")))
	slices.Sort(got)
	want := []string{"2:1: patient: missing; allowed: a map of name, language, print, calendar_detail, unavailable, flags, phone, mail",
		"2:1: sinuses: missing; allowed: a list of a map of side, health, approach, outcome, perforation, widths, window, anterior_wall_at_mm, septa, graft, implants",
		"2:1: surgery: missing; allowed: a map of day, surgeon, sutures, referrer"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("columns left out (-want +got):\n%s", diff)
	}
}

// TestCSVIsReadToItsBound has one record too many, and then as many as there may be with
// empty rows after them.
func TestCSVIsReadToItsBound(t *testing.T) {
	most := "case\n" + strings.Repeat("HR-1\n", casefile.MaxCSVRows)
	rows := casefile.CheckCSV("a.csv", []byte(most+"HR-1\nHR-1\n"))
	last := complaintsOf(rows[len(rows)-1:])
	if want := []string{"20002:1: one record more; allowed: at most 20000 in one file; the file was read no further"}; len(rows) != casefile.MaxCSVRows+1 || !slices.Equal(last, want) {
		t.Errorf("%d rows, the last: %q", len(rows), last)
	}
	if rows := casefile.CheckCSV("a.csv", []byte(most+"\n,\n\n")); len(rows) != casefile.MaxCSVRows {
		t.Errorf("%d rows", len(rows))
	}
}

// TestCSVHolesInAList fills the second implant of a row and not the first.
func TestCSVHolesInAList(t *testing.T) {
	rows := cells(t)
	for n, name := range rows[0] {
		if strings.HasPrefix(name, "sinuses[0].implants[0].") {
			rows[1][n] = ""
		}
	}
	got := complaintsOf(casefile.ReadCSV("a.csv", text(rows, ",")))
	if len(got) != 1 || !strings.HasPrefix(got[0], "2:210: sinuses[0].implants[0]: no value; allowed: a map of tooth") {
		t.Errorf("got %q", got)
	}
}

// TestCSVReadsWhatARecordSays turns cells into a form by hand and wants the same
// case of both.
func TestCSVReadsWhatARecordSays(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		rows := cells(t)
		row := rows[rapid.IntRange(1, len(rows)-1).Draw(rt, "row")]
		name := rapid.SampledFrom(trickyNames[:12]).Draw(rt, "name")
		row[1] = `"` + strings.ReplaceAll(name, `"`, `""`) + `"`
		order := rapid.Permutation(indexes(len(row))).Draw(rt, "order")
		var heading, line []string
		for _, n := range order {
			heading, line = append(heading, rows[0][n]), append(line, row[n])
		}
		got := casefile.ReadCSV("a.csv", text([][]string{heading, line}, ","))
		if len(got) != 1 || len(got[0].Faults) > 0 {
			rt.Fatalf("%d rows: %q", len(got), complaintsOf(got))
		}
		row[1] = "Ana"
		want := casefile.ReadCSV("a.csv", text([][]string{rows[0], row}, ","))[0].Case.Case
		want.Patient.Name = strings.TrimSpace(name)
		if diff := cmp.Diff(want, got[0].Case.Case, sameDay); diff != "" {
			rt.Errorf("case (-want +got):\n%s", diff)
		}
	})
}

func indexes(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = i
	}
	return list
}

// FuzzReadCSV wants no panic of any text, and a place in every complaint.
func FuzzReadCSV(f *testing.F) {
	plain := arrivals(f)
	for _, seed := range []string{plain, plain[:900], "case\nHR-1\n", "a;b\n1;2;3", "case,\"x\ny\"\n", "\n\n,\n", "sinuses[0].widths[3].mm\n4\n", "\"", "case\r\nHR-1\r\n\r\n", "patient.flags\n;;\n"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		for _, r := range casefile.ReadCSV("a.csv", data) {
			if r.Line < 1 || (r.Canonical == nil) != (len(r.Faults) > 0) {
				t.Errorf("line %d, %d bytes of text, faults %v", r.Line, len(r.Canonical), r.Faults)
			}
			for _, fault := range r.Faults {
				if fault.Line < 1 || fault.Column < 1 || fault.Found == "" || fault.File != "a.csv" {
					t.Errorf("a complaint without its place: %+v", fault)
				}
			}
		}
	})
}

func BenchmarkReadCSV(b *testing.B) {
	rows := cells(b)
	for n := range 996 {
		row := slices.Clone(rows[1+n%4])
		row[0] = fmt.Sprintf("HR-%d", 3000+n)
		rows = append(rows, row)
	}
	data := text(rows, ",")
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if n := len(casefile.ReadCSV("a.csv", data)); n != 1000 {
			b.Fatal(n)
		}
	}
}
