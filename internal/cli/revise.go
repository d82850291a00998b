package cli

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

func newNote(now func() time.Time) *cobra.Command {
	f := keeperFlags{now: now}
	var why string
	c := &cobra.Command{
		Use:   "note CASE WHAT [KEY=VALUE...]",
		Short: "Record a finding and see what it does to the plan (surgeon)",
		Long: `Note adds a finding to a case's record and makes a new revision of its plan. WHAT and
the keys are those of findings in the record format (graftclock record new): for
instance stability tooth=16 isq=64, infection side=right, graft-removed, perforation
size_mm=3 repaired=true, image result=unclear, left-out step=healing-review (a step
that the surgeon decides to do without). Without a day it is today.

Nothing that is booked moves: what no longer fits is listed with proposals, and
graftclock settle does them.`,
		Example: "  graftclock note HR-2041 stability tooth=16 isq=64 --as \"Dr Alba Quill\"",
		Args:    cobra.MinimumNArgs(2),
		RunE: func(c *cobra.Command, args []string) error {
			return f.acted(false, func(k *desk.Keeper, a desk.Actor) error {
				fields := map[string]string{"what": strings.ReplaceAll(args[1], "-", " "), "day": a.On.String()}
				for _, text := range args[2:] {
					key, value, ok := strings.Cut(text, "=")
					if !ok {
						return usagef("%q: want KEY=VALUE", text)
					}
					fields[key] = value
				}
				live, err := k.AddFinding(a, graft.CaseID(args[0]), fields, why)
				return printRevised(c.OutOrStdout(), live, err)
			})
		},
	}
	f.acting(c)
	c.Flags().StringVar(&why, "why", "", "more about it, for the history")
	return c
}

func newSet(now func() time.Time) *cobra.Command {
	f := keeperFlags{now: now}
	var why string
	c := &cobra.Command{
		Use:   "set CASE KEY=VALUE...",
		Short: "Correct a case's record and see what it does to the plan",
		Long: `Set changes values of a case's record and makes a new revision of its plan. A key is
a path of the record, such as surgery.day, or a short form as in graftclock compare;
+= and -= add to a list and take from it. What is the patient's own (patient.*) may
be set by anybody of the clinic, all else by a surgeon.`,
		Example: "  graftclock set HR-2041 surgery.day=2027-01-15 --as \"Dr Alba Quill\"",
		Args:    cobra.MinimumNArgs(2),
		RunE: func(c *cobra.Command, args []string) error {
			return f.acted(false, func(k *desk.Keeper, a desk.Actor) error {
				live, err := k.Set(a, graft.CaseID(args[0]), args[1:], why)
				return printRevised(c.OutOrStdout(), live, err)
			})
		},
	}
	f.acting(c)
	c.Flags().StringVar(&why, "why", "", "reason, for the history")
	return c
}

func newOverride(now func() time.Time) *cobra.Command {
	f := keeperFlags{now: now}
	var choice choiceFlags
	var why string
	c := &cobra.Command{
		Use:   "override CASE STEP DAY|none",
		Short: "Set a day of your own for a step, shown beside the computed one (surgeon)",
		Long: `Override sets the surgeon's own day for a step. The computed date stays beside it on
every output. Below a hard floor it is refused. None takes it back.`,
		Example: "  graftclock override HR-2041 uncovering 2027-09-06 --why \"wishes to see the scan first\" --as \"Dr Alba Quill\"",
		Args:    cobra.ExactArgs(3),
		RunE: func(c *cobra.Command, args []string) error {
			wanted, err := choice.choice(args[1])
			if err != nil {
				return err
			}
			var to day.Day
			if args[2] != "none" {
				if to, err = day.Parse(args[2]); err != nil {
					return usageError{err}
				}
			}
			return f.acted(false, func(k *desk.Keeper, a desk.Actor) error {
				live, err := k.Override(a, graft.CaseID(args[0]), wanted, to, why)
				return printRevised(c.OutOrStdout(), live, err)
			})
		},
	}
	f.acting(c)
	choice.flags(c)
	c.Flags().StringVar(&why, "why", "", "the reason")
	return c
}

func newApprove(now func() time.Time) *cobra.Command {
	f := keeperFlags{now: now}
	c := &cobra.Command{
		Use:   "approve CASE",
		Short: "Let the current revision reach the patient (surgeon)",
		Long: `Approve freezes the current revision: its letter and calendar lose the word DRAFT. A
later change of the record, an override or other rules ask for approval again.`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return f.acted(false, func(k *desk.Keeper, a desk.Actor) error {
				live, err := k.Approve(a, graft.CaseID(args[0]))
				if err != nil {
					return err
				}
				fmt.Fprintf(c.OutOrStdout(), "%s, %s: revision %d approved by %s\n", live.Kept.Case, live.Kept.Patient, live.Kept.Revision, live.Approval.By)
				return printTell(c.OutOrStdout(), k, a, live, false)
			})
		},
	}
	f.acting(c)
	return c
}

