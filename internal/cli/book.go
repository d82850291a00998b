package cli

import (
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// mostOffers is how many slots are offered unless somebody asks for more.
const mostOffers = 5

func newSlots(now func() time.Time) *cobra.Command {
	f := keeperFlags{now: now}
	var choice choiceFlags
	var from, to dayFlag
	most := mostOffers
	c := &cobra.Command{
		Use:   "slots CASE STEP",
		Short: "Offer the best few times for a visit, with why they rank so",
		Long: `Slots offers days with a free time, room and person, best first: inside the
window, then what leaves every other visit of the case a place, then the fewest
trips, then nearest to the targets, then earliest.

With --from and --to it looks at those days instead of the window.`,
		Example: "  graftclock slots HR-2041 uncovering",
		Args:    cobra.ExactArgs(2),
		RunE: func(c *cobra.Command, args []string) error {
			wanted, err := choice.choice(args[1])
			if err != nil {
				return err
			}
			var span day.Span
			if !from.IsZero() || !to.IsZero() {
				span.From = from.or(f.day)
				span.To = to.or(func() day.Day { return span.From.AddMonths(1) })
			}
			return f.with(func(k *desk.Keeper) error {
				live, err := k.Live(graft.CaseID(args[0]), f.day())
				if err != nil {
					return err
				}
				m, err := live.Pick(wanted)
				if err != nil {
					return err
				}
				offers, err := live.Offers(m, span, most)
				if err != nil {
					return err
				}
				return printOffers(c.OutOrStdout(), live, m, offers)
			})
		},
	}
	f.flags(c)
	choice.flags(c)
	c.Flags().Var(&from, "from", "first day to look at (default: the window)")
	c.Flags().Var(&to, "to", "last day to look at (default: a month on)")
	c.Flags().IntVar(&most, "most", mostOffers, "how many days to offer")
	return c
}

func printOffers(w io.Writer, live desk.Live, m graft.Milestone, offers []diary.Offer) error {
	fmt.Fprintf(w, "%s, %s: %s, %s to %s, target %s\n", live.Kept.Case, live.Kept.Patient, m.Title(), m.Window.Earliest, m.Window.Latest, withWeekday(m.Window.Target))
	if len(offers) == 0 {
		fmt.Fprintln(w, "no time is free on these days")
		return errStopped
	}
	rows := [][]string{{"DAY", "TIME", "ROOM", "WITH", "ALSO", "WHY"}}
	for _, o := range offers {
		rows = append(rows, []string{withWeekday(o.Day), o.Start.String(), orDash(o.Room), orDash(o.Person), also(o), o.Says})
	}
	printTable(w, rows)
	return nil
}

// also lists the other starts of the day, thinned out to what a caller can take in.
func also(o diary.Offer) string {
	const shown = 4
	var starts []string
	step := max(1, len(o.Starts)/shown)
	for n := step; n < len(o.Starts) && len(starts) < shown; n += step {
		starts = append(starts, o.Starts[n].String())
	}
	return orDash(strings.Join(starts, " "))
}

// booking is what book and move have in common.
type booking struct {
	keeperFlags
	choiceFlags
	room, person, why string
}

func (b *booking) flags(c *cobra.Command) {
	b.acting(c)
	b.choiceFlags.flags(c)
	c.Flags().StringVar(&b.room, "room", "", "room (default: the first that is free)")
	c.Flags().StringVar(&b.person, "with", "", "person (default: the first that is free)")
	c.Flags().StringVar(&b.why, "why", "", "reason; needed outside the window")
}

// run books or moves, and prints what came of it.
func (b *booking) run(c *cobra.Command, args []string, act func(*desk.Keeper, desk.Actor, graft.CaseID, desk.Choice, graft.Slot, string) (desk.Live, ledger.Visit, error)) error {
	wanted, err := b.choice(args[1])
	if err != nil {
		return err
	}
	slot, err := slotOf(args[2], args[3])
	if err != nil {
		return err
	}
	slot.Room, slot.Person = b.room, b.person
	return b.acted(false, func(k *desk.Keeper, a desk.Actor) error {
		live, v, err := act(k, a, graft.CaseID(args[0]), wanted, slot, b.why)
		if err != nil {
			return err
		}
		if err := printDone(c.OutOrStdout(), live, v); err != nil {
			return err
		}
		return printTell(c.OutOrStdout(), k, a, live, c.Name() == string(ledger.Move))
	})
}

func newBook(now func() time.Time) *cobra.Command {
	b := booking{keeperFlags: keeperFlags{now: now}}
	c := &cobra.Command{
		Use:   "book CASE STEP DAY TIME",
		Short: "Book a visit",
		Long: `Book takes a time for a visit, with the first free room and person unless they are
named. Outside the window it asks for a reason; before the gate it asks for a
surgeon and a reason; below a hard floor it is refused.`,
		Example: "  graftclock book HR-2041 uncovering 2027-08-23 09:00 --as \"Ida Marlow\"",
		Args:    cobra.ExactArgs(4),
		RunE: func(c *cobra.Command, args []string) error {
			return b.run(c, args, func(k *desk.Keeper, a desk.Actor, id graft.CaseID, w desk.Choice, s graft.Slot, why string) (desk.Live, ledger.Visit, error) {
				return k.Book(a, id, w, s, why)
			})
		},
	}
	b.flags(c)
	return c
}

func newMove(now func() time.Time) *cobra.Command {
	b := booking{keeperFlags: keeperFlags{now: now}}
	c := &cobra.Command{
		Use:   "move CASE STEP DAY TIME",
		Short: "Move a booked visit to another time",
		Long:  "Move gives a booked visit another time, by the rules of book. The old time stays in the history.",
		Args:  cobra.ExactArgs(4),
		RunE: func(c *cobra.Command, args []string) error {
			return b.run(c, args, func(k *desk.Keeper, a desk.Actor, id graft.CaseID, w desk.Choice, s graft.Slot, why string) (desk.Live, ledger.Visit, error) {
				return k.Move(a, id, w, s, why)
			})
		},
	}
	b.flags(c)
	return c
}

// visiting is an act on a visit that takes no slot.
type visiting struct {
	keeperFlags
	choiceFlags
	why string
}

// command makes the command of an act on the visit CASE STEP.
func (v *visiting) command(use, short, long string, args cobra.PositionalArgs, act func(*desk.Keeper, desk.Actor, desk.Choice, []string) (desk.Live, ledger.Visit, error)) *cobra.Command {
	c := &cobra.Command{
		Use: use, Short: short, Long: long, Args: args,
		RunE: func(c *cobra.Command, args []string) error {
			wanted, err := v.choice(args[1])
			if err != nil {
				return err
			}
			return v.acted(false, func(k *desk.Keeper, a desk.Actor) error {
				live, visit, err := act(k, a, wanted, args)
				if err != nil {
					return err
				}
				if err := printDone(c.OutOrStdout(), live, visit); err != nil {
					return err
				}
				return printTell(c.OutOrStdout(), k, a, live, visit.State == ledger.Cancelled && visit.Minutes > 0)
			})
		},
	}
	v.acting(c)
	v.choiceFlags.flags(c)
	c.Flags().StringVar(&v.why, "why", "", "reason, for the history")
	return c
}

func newHold(now func() time.Time) *cobra.Command {
	v := &visiting{keeperFlags: keeperFlags{now: now}}
	return v.command("hold CASE STEP", "Hold a visit's window without a time", `Hold keeps a visit's window for the patient. A time is booked when the visit is near
enough (rule firm-slots).`, cobra.ExactArgs(2), func(k *desk.Keeper, a desk.Actor, w desk.Choice, args []string) (desk.Live, ledger.Visit, error) {
		return k.Hold(a, graft.CaseID(args[0]), w, v.why)
	})
}

func newCancel(now func() time.Time) *cobra.Command {
	v := &visiting{keeperFlags: keeperFlags{now: now}}
	return v.command("cancel CASE STEP", "Give a booked time or a held window back", `Cancel gives a booked time or a held window back. The step still waits to be booked
again, and the lists say so.`, cobra.ExactArgs(2), func(k *desk.Keeper, a desk.Actor, w desk.Choice, args []string) (desk.Live, ledger.Visit, error) {
		return k.Cancel(a, graft.CaseID(args[0]), w, v.why)
	})
}

func newMissed(now func() time.Time) *cobra.Command {
	v := &visiting{keeperFlags: keeperFlags{now: now}}
	return v.command("missed CASE STEP", "Record that the patient did not come", "Missed records that the patient did not come. The lists then rank what was missed by harm.", cobra.ExactArgs(2),
		func(k *desk.Keeper, a desk.Actor, w desk.Choice, args []string) (desk.Live, ledger.Visit, error) {
			return k.Missed(a, graft.CaseID(args[0]), w, v.why)
		})
}

func newAttended(now func() time.Time) *cobra.Command {
	v := &visiting{keeperFlags: keeperFlags{now: now}}
	return v.command("attended CASE STEP [DAY]", "Record that a step took place", `Attended records that a visit, a call or a decision took place: on the day it was
booked for, or today, or on DAY. Steps that count from it then count from that day.`, cobra.RangeArgs(2, 3),
		func(k *desk.Keeper, a desk.Actor, w desk.Choice, args []string) (desk.Live, ledger.Visit, error) {
			var on day.Day
			if len(args) > 2 {
				var err error
				if on, err = day.Parse(args[2]); err != nil {
					return desk.Live{}, ledger.Visit{}, usageError{err}
				}
			}
			return k.Attended(a, graft.CaseID(args[0]), w, on, v.why)
		})
}

func newContact(now func() time.Time) *cobra.Command {
	f := keeperFlags{now: now}
	var choice choiceFlags
	var says string
	c := &cobra.Command{
		Use:   "contact CASE STEP OUTCOME",
		Short: "Record a call to the patient about a visit",
		Long:  "Contact records a call or message to the patient about a visit. OUTCOME is one of: " + strings.Join(outcomeWords(), ", ") + ".",
		Args:  cobra.ExactArgs(3),
		RunE: func(c *cobra.Command, args []string) error {
			wanted, err := choice.choice(args[1])
			if err != nil {
				return err
			}
			outcome, err := outcomeOf(args[2])
			if err != nil {
				return err
			}
			return f.acted(false, func(k *desk.Keeper, a desk.Actor) error {
				live, err := k.Contact(a, graft.CaseID(args[0]), wanted, outcome, says)
				if err == nil {
					_, err = fmt.Fprintf(c.OutOrStdout(), "%s, %s: %s, %s\n", live.Kept.Case, live.Kept.Patient, args[1], outcome)
				}
				return err
			})
		},
	}
	f.acting(c)
	choice.flags(c)
	c.Flags().StringVar(&says, "says", "", "what was said")
	return c
}

func outcomeWords() []string {
	var words []string
	for _, o := range ledger.Outcomes {
		words = append(words, strings.ReplaceAll(string(o), " ", "-"))
	}
	return words
}

func outcomeOf(text string) (ledger.Outcome, error) {
	for _, o := range ledger.Outcomes {
		if text == string(o) || text == strings.ReplaceAll(string(o), " ", "-") {
			return o, nil
		}
	}
	return "", usagef("%q is no outcome; want %s", text, strings.Join(outcomeWords(), ", "))
}

// printDone says what a visit is now, and what else of the case no longer fits.
func printDone(w io.Writer, live desk.Live, v ledger.Visit) error {
	what := string(v.State)
	switch {
	case v.State == ledger.WindowHeld:
		what += fmt.Sprintf(", %s to %s", v.Window.Earliest, v.Window.Latest)
	case !v.Day.IsZero():
		what += " " + v.Slot.String()
	}
	fmt.Fprintf(w, "%s, %s: %s, %s\n", live.Kept.Case, live.Kept.Patient, v.Milestone.Title(), what)
	printUnsettled(w, live)
	return nil
}
