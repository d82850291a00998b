package desk_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

func on(text string) day.Day {
	d, err := day.Parse(text)
	if err != nil {
		panic(err)
	}
	return d
}

func planned(t testing.TB, d *desk.Desk, c casefile.Case, day day.Day) desk.Plan {
	t.Helper()
	p, err := d.Plan(c, day)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func find(p desk.Plan, rule graft.RuleID) (graft.Finding, bool) {
	for _, f := range p.Timeline.Findings {
		if f.Rule == rule {
			return f, true
		}
	}
	return graft.Finding{}, false
}

// TestFindingsOfTheCalendar spoils one thing of the demo case each time; every
// rule is silent in the case as it is.
func TestFindingsOfTheCalendar(t *testing.T) {
	d := demoDesk(t)
	for _, c := range []struct {
		name  string
		spoil func(*casefile.Case)
		on    string
		rule  graft.RuleID
		want  graft.Severity
		says  string
	}{
		{"surgery on a public holiday", func(c *casefile.Case) { c.Surgery.Day = on("2027-03-17") }, "2027-01-14", "surgery-on-a-closed-day", graft.Warn, "Wednesday 17 March 2027: closed: Saint Patrick's Day"},
		{"surgery on a day without the surgeon", func(c *casefile.Case) { c.Surgery.Day = on("2027-02-17") }, "2027-01-14", "surgery-on-a-closed-day", graft.Warn, "no surgeon in on Wednesdays"},
		{"surgery before the summer closure", func(c *casefile.Case) { c.Surgery.Day = on("2027-03-18") }, "2027-01-14", "surgery-before-closure", graft.Warn, "Thursday 18 March 2027"},
		{"the patient is away for the whole window", func(c *casefile.Case) {
			c.Patient.Unavailable = []day.Span{{From: on("2027-07-20"), To: on("2027-10-31")}}
		}, "2027-01-14", "no-day-left", graft.Stop, "the patient cannot come"},
		{"uncovered before its gate", func(c *casefile.Case) {
			c.Observations = []graft.Observation{{Day: on("2027-06-01"), What: graft.Attended, Step: graft.Uncovering}}
		}, "2027-06-02", "attended-early", graft.Warn, "uncovering, right bridge on 2027-06-01, not before 2027-08-07"},
		{"planned after the first weeks", func(*casefile.Case) {}, "2027-03-01", "window-passed", graft.Note, "Its window ended on"},
		{"five teeth of their own", fiveTeeth, "2027-01-14", "not-all-tried", graft.Note, "trips"},
		{"a language without a letter", func(c *casefile.Case) { c.Patient.Language = "fi" }, "2027-01-14", "letter-language", graft.Warn, `"fi"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			kase := demoCase(t, "fenwick")
			if _, fired := find(planned(t, d, kase, on("2027-01-14")), c.rule); fired {
				t.Errorf("%s speaks in the case as it is", c.rule)
			}
			c.spoil(&kase)
			p := planned(t, d, kase, on(c.on))
			f, fired := find(p, c.rule)
			if !fired || f.Severity != c.want || !strings.Contains(f.Says, c.says) {
				t.Errorf("found %+v, want %s that says %q; all: %v", f, c.want, c.says, p.Timeline.Findings)
			}
		})
	}
}

// fiveTeeth makes five restorations, which heal side by side, of the case's implants.
func fiveTeeth(c *casefile.Case) {
	s := &c.Sinuses[0]
	var implants []graft.Implant
	for n, tooth := range []int{14, 15, 16, 17, 18} {
		i := s.Implants[0]
		i.Tooth, i.Restoration, i.ResidualMM = tooth, fmt.Sprint("crown ", tooth), i.ResidualMM+1.3*float64(n)
		implants = append(implants, i)
	}
	s.Implants = implants
}

func TestNoLetterIsGivenOutInAnotherLanguage(t *testing.T) {
	c := demoCase(t, "fenwick")
	c.Patient.Language = "fi"
	d := demoDesk(t)
	out, err := d.Outputs(planned(t, d, c, on("2027-01-14")))
	if err != nil {
		t.Fatal(err)
	}
	names := namesOf(out.Files)
	if strings.Contains(names, "letter") || !strings.Contains(names, "patient.ics") || len(out.Held) != 2 {
		t.Errorf("written %s, held %v", names, out.Held)
	}
}

func TestNoLetterWithoutAnOutOfHoursNumber(t *testing.T) {
	d := demoDesk(t)
	d.Clinic.OutOfHours = ""
	out, err := d.Outputs(planned(t, d, demoCase(t, "fenwick"), on("2027-01-14")))
	if err != nil || strings.Contains(namesOf(out.Files), "letter") {
		t.Errorf("written %s, %v", namesOf(out.Files), err)
	}
}

func TestAStopHoldsBackEverythingForThePatient(t *testing.T) {
	d := demoDesk(t)
	c := demoCase(t, "fenwick")
	c.Sinuses[0].Implants[0].Closure = graft.ThroughTheGum
	out, err := d.Outputs(planned(t, d, c, on("2027-01-14")))
	if err != nil || namesOf(out.Files) != "desk.ics surgeon.ics timeline.json" || len(out.Held) != 3 {
		t.Errorf("written %s, held %v, %v", namesOf(out.Files), out.Held, err)
	}
}

func namesOf(files []desk.File) string {
	var names []string
	for _, f := range files {
		names = append(names, f.Name)
	}
	return strings.Join(names, " ")
}

func TestPlainTitlesNeedTheRecordedChoice(t *testing.T) {
	d := demoDesk(t)
	for _, c := range []struct {
		detail graft.Detail
		plain  bool
	}{{graft.Neutral, false}, {graft.Plain, true}} {
		kase := demoCase(t, "fenwick")
		kase.Patient.CalendarDetail = c.detail
		out, err := d.Outputs(planned(t, d, kase, on("2027-01-14")))
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(string(out.Files[0].Data), "SUMMARY:Not booked yet: Stitches check\\, Harbour Row"); got != c.plain {
			t.Errorf("%s: plain titles %v", c.detail, got)
		}
	}
}

func TestTheTimelineIsTheAgreedJSON(t *testing.T) {
	d := demoDesk(t)
	data, err := desk.JSON(planned(t, d, demoCase(t, "fenwick"), on("2027-01-14")))
	if err != nil {
		t.Fatal(err)
	}
	var got map[string]any
	if err := json.Unmarshal(data, &got); err != nil {
		t.Fatal(err)
	}
	keys(t, "timeline", got, "format", "case", "rules_version", "implants", "steps", "findings")
	keys(t, "implant", got["implants"].([]any)[0], "tooth", "side", "months_to_full_support", "t50_months", "t90_months", "residual_share", "band_months", "last_aspect", "waits_for")
	keys(t, "step", got["steps"].([]any)[0], "step", "for", "not_before", "earliest", "target", "latest", "placed", "seen_by", "reasons")
	keys(t, "finding", got["findings"].([]any)[0], "severity", "rule", "path", "line", "says")
	if got["format"] != 1.0 {
		t.Errorf("format %v", got["format"])
	}
}

func keys(t *testing.T, what string, v any, want ...string) {
	t.Helper()
	for _, k := range want {
		if _, ok := v.(map[string]any)[k]; !ok {
			t.Errorf("%s has no %s: %v", what, k, v)
		}
	}
}

// TestNothingStandsOnADayItCannot plans the demo case for any day of surgery and
// planning, with any absence of the patient.
func TestNothingStandsOnADayItCannot(t *testing.T) {
	d := demoDesk(t)
	rapid.Check(t, func(rt *rapid.T) {
		c := demoCase(t, rapid.SampledFrom([]string{"fenwick", "okafor", "marsh", "lindqvist", "doyle", "petrov"}).Draw(rt, "case"))
		c.Surgery.Day = day.New(2026, 1, 1).AddDays(rapid.IntRange(0, 1400).Draw(rt, "surgery"))
		away := c.Surgery.Day.AddDays(rapid.IntRange(0, 300).Draw(rt, "away"))
		c.Patient.Unavailable = []day.Span{{From: away, To: away.AddDays(rapid.IntRange(0, 20).Draw(rt, "days away"))}}
		p := planned(t, d, c, c.Surgery.Day.AddDays(rapid.IntRange(-30, 200).Draw(rt, "on")))
		calendar, _ := d.Calendar(c.Surgery.Day.Year())
		for _, m := range p.Timeline.Milestones {
			if m.Placed.IsZero() {
				continue
			}
			status, err := calendar.Status(m.Placed)
			if err != nil || !status.Open() {
				rt.Fatalf("%s on %s: %v %v", m.Title(), m.Placed, status.Why, err)
			}
			if m.Placed.Before(m.Window.NotBefore) || m.Placed.After(m.Window.Latest) {
				rt.Fatalf("%s on %s, outside %+v", m.Title(), m.Placed, m.Window)
			}
			if m.Visit != "" && c.Patient.Unavailable[0].Contains(m.Placed) {
				rt.Fatalf("%s on %s, when the patient is away", m.Title(), m.Placed)
			}
			if m.Surgical && calendar.ClosedRunAfter(m.Placed) >= 2 {
				rt.Fatalf("%s on %s, the last open day before a closure", m.Title(), m.Placed)
			}
		}
		if _, err := d.Outputs(p); err != nil {
			rt.Fatal(err)
		}
	})
}

// TestSameRecordSameFiles holds the promise that a plan can be repeated.
func TestSameRecordSameFiles(t *testing.T) {
	for _, name := range []string{"fenwick", "petrov"} {
		first, second := demoDesk(t), demoDesk(t)
		a, _ := first.Outputs(planned(t, first, demoCase(t, name), on("2027-04-20")))
		b, _ := second.Outputs(planned(t, second, demoCase(t, name), on("2027-04-20")))
		for i := range a.Files {
			if string(a.Files[i].Data) != string(b.Files[i].Data) {
				t.Errorf("%s: %s differs", name, a.Files[i].Name)
			}
		}
	}
}

// TestTheLetterEndsRestrictionsOnTheExplainedDays compares the letter, which
// counts by itself, with the days that explain gives reasons for.
func TestTheLetterEndsRestrictionsOnTheExplainedDays(t *testing.T) {
	d := demoDesk(t)
	p := planned(t, d, demoCase(t, "fenwick"), on("2027-01-14"))
	out, err := d.Outputs(p)
	if err != nil {
		t.Fatal(err)
	}
	var text string
	for _, f := range out.Files {
		if f.Name == desk.LetterText {
			text = strings.Join(strings.Fields(string(f.Data)), " ")
		}
	}
	dated := 0
	for _, l := range d.Limits(p) {
		if l.Free.IsZero() {
			continue
		}
		dated++
		if want := "Allowed again from " + diary.Long(l.Free); !strings.Contains(text, want) {
			t.Errorf("%s: the letter does not say %q", l.Preset, want)
		}
	}
	if dated != 5 {
		t.Errorf("%d restrictions with a day, want the demo clinic's five", dated)
	}
}
