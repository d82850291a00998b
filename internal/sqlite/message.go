package sqlite

import (
	"bytes"
	"fmt"
	"time"

	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// AddInvitation writes a message that is under way and returns its number. A second
// one under way for a milestone is a refusal of kind Conflict that says who sends
// it and since when; one in another state is a refusal of kind Invalid.
func (w *Writer) AddInvitation(i ledger.Invitation) (int64, error) {
	kept, err := w.Case(i.Case)
	if err != nil {
		return 0, err
	}
	if i.State != ledger.UnderWay {
		return 0, &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("a message begins %s, not %q", ledger.UnderWay, i.State)}
	}
	others, err := list(&w.Reader, "messages", numberedInvitationFields, invitationsUnderWay, i.Case, i.Milestone)
	if err != nil {
		return 0, err
	}
	if len(others) > 0 {
		return 0, underWay(others[0], kept.Patient)
	}
	var id int64
	if err := w.tx.QueryRow(addInvitation, invitationFields(&i)...).Scan(&id); err != nil {
		return 0, guarded(fmt.Errorf("write the message: %w", err))
	}
	return id, nil
}

// EndInvitation writes what became of a message that was under way: its state, when,
// by whom and what is said of it; all else of it never changes. One that has ended
// is a refusal of kind Conflict, one that is not kept a refusal of kind NotFound.
func (w *Writer) EndInvitation(i ledger.Invitation, e ledger.Entry) error {
	old, err := one(&w.Reader, fmt.Sprintf("message %d", i.ID), numberedInvitationFields, oneInvitation, i.ID)
	if err != nil {
		return err
	}
	if err := mayEnd(old, i); err != nil {
		return err
	}
	if err := w.write("the message", endInvitation, i.State, instant{&i.At}, i.By, i.Says, i.ID); err != nil {
		return err
	}
	return w.AddEntry(e)
}

func mayEnd(old, i ledger.Invitation) error {
	if old.State != ledger.UnderWay {
		return &graft.Refusal{
			Kind:    graft.Conflict,
			Message: fmt.Sprintf("message %d about %s is %s already, by %s since %s", old.ID, old.Milestone.Title(), old.State, old.By, moment(old.At)),
			Hint:    "look at the case again and decide anew",
		}
	}
	if !sameMessage(old, i) {
		return &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("message %d is about %s of case %s, to %s, and stays that", old.ID, old.Milestone.Title(), old.Case, old.To)}
	}
	if i.State != ledger.Sent && i.State != ledger.Written && i.State != ledger.Failed {
		return &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("message %d cannot end as %q", old.ID, i.State)}
	}
	return nil
}

// sameMessage compares what never changes of a message.
func sameMessage(old, i ledger.Invitation) bool {
	return old.Case == i.Case && old.Milestone == i.Milestone && old.Revision == i.Revision && old.Method == i.Method &&
		old.Sequence == i.Sequence && old.To == i.To && old.MessageID == i.MessageID && bytes.Equal(old.Event, i.Event)
}

// underWay tells who sends the message that stands in the way: "a message about
// uncovering, left molar, of HR-2044 Teni Okafor is under way: sent by Ida Marlow
// since 2027-01-14 09:30 UTC".
func underWay(i ledger.Invitation, patient string) error {
	return &graft.Refusal{
		Kind:    graft.Conflict,
		Message: fmt.Sprintf("a message about %s of %s %s is under way: sent by %s since %s", i.Milestone.Title(), i.Case, patient, i.By, moment(i.At)),
		Hint:    "it may have arrived: say first what became of it",
	}
}

// moment is a time as refusals say it: the ledger knows no zone.
func moment(at time.Time) string { return at.UTC().Format("2006-01-02 15:04 UTC") }
