package desk_test

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"graftclock/internal/casefile"
	"graftclock/internal/graft"
	"graftclock/internal/report"
)

// TestABrowserPrintsWhatWasFolded folds all reasons, as a reader may on the screen, and
// looks for them on paper.
func TestABrowserPrintsWhatWasFolded(t *testing.T) {
	l := pages(t)["approved"]
	folded := strings.ReplaceAll(l.page, `<details open="" `, "<details ")
	if folded == l.page {
		t.Fatal("nothing was folded")
	}
	words := printed(t, folded)
	texts, _ := everything(l.desk, l.plan)
	for _, text := range texts {
		if !strings.Contains(words, squashed(text)) {
			t.Errorf("not on paper: %q", text)
		}
	}
}

// TestTheSurgeonsPageTellsEverything looks on the page and on the paper for every
// reason of every date, every finding, every override and every source.
func TestTheSurgeonsPageTellsEverything(t *testing.T) {
	for name, l := range pages(t) {
		texts, sources := everything(l.desk, l.plan)
		for form, words := range map[string]string{"html": wordsOfPage(l.page), "pdf": wordsOfPrint(t, l.print)} {
			for _, text := range texts {
				if !strings.Contains(words, squashed(text)) {
					t.Errorf("%s, %s: nothing says %q", name, form, text)
				}
			}
			for id := range sources {
				if !strings.Contains(words, squashed(id)) {
					t.Errorf("%s, %s: source %s is not listed", name, form, id)
				}
			}
		}
	}
}

// TestTheWhatIfTableIsOnThePage wants each row with its figures, side by side as they
// stand in the table, and what was left out.
func TestTheWhatIfTableIsOnThePage(t *testing.T) {
	rows := 0
	for name, l := range pages(t) {
		asked, err := l.desk.WhatIf(l.plan, l.record)
		if err != nil {
			t.Fatal(err)
		}
		paper := wordsOfPrint(t, l.print)
		page := regexp.MustCompile(`<span class="label"[^>]*>[^<]*</span>`).ReplaceAllString(l.page, "")
		for form, words := range map[string]string{"html": wordsOfPage(page), "pdf": paper} {
			for _, w := range asked {
				for _, row := range w.Rows {
					rows++
					day := row.Gate.Weekday().String()[:3] + row.Gate.String()
					line := regexp.QuoteMeta(squashed(row.Change)) + `(adds[a-z0-9,-]*)?` + regexp.QuoteMeta(fmt.Sprintf("%.2f", row.ToFull)) + `(0|[+−][0-9.]+)?` + day
					if !regexp.MustCompile(line).MatchString(words) {
						t.Errorf("%s, %s, %d: no row %s", name, form, w.Tooth, line)
					}
				}
				for _, left := range w.Left {
					if !strings.Contains(words, squashed(left.Change+": "+left.Why)) {
						t.Errorf("%s, %s, %d: nothing says why %q is left out", name, form, w.Tooth, left.Change)
					}
				}
			}
		}
	}
	if rows == 0 {
		t.Error("no row")
	}
}

// TestThePageListsTheSourcesThatItCites compares the bibliography with the cites of the
// plan and with the numbers on the page.
func TestThePageListsTheSourcesThatItCites(t *testing.T) {
	for name, l := range pages(t) {
		_, cited := everything(l.desk, l.plan)
		body, list, _ := strings.Cut(l.page, `<ol class="sources">`)
		listed := map[string]bool{}
		for _, m := range regexp.MustCompile(`<li id="source-(\d+)"><span class="id">([^<]*)</span> <em class="status">(read|read in a secondary page|from memory|no source)</em>`).FindAllStringSubmatch(list, -1) {
			listed[m[2]] = true
			if !strings.Contains(body, `href="#source-`+m[1]+`"`) {
				t.Errorf("%s: nobody cites number %s", name, m[1])
			}
		}
		if !maps.Equal(listed, cited) {
			t.Errorf("%s: lists %v, cites %v", name, slices.Sorted(maps.Keys(listed)), slices.Sorted(maps.Keys(cited)))
		}
		for _, m := range regexp.MustCompile(`href="#([^"]*)"`).FindAllStringSubmatch(l.page, -1) {
			if n := strings.Count(l.page, ` id="`+m[1]+`"`); n != 1 {
				t.Errorf("%s: %d places are called %s", name, n, m[1])
			}
		}
	}
}

func TestTheApprovedPageSaysWhoAndWhen(t *testing.T) {
	page, print := pages(t)["approved"].page, pages(t)["approved"].print
	for form, words := range map[string]string{"html": wordsOfPage(page), "pdf": wordsOfPrint(t, print)} {
		for _, want := range []string{"Approved by Dr Alba Quill on Mon 2027-01-18", "booked Thu 2027-02-11 10:00-10:20, Surgery 1, Dr Alba Quill",
			"Override: set to Mon 2027-09-20 by Dr Alba Quill on Mon 2027-01-18. Reason: see the gum first. Computed: not before 2027-09-06, target 2027-09-13"} {
			if !strings.Contains(words, squashed(want)) {
				t.Errorf("%s: nothing says %q", form, want)
			}
		}
	}
	if strings.Contains(page, "DRAFT") || bytes.Contains(print, []byte("DRAFT")) {
		t.Error("an approved page is called a draft")
	}
}

