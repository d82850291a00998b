package cli

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// printPlan writes a plan as a surgeon and a desk read it: the case, the clock,
// the dates, the findings.
func printPlan(w io.Writer, p desk.Plan) error {
	t := p.Timeline
	fmt.Fprintf(w, "%s, %s. Surgery %s (day 0), planned on %s. Rules %s.\n", t.Case, p.Case.Patient.Name, withWeekday(p.Case.Surgery.Day), withWeekday(t.On), t.RulesVersion)
	printStanding(w, p.Standing)
	if len(t.Implants) > 0 {
		fmt.Fprintln(w, "\nMonths until bone holds each implant, an estimate from distances, never a measurement:")
		printImplants(w, t)
	}
	if len(t.Milestones) > 0 {
		fmt.Fprintln(w)
		printMilestones(w, p)
	}
	if p.Standing != nil {
		printUnsettled(w, desk.Live{Plan: p, Standing: p.Standing})
	}
	printFindings(w, p)
	for _, own := range p.Own {
		fmt.Fprintf(w, "rule    %s\n", own)
	}
	for _, n := range p.Notes {
		fmt.Fprintf(w, "clinic  %s\n", n)
	}
	_, err := fmt.Fprintf(w, "\n%s\n", desk.Caution)
	return err
}

func printImplants(w io.Writer, t graft.Timeline) {
	rows := [][]string{{"IMPLANT", "FULL", "BAND", "HALF", "NINE TENTHS", "HELD AT ONCE", "LAST", "WAITS FOR", "RESTORATION"}}
	for _, i := range t.Implants {
		last := "-"
		if i.LastAspect != "" {
			last = fmt.Sprintf("%s, %.1f mm up", i.LastAspect, i.LastHeightMM)
		}
		rows = append(rows, []string{
			fmt.Sprint(i.Tooth), fmt.Sprintf("%.2f", i.ToFull), fmt.Sprintf("%.2f to %.2f", i.BandLow, i.BandHigh),
			fmt.Sprintf("%.2f", i.T50), fmt.Sprintf("%.2f", i.T90), fmt.Sprintf("%.0f %%", i.ResidualShare*100), last, orDash(i.WaitsFor), i.Restoration,
		})
	}
	printTable(w, rows)
}

// printStanding says which revision of a kept case is shown and who approved it.
func printStanding(w io.Writer, s *desk.Standing) {
	switch {
	case s == nil:
	case s.Approval == nil:
		fmt.Fprintf(w, "Revision %d, made by %s on %s: a draft until a surgeon approves it.\n", s.Kept.Revision, s.Revision.By, s.Revision.On)
	default:
		fmt.Fprintf(w, "Revision %d, approved by %s on %s.\n", s.Kept.Revision, s.Approval.By, s.Approval.At.Format(time.DateOnly))
	}
}

func printMilestones(w io.Writer, p desk.Plan) {
	t := p.Timeline
	rows := [][]string{{"STEP", "FOR", "WINDOW", "PLACED", "DO", "WHO", "WHY"}}
	for _, m := range desk.ByDay(t.Milestones) {
		rows = append(rows, []string{string(m.Step), whom(m), windowOf(m), placedAt(m), state(p, m), who(m), whyOf(m)})
	}
	for _, m := range t.Milestones {
		if m.Placed.IsZero() {
			rows = append(rows, []string{string(m.Step), whom(m), windowOf(m), "no date", "-", who(m), noDate(m)})
		}
	}
	printTable(w, rows)
}

// placedAt is the day of a milestone, with the time where it is booked.
func placedAt(m graft.Milestone) string {
	if m.Booked {
		return withWeekday(m.Placed) + " " + m.Slot.Start.String()
	}
	return withWeekday(m.Placed)
}

// state is where the visit of a kept case stands, or what the desk does next.
func state(p desk.Plan, m graft.Milestone) string {
	if p.Standing != nil {
		if s := p.Standing.State(m.ID); s == ledger.Booked || s == ledger.WindowHeld || s == ledger.Missed {
			if p.Misfit(m.ID) != "" {
				return "settle"
			}
			return string(s)
		}
		if m.Overdue {
			return "overdue"
		}
	}
	return toDo(m, p.Timeline.On)
}

