package cli

import (
	"context"
	"errors"
	"fmt"
	"io"

	"graftclock/internal/caldav"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

// puller is one run of graftclock pull.
type puller struct {
	ctx  context.Context
	w    io.Writer
	f    shelfFlags
	only graft.CaseID // empty: all cases
}

// pulled is what differs in the shared calendar.
func (p *puller) pulled(k *desk.Keeper, client *caldav.Client, shelf desk.Shelf) ([]desk.Pulled, error) {
	if p.only != "" {
		if _, err := k.Live(p.only, p.f.day()); err != nil {
			return nil, err
		}
	}
	all, err := k.Pull(p.ctx, shelf, p.f.day(), p.f.now())
	if err != nil {
		return nil, noCalendar(p.ctx, client, shelf, err)
	}
	var list []desk.Pulled
	for _, one := range all {
		if p.only == "" || one.Case == p.only {
			list = append(list, one)
		}
	}
	return list, nil
}

// show lists what differs and what can be done about it.
func (p *puller) show() error {
	return p.f.shelf(func(k *desk.Keeper, client *caldav.Client, shelf desk.Shelf) error {
		list, err := p.pulled(k, client, shelf)
		if err != nil {
			return err
		}
		if len(list) == 0 {
			fmt.Fprintln(p.w, "The shared calendar says what graftclock wrote there.")
			return nil
		}
		printPulled(p.w, list)
		fmt.Fprintln(p.w, "\ngraftclock pull --accept moves in the ledger what can be moved; --put-back "+otherwise)
		return errStopped
	})
}

// otherwise says what can be done about a visit that is not moved.
const otherwise = `makes the calendar say what the ledger says.
Was one deleted because it is off, graftclock cancel CASE STEP gives its time back.`

func printPulled(w io.Writer, list []desk.Pulled) {
	rows := [][]string{{"CASE", "PATIENT", "STEP", "LEDGER", "CALENDAR", "CAN MOVE"}}
	for _, one := range list {
		can := "no: " + one.Why
		if !one.Move.Day.IsZero() {
			can = "to " + one.Move.String()
		}
		rows = append(rows, []string{string(one.Case), one.Patient, one.Milestone.Title(), slotTime(one.Slot), slotTime(one.There), can})
	}
	printTable(w, rows)
}

// accept moves in the ledger what was moved in the calendar.
func (p *puller) accept() error {
	return p.f.acted(false, func(k *desk.Keeper, a desk.Actor) error {
		client, shelf, err := p.f.sharedCalendar(k)
		if err != nil {
			return err
		}
		list, err := p.pulled(k, client, shelf)
		if err != nil {
			return err
		}
		var left []desk.Pulled
		moved := map[graft.CaseID]bool{}
		for _, one := range list {
			visit, err := k.TakeOver(a, one)
			var refusal *graft.Refusal
			switch {
			case errors.As(err, &refusal):
				one.Move, one.Why = graft.Slot{}, orElse(one.Why, refusal.Message)
				left = append(left, one)
			case err != nil:
				return err
			default:
				moved[one.Case] = true
				fmt.Fprintf(p.w, "%s, %s: %s, moved to %s\n", one.Case, one.Patient, one.Milestone.Title(), visit.Slot)
			}
		}
		printTaken(p.w, moved)
		if len(left) > 0 {
			printPulled(p.w, left)
			fmt.Fprintln(p.w, "\ngraftclock pull --put-back "+otherwise)
			return errStopped
		}
		return nil
	})
}

// printTaken says what is to follow on moves in the ledger, of such cases.
func printTaken(w io.Writer, moved map[graft.CaseID]bool) {
	const entries = " graftclock publish brings the calendar up to date."
	switch len(moved) {
	case 0:
	case 1:
		for id := range moved {
			fmt.Fprintf(w, "Tell the patient: graftclock invite %s (mail), or a call."+entries+"\n", id)
		}
	default:
		fmt.Fprintln(w, "Tell each patient: graftclock invite CASE (mail), or a call."+entries)
	}
}

// putBack makes the calendar say what the ledger says.
func (p *puller) putBack() error {
	return p.f.shelf(func(k *desk.Keeper, client *caldav.Client, shelf desk.Shelf) error {
		list, err := p.pulled(k, client, shelf)
		if err != nil {
			return err
		}
		var did []desk.Shelving
		for _, one := range list {
			s, err := k.PutBack(p.ctx, shelf, one, p.f.day(), p.f.now())
			var refusal *graft.Refusal
			if errors.As(err, &refusal) {
				s.Did, s.Why, err = desk.Keeps, refusal.Message, nil
			}
			if err != nil {
				return errors.Join(printShelvings(p.w, did, false, nil), err)
			}
			did = append(did, s)
		}
		if len(did) == 0 {
			fmt.Fprintln(p.w, "Nothing to put back.")
			return nil
		}
		return printShelvings(p.w, did, false, nil)
	})
}
