package clinic

import (
	"bytes"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

func TestRegistryIsWhatTheGeneratorWrites(t *testing.T) {
	fresh, err := exec.Command("go", "run", "genregions/main.go").Output()
	if err != nil {
		t.Fatal(err)
	}
	committed, err := os.ReadFile("regions_gen.go")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(fresh, committed) {
		t.Error("regions_gen.go is stale: run go generate ./internal/clinic and read the difference")
	}
	if len(lists) < 96 {
		t.Errorf("%d lists: some are gone", len(lists))
	}
}

func TestRegions(t *testing.T) {
	cases := []struct {
		region string
		notes  []string // a part of each note
		err    string   // a part of the refusal
	}{
		{"IE", nil, ""},
		{"DE-BW", nil, ""},
		{"GB-ENG", nil, ""},
		{"GB-WLS", nil, ""},
		{"", []string{"no region"}, ""},
		{"GB", []string{"Scotland is GB-SCT"}, ""},
		{"GB-NIR", []string{"17 March and 12 July"}, ""},
		{"GB-SCT", []string{"2 January", "15 June 2026"}, ""},
		{"NZ", []string{"holiday list NZ corrected: Matariki is a holiday since 2022 (Te Kāhui o Matariki Public Holiday Act 2022, schedule of the days to 2052; statute)"}, ""},
		{"DE-BY", []string{"15 August"}, ""},
		{"US-NY", []string{"no holiday list for US-NY: the list of US is used and regional days are missing"}, ""},
		{"CA", []string{"union"}, ""},
		{"CA-ON", []string{"the list of CA is used", "union"}, ""},
		{"CH", []string{"cut to the days most of them keep", "only 1 August is federal"}, ""},
		{"CH-ZH", nil, ""},
		{"CH-ZG", []string{"Corpus Christi"}, ""},
		{"NL", []string{"Good Friday"}, ""},
		{"FR-67", []string{"the list of FR is used"}, ""},
		{"AU", nil, "there are AU-ACT, AU-NSW"},
		{"AU-XX", nil, "there are AU-ACT, AU-NSW"},
		{"IN", nil, "no holiday list for IN; leave region out and name the closed days under holidays.add or in a closure file"},
		{"IN-KA", nil, "no holiday list for IN-KA"},
		{"AA", nil, "no holiday list for AA"},
		{"ie", nil, "want an ISO 3166 code in capitals"},
		{"DE-", nil, "want an ISO 3166 code"},
		{"DE-BYRN", nil, "want an ISO 3166 code"},
		{"Ireland", nil, "want an ISO 3166 code"},
	}
	for _, tc := range cases {
		t.Run(tc.region, func(t *testing.T) {
			list, notes, err := regionHolidays(tc.region)
			if tc.err != "" {
				if err == nil || !strings.Contains(err.Error(), tc.err) {
					t.Errorf("got %v, want a refusal with %q", err, tc.err)
				}
				return
			}
			if err != nil || (len(list) == 0) != (tc.region == "") {
				t.Fatalf("got %d holidays, %v", len(list), err)
			}
			if len(notes) != len(tc.notes) {
				t.Fatalf("got notes %q, want %d", notes, len(tc.notes))
			}
			for i, want := range tc.notes {
				if !strings.Contains(notes[i], want) {
					t.Errorf("note %q does not say %q", notes[i], want)
				}
			}
		})
	}
}

func TestUnknownRegionNamesItsField(t *testing.T) {
	s := harbourRow(t)
	s.Region = "IN"
	s.Holidays.Drop = []string{"Diwali"} // not a second complaint: the list is unknown
	_, err := New(s, span(t, "2027-01-01..2027-12-31"))
	if err == nil || !strings.HasPrefix(err.Error(), "region: no holiday list for IN") || strings.Contains(err.Error(), "\n") {
		t.Errorf("got %v", err)
	}
}

func TestCorrectionsAreComplete(t *testing.T) {
	for _, c := range corrections {
		switch {
		case !slices.Contains(Regions(), c.code):
			t.Errorf("%s corrects no list", c.code)
		case len(c.add)+len(c.drop) > 0 && (c.reason == "" || c.source == ""):
			t.Errorf("%s lacks a reason or a source", c.code)
		case c.reason != "" && c.status != statute && c.status != notice && c.status != fromMemory:
			t.Errorf("%s has the status %q", c.code, c.status)
		}
		for _, h := range c.drop {
			if !slices.Contains(lists[c.code], h) && !slices.Contains(lists[c.base], h) {
				t.Errorf("%s drops %s, which its list has not", c.code, h.Name)
			}
		}
		for _, h := range c.add {
			if h.Name == "" || h.Func == nil {
				t.Errorf("%s adds %+v", c.code, h)
			}
		}
	}
	for code := range caveats {
		if lists[code] == nil {
			t.Errorf("caveat for %s, which has no list", code)
		}
	}
}

// One day or two for every correction: closed must be, open must not.
func TestCorrections(t *testing.T) {
	cases := []struct{ region, closed, open string }{
		{"AR", "2027-03-26 2026-06-15 2026-06-20 2027-08-16 2029-11-19", "2027-03-25 2027-06-17 2027-08-17"},
		{"AU-NSW", "2026-04-27 2027-04-26", "2028-04-26"},
		{"AU-SA", "2027-03-28 2027-04-25", "2027-04-26"},
		{"BG", "2027-05-01 2027-05-04 2028-12-27 2024-05-01", "2024-05-07 2028-12-28"},
		{"CH", "2027-08-01 2027-12-26", "2027-01-06 2027-03-19"},
		{"CH-FR", "2027-12-08", ""},
		{"CH-GE", "2027-09-09 2027-12-31", "2027-05-27"},
		{"CH-GL", "2026-04-09 2028-04-06", "2026-04-02"},
		{"CH-JU", "2027-06-23", ""},
		{"CH-NE", "2027-03-01 2027-03-29", ""},
		{"CH-OW", "2028-09-25", ""},
		{"CH-TI", "2027-06-29", ""},
		{"CH-VD", "2027-09-20", ""},
		{"CH-ZG", "2027-05-27 2028-08-15 2027-12-08", ""},
		{"DE-BE", "2025-05-08 2028-06-17", "2026-05-08"},
		{"DE-MV", "2027-03-08", "2022-03-08"},
		{"GB-ENG", "2027-08-30 2027-03-29", "2027-03-17"},
		{"GB-NIR", "2027-03-17 2027-07-12", ""},
		{"GB-SCT", "2026-01-02 2026-06-15 2027-08-02 2027-11-30", "2027-03-29 2027-08-30 2027-06-15"},
		{"LU", "2028-05-09", "2018-05-09"},
		{"MW", "2027-12-27 2027-12-28", ""},
		{"MX", "2027-02-01 2027-03-15 2030-10-01", "2027-02-05 2027-12-24 2028-10-02"},
		{"NZ", "2026-07-10 2052-06-21", "2021-06-24"},
		{"RS", "2027-05-04 2033-01-03 2026-02-17", "2027-05-05"},
		{"RU", "2027-01-04 2027-01-08", "2027-01-11"},
		{"SK", "2027-05-08 2027-09-15 2023-09-01", "2026-05-08 2026-09-15 2026-09-01 2025-11-17"},
		{"UA", "2027-06-21 2027-07-15 2027-10-01", "2027-01-07 2027-10-14 2027-06-22"},
	}
	tested := map[string]bool{"GB-WLS": true} // the same as GB-ENG
	for _, tc := range cases {
		tested[tc.region] = true
		c := build(t, everyDay(t, tc.region), "2018-01-01..2053-12-31")
		for _, d := range strings.Fields(tc.closed) {
			if status(t, c, d).Open() {
				t.Errorf("%s: %s is open", tc.region, d)
			}
		}
		for _, d := range strings.Fields(tc.open) {
			if got := status(t, c, d); !got.Open() {
				t.Errorf("%s: %s is %s", tc.region, d, got.Why)
			}
		}
	}
	for _, c := range corrections {
		if !tested[c.code] {
			t.Errorf("the correction of %s has no test", c.code)
		}
	}
}