func newSettle(now func() time.Time) *cobra.Command {
	f := keeperFlags{now: now}
	var why string
	c := &cobra.Command{
		Use:   "settle CASE",
		Short: "Do what is proposed for the visits that no longer fit",
		Long: `Settle moves every booked visit that no longer fits to the slot that graftclock plan
CASE proposes for it, holds the window of one that is far ahead, and gives back the
slot of a step that the plan no longer has. Where the rules have changed it makes a
new revision. Tell the patient.`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return f.acted(false, func(k *desk.Keeper, a desk.Actor) error {
				live, did, err := k.Settle(a, graft.CaseID(args[0]), why)
				if err != nil {
					return err
				}
				fmt.Fprintf(c.OutOrStdout(), "%s, %s: settled\n", live.Kept.Case, live.Kept.Patient)
				rows := [][]string{{"STEP", "WAS", "NOW", "WHY"}}
				for _, s := range did {
					rows = append(rows, []string{s.ID.Title(), s.Was.String(), s.Does(), s.Why})
				}
				if len(did) > 0 {
					printTable(c.OutOrStdout(), rows)
					if err := printTell(c.OutOrStdout(), k, a, live, true); err != nil {
						return err
					}
				}
				printUnsettled(c.OutOrStdout(), live)
				return nil
			})
		},
	}
	f.acting(c)
	c.Flags().StringVar(&why, "why", "", "reason, for the history")
	return c
}

// printRevised says what a new revision changed and what no longer fits.
func printRevised(w io.Writer, live desk.Live, err error) error {
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "%s, %s: revision %d, a draft until a surgeon approves it\n", live.Kept.Case, live.Kept.Patient, live.Kept.Revision)
	for _, m := range live.Timeline.Milestones {
		if m.Override != nil {
			fmt.Fprintf(w, "%s: %s\n", m.Title(), desk.OverrideText(*m.Override))
		}
	}
	printFindings(w, live.Plan)
	printUnsettled(w, live)
	if live.Stopped() {
		return errStopped
	}
	return nil
}

// printUnsettled lists what is booked and does not fit, with the proposals.
func printUnsettled(w io.Writer, live desk.Live) {
	if live.OtherRules {
		fmt.Fprintf(w, "The rules have changed since revision %d was made (%s): graftclock settle %s plans by the rules in force.\n", live.Kept.Revision, live.Revision.RulesVersion, live.Kept.Case)
	}
	list := live.Unsettled()
	if len(list) == 0 {
		return
	}
	fmt.Fprintf(w, "\nBooked and no longer fitting; nothing moves until graftclock settle %s:\n", live.Kept.Case)
	rows := [][]string{{"STEP", "BOOKED", "WHY NOT", "PROPOSAL", "OR"}}
	for _, s := range list {
		var others []string
		for _, o := range s.Others {
			others = append(others, withWeekday(o.Day)+" "+o.Start.String())
		}
		rows = append(rows, []string{s.ID.Title(), s.Was.String(), s.Why, s.Does(), orDash(strings.Join(others, "; "))})
	}
	printTable(w, rows)
}

func newHistory(now func() time.Time) *cobra.Command {
	f := keeperFlags{now: now}
	c := &cobra.Command{
		Use:   "history [CASE]",
		Short: "Print who did what, when and why",
		Long:  "History prints the entries about a case, or all, oldest first. Entries are never changed and never removed.",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			id := graft.CaseID("")
			if len(args) > 0 {
				id = graft.CaseID(args[0])
			}
			return f.with(func(k *desk.Keeper) error {
				entries, err := k.History(id)
				zone, zoneErr := time.LoadLocation(k.Clinic.Zone)
				if err := errors.Join(err, zoneErr); err != nil {
					return err
				}
				rows := [][]string{{"WHEN", "WHO", "CASE", "STEP", "DID", "WAS", "NOW", "WHY"}}
				for _, e := range entries {
					rows = append(rows, []string{e.At.In(zone).Format("2006-01-02 15:04"), e.By.Name, string(e.Case), orDash(e.Milestone.Title()), e.What, orDash(e.Was), orDash(e.Now), orDash(e.Why)})
				}
				printTable(c.OutOrStdout(), rows)
				return nil
			})
		},
	}
	f.flags(c)
	return c
}
