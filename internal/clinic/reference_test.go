package clinic

import (
	"encoding/json"
	"maps"
	"os/exec"
	"slices"
	"strings"
	"testing"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/reference"
)

// referenceRegions pairs our region codes with those of the reference, whose GB
// is only what all four countries share.
var referenceRegions = map[string]string{
	"IE": "IE", "GB": "GB-ENG", "US": "US", "DE-BY": "DE-BY", "FR": "FR", "NZ": "NZ", "JP": "JP", "ZA": "ZA", "PL": "PL", "AU-NSW": "AU-NSW",
	"AR": "AR", "AU-SA": "AU-SA", "DE-MV": "DE-MV", "GB-SCT": "GB-SCT", "GB-NIR": "GB-NIR", "LU": "LU",
}

type difference struct {
	region, day string
	closed      bool   // here; the reference says the opposite
	right       string // "here", "reference" or "undecided"
	why         string
}

const (
	veterans = "statute: 5 U.S.C. 6103(b) moves every legal holiday on a Saturday; by executive order 11582 one on a Sunday; the reference leaves this one out"
	moved    = "from memory: the state's act moves the holiday to Monday instead of adding one; this table also keeps the day itself, a Saturday"
)

// differences is every day, Monday to Saturday, on which the two do not agree.
var differences = []difference{
	{"US", "2028-11-10", true, "here", veterans},
	{"US", "2029-11-12", true, "here", veterans},
	{"US", "2034-11-10", true, "here", veterans},
	{"US", "2035-11-12", true, "here", veterans},
	{"JP", "2032-09-21", true, "here", "statute: Act on National Holidays, article 3(3): a day between two holidays is one"},
	{"ZA", "2033-12-27", true, "undecided", "26 December is a holiday itself; the day after it was proclaimed in 2016 and 2022, not yet for 2033"},
	{"AU-NSW", "2030-01-26", true, "reference", moved},
	{"AU-NSW", "2032-04-26", false, "undecided", "the additional Monday was declared for 2026 and 2027 only"},
	{"AU-SA", "2030-01-26", true, "reference", moved},
	{"AU-SA", "2027-12-25", true, "undecided", "whether 25 December stays a holiday when the Monday after is added"},
	{"AU-SA", "2032-12-25", true, "undecided", "the same"},
	{"GB-SCT", "2026-06-15", true, "here", "public notice: proclaimed for 2026 only"},
}

// referenceHolidays asks the reference for the whole public holidays of its codes.
func referenceHolidays(t *testing.T, codes []string) map[string]map[day.Day]bool {
	t.Helper()
	command := exec.Command(reference.Node(t, "date-holidays"), append([]string{"holidays_dump.cjs", "2025", "2035"}, codes...)...)
	command.Dir = reference.Folder()
	out, err := command.Output()
	if err != nil {
		t.Fatal(err)
	}
	holidays := map[string]map[day.Day]bool{}
	for line := range strings.Lines(string(out)) {
		var one struct {
			Code string
			Day  day.Day
			Part bool
		}
		if err := json.Unmarshal([]byte(line), &one); err != nil {
			t.Fatal(err)
		}
		if holidays[one.Code] == nil {
			holidays[one.Code] = map[day.Day]bool{}
		}
		if !one.Part {
			holidays[one.Code][one.Day] = true
		}
	}
	return holidays
}

func TestHolidaysEqualTheReference(t *testing.T) {
	theirs := referenceHolidays(t, slices.Sorted(maps.Values(referenceRegions)))
	named := map[[2]string]difference{}
	for _, d := range differences {
		named[[2]string{d.region, d.day}] = d
	}
	compared, agreed := 0, 0
	for _, region := range slices.Sorted(maps.Keys(referenceRegions)) {
		c := build(t, everyDay(t, region), "2025-01-01..2035-12-31")
		for d := c.Horizon().From; c.Horizon().Contains(d); d = d.AddDays(1) {
			if d.Weekday() == time.Sunday {
				continue
			}
			open, why := c.FitsAny(d)
			compared++
			closedThere := theirs[referenceRegions[region]][d]
			key := [2]string{region, d.String()}
			known, isNamed := named[key]
			delete(named, key)
			switch {
			case open != closedThere && isNamed:
				t.Errorf("%s %s: the two agree by now; strike the named difference", region, d)
			case open != closedThere:
				if closedThere {
					agreed++
				}
			case !isNamed || known.closed == open:
				t.Errorf("%s %s, a %s: here open=%v (%s), in the reference closed=%v, and no named difference", region, d, d.Weekday(), open, why, closedThere)
			}
		}
	}
	for key := range named {
		t.Errorf("named difference %v was never looked at", key)
	}
	t.Logf("%d days compared, %d holidays agreed, %d named differences", compared, agreed, len(differences))
}

func TestDifferencesAreArgued(t *testing.T) {
	for _, d := range differences {
		if d.why == "" || !slices.Contains([]string{"here", "reference", "undecided"}, d.right) {
			t.Errorf("%s %s is not argued: %+v", d.region, d.day, d)
		}
		if d.right == "here" && !strings.HasPrefix(d.why, "statute: ") && !strings.HasPrefix(d.why, "public notice: ") {
			t.Errorf("%s %s: right here by what? %q", d.region, d.day, d.why)
		}
	}
}
