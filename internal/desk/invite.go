package desk

import (
	"errors"
	"fmt"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/post"
)

// surelyOver is how long after it began the sending of a message is over, one way or
// the other: longer than any mail server is waited for.
const surelyOver = 10 * time.Minute

// InviteOptions say how messages leave the house.
type InviteOptions struct {
	// Name makes the name of a message, as post.NewID does.
	Name func() string
	// Carry takes a message out of the house and says what became of it, in the words
	// of the server or of the disk. An error stops the run.
	Carry func(ledger.Invitation, post.Message) (ledger.Sending, string, error)
	// Again sends once more what may have arrived and may not; Arrived counts it as
	// sent.
	Again, Arrived bool
}

// Invited is one message of a run, or one that waits and why.
type Invited struct {
	ledger.Invitation
	Title string     // of the step
	Slot  graft.Slot // what the message says; zero: the visit is off
	Was   graft.Slot // what the last message said; zero: the visit is new to the patient
	Waits string     // why the patient has not been told; empty if they have

	before given // the event of the last message
	number int   // its SEQUENCE
}

// Invite tells the patient by mail of every visit whose time is new, has moved or is
// off since the last message about it (RFC 5546), one message for each, kept in the
// ledger before it leaves. It needs the patient's recorded choice, and, but for what
// is off, an approved plan. What failed is tried again by the next run; what may have
// arrived is not, unless somebody says so. It stops at the first message that does
// not get through.
func (k *Keeper) Invite(a Actor, id graft.CaseID, o InviteOptions) ([]Invited, error) {
	var told []Invited
	tried := map[graft.MilestoneID]bool{}
	for {
		var next *outgoing
		var waiting []Invited
		_, err := k.act(a, id, func(t *turn) (err error) {
			next, waiting, err = t.nextMessage(o, tried)
			return err
		})
		if err != nil || next == nil {
			return append(told, waiting...), err
		}
		tried[next.Milestone] = true
		done, err := k.carry(a, next, o)
		told = append(told, done)
		if err != nil || done.Waits != "" {
			return told, err
		}
	}
}

// carry takes a message out of the house and keeps what became of it.
func (k *Keeper) carry(a Actor, next *outgoing, o InviteOptions) (Invited, error) {
	done := next.Invited
	var failed error
	done.State, done.Says, failed = o.Carry(next.Invitation, next.message)
	switch done.State {
	case ledger.UnderWay:
		done.Waits = "it may have arrived and may not: " + done.Says
		return done, failed
	case ledger.Failed:
		done.Waits = "not sent: " + done.Says
	}
	err := k.store.Act(func(w Writing) error {
		return w.EndInvitation(done.Invitation, inviteEntry(a, done))
	})
	return done, errors.Join(failed, err)
}

func inviteEntry(a Actor, i Invited) ledger.Entry {
	was, now := "-", "off"
	if i.Was != (graft.Slot{}) {
		was = i.Was.String()
	}
	if i.Slot != (graft.Slot{}) {
		now = i.Slot.String()
	}
	return ledger.Entry{At: a.At, By: a.Person, Case: i.Case, Milestone: i.Milestone, What: "invite", Was: was, Now: now + ": " + string(i.State), Why: i.Says}
}

// Untold lists what the patient has not been told by mail, and why each waits; with
// an empty reason it would go out now.
func (k *Keeper) Untold(a Actor, id graft.CaseID) ([]Invited, error) {
	var list []Invited
	err := k.store.View(func(l Ledger) error {
		live, err := k.live(l, id, a.On)
		if err != nil {
			return err
		}
		if err := k.mailed(live); err != nil {
			return err
		}
		earlier, err := l.Invitations(id)
		if err != nil {
			return err
		}
		list, err = k.untold(live, earlier, a.At)
		return err
	})
	return list, err
}

// mailed refuses a patient who has not chosen to get mail, and a clinic without an
// address.
func (d *Desk) mailed(l Live) error {
	if d.Clinic.Mail.From == "" {
		return &graft.Refusal{Kind: graft.Invalid, Message: "the clinic file does not say how mail is sent", Hint: "add mail: with from, server, port and security"}
	}
	if l.Case.Patient.Mail.Address == "" {
		return &graft.Refusal{
			Kind:    graft.Invalid,
			Message: fmt.Sprintf("the record of %s has no choice of the patient to be told by e-mail", l.Kept.Case),
			Hint:    "graftclock set " + string(l.Kept.Case) + " with patient.mail.address, patient.mail.agreed and patient.mail.letter records it",
		}
	}
	return nil
}