// whyOf is why a milestone stands where it stands, with a surgeon's override
// beside the computed date.
func whyOf(m graft.Milestone) string {
	if m.Override != nil {
		return desk.OverrideText(*m.Override)
	}
	return m.Why
}

// whom says whom a step is for and which of several it is.
func whom(m graft.Milestone) string {
	return orDash(strings.Trim(m.For+", "+m.Which, ", "))
}

func windowOf(m graft.Milestone) string {
	first := day.Max(m.Window.NotBefore, m.Window.Earliest)
	if first.IsZero() {
		return "-"
	}
	return first.String() + " to " + m.Window.Latest.String()
}

// toDo says what the desk does with a step: book it, or hold its window.
func toDo(m graft.Milestone, on day.Day) string {
	switch {
	case !m.Attended.IsZero():
		return "attended"
	case m.Placed.Before(on):
		return "passed"
	case m.Step == graft.PhoneCall:
		return "call"
	case m.Step == graft.ImagingDecision:
		return "decide"
	case m.Firm:
		return "book"
	}
	return "hold"
}

func who(m graft.Milestone) string {
	if m.SeenByAny(graft.ForDesk) && m.SeenByAny(graft.ForSurgeon) && m.SeenByAny(graft.ForPatient) {
		return "all"
	}
	names := make([]string, len(m.SeenBy))
	for i, a := range m.SeenBy {
		names[i] = string(a)
	}
	return strings.Join(names, ", ")
}

func noDate(m graft.Milestone) string {
	if m.Window.Latest.IsZero() {
		return "waits for a step without a date"
	}
	return "no day of the window can be used"
}

// printFindings lists the findings, the gravest first, with their place in the
// record.
func printFindings(w io.Writer, p desk.Plan) {
	if len(p.Timeline.Findings) > 0 {
		fmt.Fprintln(w)
	}
	for _, f := range p.Timeline.Findings {
		place := ""
		if f.Path != "" {
			place = " " + f.Path
			if f.Line > 0 {
				place = fmt.Sprintf(" %s:%d %s", p.Case.File, f.Line, f.Path)
			}
		}
		fmt.Fprintf(w, "%-5s %s%s\n      %s\n", f.Severity, f.Rule, place, f.Says)
	}
}

// printTable writes rows in columns, padded by what a terminal shows of them;
// the last column is as wide as it likes.
func printTable(w io.Writer, rows [][]string) {
	widths := make([]int, len(rows[0]))
	for _, row := range rows {
		for i, cell := range row {
			widths[i] = max(widths[i], len([]rune(cell)))
		}
	}
	for _, row := range rows {
		var b strings.Builder
		for i, cell := range row {
			b.WriteString(cell)
			if i < len(row)-1 {
				b.WriteString(strings.Repeat(" ", widths[i]-len([]rune(cell))+2))
			}
		}
		fmt.Fprintln(w, strings.TrimRight(b.String(), " "))
	}
}

// withWeekday writes a day as Thu 2027-01-14.
func withWeekday(d day.Day) string {
	if d.IsZero() {
		return "-"
	}
	return d.Weekday().String()[:3] + " " + d.String()
}

func orDash(s string) string {
	if s == "" {
		return "-"
	}
	return s
}

// countFindings returns how many findings of each severity there are.
func countFindings(findings []graft.Finding) (stops, warns, notes int) {
	for _, f := range findings {
		switch f.Severity {
		case graft.Stop:
			stops++
		case graft.Warn:
			warns++
		default:
			notes++
		}
	}
	return stops, warns, notes
}

// ruleIDs returns the rules of the findings, each once, sorted.
func ruleIDs(findings []graft.Finding) []string {
	var ids []string
	for _, f := range findings {
		if !slices.Contains(ids, string(f.Rule)) {
			ids = append(ids, string(f.Rule))
		}
	}
	slices.Sort(ids)
	return ids
}