// TestAStopIsOnTheSurgeonsPage wants the page while a stop stands, with the dates that
// are left.
func TestAStopIsOnTheSurgeonsPage(t *testing.T) {
	_, record := demo(t, "fenwick.yaml")
	record = bytes.Replace(record, []byte("closure: submerged"), []byte("closure: through the gum"), 1)
	c, faults := casefile.ReadCase("record.yaml", record)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	d := demoDesk(t)
	p := planned(t, d, c, on("2027-01-14"))
	if !p.Stopped() {
		t.Fatal("no stop")
	}
	page, _ := laidOut(t, d, p, record)
	for _, want := range []string{`<li class="stop"><strong>stop</strong>`, "held back, see the findings", "wound check"} {
		if !strings.Contains(page, want) {
			t.Errorf("nothing says %q", want)
		}
	}
}

// nasty is text that tries to be more than text.
const nasty = "<script>alert(1)</script>\u202e\"';}</style>{{.}} & \u2028line\tbreak"

// TestTextStaysText puts hostile words wherever a person may write.
func TestTextStaysText(t *testing.T) {
	l := pages(t)["approved"]
	r, err := l.desk.Report(l.plan, l.record)
	if err != nil {
		t.Fatal(err)
	}
	r.Head = report.Letterhead{Name: nasty, Address: []string{nasty}, Phone: nasty}
	r.Case.ID, r.Case.Patient.Name, r.Case.Surgery.Surgeon, r.File = nasty, nasty, nasty, nasty
	r.Own, r.Notes, r.Revision.By, r.Approval.By = []string{nasty}, []string{nasty}, nasty, nasty
	r.Timeline.Milestones = slices.Clone(r.Timeline.Milestones)
	for n := range r.Timeline.Milestones {
		m := &r.Timeline.Milestones[n]
		r.Stands[m.ID] = nasty
		m.For, m.Which = nasty, nasty
		m.Reasons = []graft.Reason{{Says: nasty, Formula: nasty, Result: nasty, Adopted: nasty, Differ: nasty, Inputs: []graft.Input{{Name: nasty, Value: nasty, Path: nasty}}}}
		if m.Override != nil {
			m.Override = &graft.Override{Day: m.Override.Day, By: nasty, On: m.Override.On, Why: nasty}
		}
	}
	r.Timeline.Findings = []graft.Finding{{Severity: graft.Warn, Rule: "flag-smoker", Path: nasty, Says: nasty}}
	for n := range r.Sites {
		r.Sites[n].Implant.Restoration = nasty
		r.Sites[n].Clock.Reason.Says = nasty
	}
	for n := range r.Limits {
		r.Limits[n].What = nasty
	}
	filled, err := report.Fill(r)
	if err != nil {
		t.Fatal(err)
	}
	var page, print bytes.Buffer
	if err := errors.Join(filled.WriteHTML(&page), filled.WritePDF(&print)); err != nil {
		t.Fatal(err)
	}
	wellFormed(t, page.String())
	for form, words := range map[string]string{"html": wordsOfPage(page.String()), "pdf": wordsOfPrint(t, print.Bytes())} {
		if n := strings.Count(words, squashed(graft.OneLine(nasty))); n < 100 {
			t.Errorf("%s: the words stand there %d times only", form, n)
		}
	}
}

func TestEveryPageIsWellFormed(t *testing.T) {
	for name, l := range pages(t) {
		t.Run(name, func(t *testing.T) {
			wellFormed(t, l.page)
			if strings.Contains(l.page, "<details>") || strings.Count(l.page, `<details open="" `) < len(l.plan.Timeline.Milestones) {
				t.Error("reasons that would be folded on paper")
			}
		})
	}
}

// TestPaperOfTheRegion wants the size of paper that the clinic's printer has.
func TestPaperOfTheRegion(t *testing.T) {
	_, record := demo(t, "doyle.yaml")
	d := demoDesk(t)
	p := planned(t, d, demoCase(t, "doyle"), on(demoDays["doyle"]))
	for region, size := range map[string]string{"IE": "A4", "US-NY": "letter", "DE-BY": "A4", "CA-ON": "letter"} {
		d.Clinic.Region = region
		page, print := laidOut(t, d, p, record)
		box := map[string]string{"A4": "595.28 841.89", "letter": "612.00 792.00"}[size]
		if !strings.Contains(page, "size: "+size+";") || !bytes.Contains(print, []byte(box)) {
			t.Errorf("%s: not on %s", region, size)
		}
	}
}

// TestTheSamePlanGivesTheSamePage wants the same bytes twice.
func TestTheSamePlanGivesTheSamePage(t *testing.T) {
	l := pages(t)["fenwick"]
	page, print := laidOut(t, l.desk, l.plan, l.record)
	if page != l.page || !bytes.Equal(print, l.print) {
		t.Error("the second page differs")
	}
}