// untold compares what is booked with what the last message about each visit said.
func (k *Keeper) untold(live Live, earlier []ledger.Invitation, at time.Time) ([]Invited, error) {
	var list []Invited
	for _, id := range live.visited() {
		i, tell, err := k.difference(live, id, earlier)
		if err != nil {
			return nil, err
		}
		if !tell {
			continue
		}
		i.Waits = live.waits(i)
		if open := lastOf(earlier, id, isOpen); open != nil {
			i.Waits = stuck(*open, at)
		}
		list = append(list, i)
	}
	return list, nil
}

// visited lists the milestones that ever had a visit, in the order of the first.
func (l Live) visited() []graft.MilestoneID {
	var list []graft.MilestoneID
	seen := map[graft.MilestoneID]bool{}
	for _, v := range l.Visits {
		if !seen[v.Milestone] {
			seen[v.Milestone] = true
			list = append(list, v.Milestone)
		}
	}
	return list
}

// difference is what there is to tell about one visit, if there is anything.
func (k *Keeper) difference(live Live, id graft.MilestoneID, earlier []ledger.Invitation) (Invited, bool, error) {
	address := live.Case.Patient.Mail.Address
	last := lastOf(earlier, id, func(i ledger.Invitation) bool {
		return (i.State == ledger.Sent || i.State == ledger.Written) && i.To == address
	})
	v, _ := live.Latest(id)
	i := Invited{Invitation: ledger.Invitation{Case: live.Kept.Case, Milestone: id, Revision: live.Kept.Revision, To: address}, Title: id.Title()}
	known := last != nil && last.Method == ledger.Request
	if known {
		var err error
		if i.before, err = decoded(last.Event); err != nil {
			return i, false, err
		}
		i.number = last.Sequence
		i.Was = graft.Slot{Day: i.before.Day, Start: i.before.Start, Minutes: i.before.Minutes}
	}
	on := live.Timeline.On
	switch {
	case v.State == ledger.Booked && !v.Day.Before(on) && !live.was(id):
		i.Method, i.Slot = ledger.Request, graft.Slot{Day: v.Day, Start: v.Start, Minutes: v.Minutes}
		return i, !known || i.Was != i.Slot || i.before.Zone != k.Clinic.Zone, nil
	case known && !i.Was.Day.Before(on) && !live.tookPlace(v, i.Was.Day):
		i.Method = ledger.Cancellation
		return i, true, nil
	}
	return i, false, nil
}

// tookPlace reports whether a visit is, or was, on the day that the patient was told.
// One that the record has as attended on another day is not booked any more.
func (l Live) tookPlace(v ledger.Visit, told day.Day) bool {
	return v.Day == told && (v.State == ledger.Attended || v.State == ledger.Missed || v.State == ledger.Booked && !l.was(v.Milestone))
}

// waits says why a message must not go out yet. That a visit is off may always be
// told.
func (l Live) waits(i Invited) string {
	switch {
	case i.Method == ledger.Cancellation:
		return ""
	case l.heldBack() != "":
		return l.heldBack()
	case l.Draft():
		return "a draft: graftclock approve " + string(l.Kept.Case)
	}
	return ""
}

// stuck says that a message was cut off, or is on its way just now.
func stuck(i ledger.Invitation, at time.Time) string {
	since := fmt.Sprintf("a message has been under way since %s, by %s", i.At.UTC().Format("2006-01-02 15:04 UTC"), i.By)
	if at.Sub(i.At) < surelyOver {
		return since + ": wait until it is over"
	}
	return since + ": it may have arrived; ask the patient, then --arrived or --again"
}

func isOpen(i ledger.Invitation) bool { return i.State == ledger.UnderWay }

// lastOf returns the last message about a milestone that is such.
func lastOf(list []ledger.Invitation, id graft.MilestoneID, such func(ledger.Invitation) bool) *ledger.Invitation {
	for n := len(list) - 1; n >= 0; n-- {
		if list[n].Milestone == id && such(list[n]) {
			return &list[n]
		}
	}
	return nil
}
