package cli

import (
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"graftclock/internal/desk"
	"graftclock/internal/evidence"
	"graftclock/internal/graft"
	"graftclock/internal/table"
)

func newExplain(now func() time.Time) *cobra.Command {
	var s sources
	c := &cobra.Command{
		Use:   "explain RECORD|CASE [STEP]",
		Short: "Show each date with its rule, its numbers and its sources",
		Long: `Explain prints why each date is what it is, so that it can be checked with a
pencil: inputs with units, the sum with the numbers in, the rule, its sources with
their status, where sources disagree, what was rounded, what the diary moved and
why, and which implant is the slowest.

STEP is one of: ` + strings.Join(stepWords(), ", ") + `.`,
		Args: cobra.RangeArgs(1, 2),
		RunE: func(c *cobra.Command, args []string) error {
			step := graft.Step("")
			if len(args) > 1 {
				step = graft.Step(args[1])
				if err := knownStep(step); err != nil {
					return err
				}
			}
			if namesCase(args[0]) {
				return withCase(s, now, args[0], func(k *desk.Keeper, live desk.Live) error {
					return explain(c.OutOrStdout(), k.Desk, live.Plan, step)
				})
			}
			d, p, err := s.planOf(args[0])
			if err != nil {
				return err
			}
			return explain(c.OutOrStdout(), d, p, step)
		},
	}
	s.flags(c)
	return c
}

func stepWords() []string {
	words := make([]string, len(graft.Steps))
	for i, s := range graft.Steps {
		words[i] = string(s)
	}
	return words
}

func knownStep(step graft.Step) error {
	for _, s := range graft.Steps {
		if s == step {
			return nil
		}
	}
	hint := table.DidYouMean(string(step), stepWords())
	return usagef("no step %q; %s", step, orElse(hint, "steps: "+strings.Join(stepWords(), ", ")))
}

func orElse(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// explain prints the reasons of every milestone of a step, or of all.
func explain(w io.Writer, d *desk.Desk, p desk.Plan, step graft.Step) error {
	fmt.Fprintf(w, "%s, %s. Surgery %s (day 0). Rules %s.\n", p.Timeline.Case, p.Case.Patient.Name, withWeekday(p.Case.Surgery.Day), p.Timeline.RulesVersion)
	said := told{sources: map[graft.SourceID]bool{}, rules: map[graft.RuleID]bool{}}
	found := false
	for _, m := range dated(p.Timeline.Milestones) {
		if step != "" && m.Step != step {
			continue
		}
		found = true
		fmt.Fprintf(w, "\n%s: %s\n", m.Title(), orElse(withWeekday(m.Placed), "no date"))
		if !m.Window.Latest.IsZero() {
			fmt.Fprintf(w, "  not before %s, earliest %s, target %s, latest %s\n", m.Window.NotBefore, m.Window.Earliest, m.Window.Target, m.Window.Latest)
		}
		if m.Booked {
			fmt.Fprintf(w, "  booked %s\n", m.Slot)
		}
		if m.Override != nil {
			fmt.Fprintf(w, "  %s\n", desk.OverrideText(*m.Override))
		}
		for _, r := range m.Reasons {
			explainReason(w, r, "  ", said)
		}
	}
	if !found {
		fmt.Fprintf(w, "\nThe plan has no step %s.\n", orElse(string(step), "at all"))
	}
	if step == "" {
		if err := explainRest(w, d, p, said); err != nil {
			return err
		}
	}
	printFindings(w, p)
	printSources(w, said.sources)
	fmt.Fprintf(w, "\n%s\n", desk.Caution)
	if p.Stopped() {
		return errStopped
	}
	return nil
}

// explainRest prints what is no milestone: how much of each graft is bone, and
// the restrictions and signs of the letter.
func explainRest(w io.Writer, d *desk.Desk, p desk.Plan, said told) error {
	volumes, err := d.Volumes(p)
	if err != nil {
		return err
	}
	for _, g := range volumes {
		fmt.Fprintf(w, "\ngraft, %s sinus: bone has reached %.0f %% of its volume at %.2f months\n", g.Side, g.Share*100, g.Months)
	}
	for _, l := range d.Limits(p) {
		until := "no date: ask the surgeon"
		if !l.Free.IsZero() {
			until = "over from " + withWeekday(l.Free)
		}
		fmt.Fprintf(w, "\nletter, %s: %s\n", strings.ReplaceAll(l.Preset, "_", " "), until)
		explainReason(w, l.Reason, "  ", said)
	}
	fmt.Fprintln(w, "\nletter, signs to call about")
	explainReason(w, d.RedFlags(), "  ", said)
	return nil
}

// dated returns the milestones by their days, those without one last.
func dated(milestones []graft.Milestone) []graft.Milestone {
	list := desk.ByDay(milestones)
	for _, m := range milestones {
		if m.Placed.IsZero() {
			list = append(list, m)
		}
	}
	return list
}

// told remembers which rules were printed with their sources, so that each is
// said once, and which sources were cited.
type told struct {
	rules   map[graft.RuleID]bool
	sources map[graft.SourceID]bool
}

// explainReason prints a tree of reasons, each level further in. A rule that
// stood above with its sources is only named again.
func explainReason(w io.Writer, r graft.Reason, indent string, said told) {
	inner := indent + "    "
	if len(r.Cites) > 0 && said.rules[r.Rule] {
		fmt.Fprintf(w, "%s- rule %s, above", indent, r.Rule)
		if r.Result != "" {
			fmt.Fprintf(w, ": %s", r.Result)
		}
		fmt.Fprintln(w)
		if r.Formula != "" {
			fmt.Fprintf(w, "%ssum: %s\n", inner, r.Formula)
		}
	} else {
		explainWhole(w, r, indent, said)
	}
	for _, b := range r.Because {
		explainReason(w, b, indent+"  ", said)
	}
}

// explainWhole prints one reason without those below it.
func explainWhole(w io.Writer, r graft.Reason, indent string, said told) {
	rule, inner := "", indent+"    "
	if r.Rule != "" {
		rule = " [" + string(r.Rule) + "]"
	}
	fmt.Fprintf(w, "%s- %s%s\n", indent, r.Says, rule)
	for _, i := range r.Inputs {
		place := ""
		if i.Path != "" {
			place = " (" + i.Path + ")"
		}
		fmt.Fprintf(w, "%s%s: %s%s\n", inner, i.Name, i.Value, place)
	}
	if r.Formula != "" {
		fmt.Fprintf(w, "%ssum: %s\n", inner, r.Formula)
	}
	if r.Result != "" {
		fmt.Fprintf(w, "%svalue: %s\n", inner, r.Result)
	}
	if r.Adopted != "" {
		fmt.Fprintf(w, "%s%s\n", inner, r.Adopted)
	}
	for _, c := range r.Cites {
		said.sources[c.Source], said.rules[r.Rule] = true, true
		fmt.Fprintf(w, "%ssource: %s (%s): %s\n", inner, c.Source, c.Status, c.Says)
	}
	if r.Differ != "" {
		fmt.Fprintf(w, "%ssources differ: %s\n", inner, r.Differ)
	}
}

// printSources lists the publications behind what was printed.
func printSources(w io.Writer, used map[graft.SourceID]bool) {
	if len(used) == 0 {
		return
	}
	fmt.Fprintln(w, "\nSources:")
	for _, source := range evidence.All() {
		if used[graft.SourceID(source.ID)] {
			fmt.Fprintf(w, "  %s\n      %s\n", source.ID, source.Reference())
		}
	}
}
