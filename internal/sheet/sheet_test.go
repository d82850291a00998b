package sheet_test

import (
	"bytes"
	"flag"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/day"
	"graftclock/internal/sheet"
)

var update = flag.Bool("update", false, "write the golden files anew")

// today is a day's list: visits, nobody to call, and names that try everything.
func today() sheet.Sheet {
	return sheet.Sheet{
		Title: "Today", Clinic: "Harbour Row", On: day.New(2027, time.January, 14),
		Columns: []sheet.Column{
			{Key: "time", Head: "Time"},
			{Key: "patient", Head: "Patient", Names: true},
			{Key: "phone", Head: "Phone"},
			{Key: "step", Head: "Step"},
			{Key: "minutes", Head: "Minutes", Numeric: true},
			{Key: "room", Head: "Room"},
			{Key: "person", Head: "With"},
			{Key: "status", Head: "Status"},
			{Key: "case_id", Head: "Case", OffPage: true},
		},
		Sections: []sheet.Section{
			{Name: "Visits", Ticks: true, Empty: "No visits today.", Rows: [][]string{
				{"08:30", "Nora Fenwick", "+353 1 555 0100", "Surgery", "120", "Surgery 1", "Dr Alba Quill", "booked", "fenwick-01"},
				{"10:45", "Teni Okafor", "+353 1 555 0107", "Suture removal", "20", "Room 2", "Nurse Wyn Tate", "booked", "okafor-02"},
				{"11:15", "Zoë \"Zo\" O’Dell, jr", "+353 1 555 0112", "Two-week review", "20", "Room 2", "Nurse Wyn Tate", "moved from Tue 2027-01-12", "odell-01"},
				{"14:00", "山田 はな", "", "Placement of the implants", "90", "Surgery 1", "Dr Alba Quill", "booked", "yamada-01"},
				{"15:40", "Maximiliana-Theodora Featherstonehaugh-Winterbourne", "+353 1 555 0131", "Uncovering", "30", "Surgery 1", "Dr Alba Quill", "not confirmed, two messages left", "winterbourne-03"},
				{"16:20", "=HYPERLINK(\"x\")<b>\nBo\u202eb", "-7", "Review", "5", "", "", "booked", "bob-01"},
			}},
			{Name: "To call", Ticks: true, Empty: "Nobody waits for a call today."},
			{Name: "Late", Empty: "Nothing is late.", Rows: [][]string{
				{"", "Ivo Brandt", "+353 1 555 0144", "Three-month review", "20", "", "Nurse Wyn Tate", "latest day was Fri 2027-01-08", "brandt-01"},
			}},
		},
		Caution: "A planning aid: an estimate from entered facts and editable rules. The clinician decides.",
	}
}

func written(t testing.TB, write func(io.Writer) error) string {
	t.Helper()
	var out bytes.Buffer
	if err := write(&out); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestGoldens(t *testing.T) {
	for name, write := range map[string]func(io.Writer) error{
		"today.txt": today().WriteText, "today.json": today().WriteJSON, "today.csv": today().WriteCSV, "today.html": today().WriteHTML,
	} {
		path := filepath.Join("testdata", name)
		got := written(t, write)
		if *update {
			if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(string(want), got); diff != "" {
			t.Errorf("%s differs (-want +got):\n%s", name, diff)
		}
	}
}

func TestASheetThatDoesNotFitIsRefusedByEveryForm(t *testing.T) {
	for _, test := range []struct {
		name  string
		spoil func(*sheet.Sheet)
		says  string
	}{
		{"a key twice", func(s *sheet.Sheet) { s.Columns[1].Key = "time" }, `"time"`},
		{"a key of the sheet's own", func(s *sheet.Sheet) { s.Columns[1].Key = "section" }, `"section"`},
		{"a key that is no name", func(s *sheet.Sheet) { s.Columns[1].Key = "Case ID" }, `"Case ID"`},
		{"no key", func(s *sheet.Sheet) { s.Columns[1].Key = "" }, `""`},
		{"no columns", func(s *sheet.Sheet) { s.Columns = nil }, "no columns"},
		{"a short row", func(s *sheet.Sheet) { s.Sections[0].Rows[2] = []string{"11:15"} }, "Visits, row 3: 1 cells for 9 columns"},
		{"a long row", func(s *sheet.Sheet) { s.Sections[2].Rows[0] = make([]string, 10) }, "Late, row 1: 10 cells"},
	} {
		s := today()
		test.spoil(&s)
		for form, write := range map[string]func(io.Writer) error{"text": s.WriteText, "JSON": s.WriteJSON, "CSV": s.WriteCSV, "HTML": s.WriteHTML} {
			var out bytes.Buffer
			err := write(&out)
			if err == nil || !strings.Contains(err.Error(), test.says) || out.Len() > 0 {
				t.Errorf("%s, %s: got %v and %d bytes, want %q and none", test.name, form, err, out.Len(), test.says)
			}
		}
	}
}
