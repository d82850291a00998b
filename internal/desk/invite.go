package desk

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/post"
)

// surelyOver is how long after it began the sending of a message is over, one way or
// the other: longer than any mail server is waited for.
const surelyOver = 10 * time.Minute

// countedLost is said of a message that was cut off and is sent once more. It may
// have arrived all the same.
const countedLost = "counted as lost"

// InviteOptions say how messages leave the house.
type InviteOptions struct {
	// Name makes the name of a message, as post.NewID does.
	Name func() string
	// Carry takes a message out of the house and says what became of it, in the words
	// of the server or of the disk. An error stops the run.
	Carry func(ledger.Invitation, post.Message) (ledger.Sending, string, error)
	// Now is the time; nil: it stands still at the actor's.
	Now func() time.Time
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

	before given // the event of a visit that is off, as the patient has it
	number int   // the highest SEQUENCE that they may have of it
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
		if o.Now != nil {
			a.At = o.Now() // each message is under way from its own start
		}
		var next *outgoing
		var waiting []Invited
		_, err := k.act(a, id, "invite", func(t *turn) (err error) {
			next, waiting, err = t.nextMessage(o, tried)
			return err
		})
		if err != nil || next == nil {
			return append(told, waiting...), err
		}
		tried[next.Milestone] = true
		done, err := k.carry(a, next, o)
		told = append(told, done)
		if err != nil {
			return told, err
		}
		if done.Waits != "" {
			rest, err := k.rest(a, id, tried)
			return append(told, rest...), err
		}
	}
}

// rest lists what a run that stops leaves untold.
func (k *Keeper) rest(a Actor, id graft.CaseID, tried map[graft.MilestoneID]bool) ([]Invited, error) {
	list, err := k.Untold(a, id)
	list = slices.DeleteFunc(list, func(i Invited) bool { return tried[i.Milestone] })
	for n := range list {
		if list[n].Waits == "" {
			list[n].Waits = "not tried, for the one before did not get through"
		}
	}
	return list, err
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
