package desk

import (
	"errors"
	"fmt"
	"strings"

	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/ledger"
	"graftclock/internal/letter"
	"graftclock/internal/post"
)

// outgoing is a message that the ledger has as under way.
type outgoing struct {
	Invited
	message post.Message
}

// nextMessage writes the next message of a run as under way, or, when none is left,
// returns what waits.
func (t *turn) nextMessage(o InviteOptions, tried map[graft.MilestoneID]bool) (*outgoing, []Invited, error) {
	if err := t.keeper.mailed(t.live); err != nil {
		return nil, nil, err
	}
	if err := t.decide(o); err != nil {
		return nil, nil, err
	}
	if t.live.heldBack() == "" {
		if err := t.keeper.issue(t.w, t.live, graft.ForPatient, t.a.At); err != nil {
			return nil, nil, err
		}
	}
	earlier, err := t.w.Invitations(t.live.Kept.Case)
	if err != nil {
		return nil, nil, err
	}
	list, err := t.keeper.untold(t.live, earlier, t.a.At)
	if err != nil {
		return nil, nil, err
	}
	var waiting []Invited
	for _, i := range list {
		if i.Waits != "" {
			waiting = append(waiting, i)
		} else if !tried[i.Milestone] {
			next, err := t.start(i, o)
			return next, nil, err
		}
	}
	return nil, waiting, nil
}

// decide ends messages that were cut off, as somebody has found out or chosen.
func (t *turn) decide(o InviteOptions) error {
	if !o.Again && !o.Arrived {
		return nil
	}
	earlier, err := t.w.Invitations(t.live.Kept.Case)
	if err != nil {
		return err
	}
	for _, i := range earlier {
		if !isOpen(i) || t.a.At.Sub(i.At) < surelyOver {
			continue
		}
		i.State, i.Says, i.At, i.By = ledger.Failed, countedLost, t.a.At, t.a.Name
		if o.Arrived {
			i.State, i.Says = ledger.Sent, "the patient has it"
		}
		event, err := decoded(i.Event)
		if err != nil {
			return err
		}
		ended := Invited{Invitation: i, Slot: event.slot()}
		if i.Method == ledger.Cancellation {
			ended.Slot, ended.Was = ended.Was, ended.Slot
		}
		if err := t.w.EndInvitation(i, inviteEntry(t.a, ended)); err != nil {
			return err
		}
	}
	return nil
}

// start composes a message and writes it as under way.
func (t *turn) start(i Invited, o InviteOptions) (*outgoing, error) {
	if i.Method == ledger.Cancellation {
		if err := t.callOff(i); err != nil {
			return nil, err
		}
	}
	issue := t.live.issues[issueKey{i.Milestone, graft.ForPatient}]
	event, err := t.told(i, issue)
	if err != nil {
		return nil, err
	}
	i.Sequence, i.State, i.At, i.By, i.MessageID = issue.Sequence, ledger.UnderWay, t.a.At, t.a.Name, o.Name()
	if i.Event, err = encoded(givenOf(event, t.keeper.Clinic.Zone)); err != nil {
		return nil, err
	}
	message, err := t.compose(i, event)
	if err != nil {
		return nil, err
	}
	i.ID, err = t.w.AddInvitation(i.Invitation)
	return &outgoing{i, message}, err
}

// callOff makes sure that the event of a visit that is off has a later SEQUENCE than
// the patient has, also where no file has said yet that it is.
func (t *turn) callOff(i Invited) error {
	key := issueKey{i.Milestone, graft.ForPatient}
	if t.live.issues[key].Sequence > i.number {
		return nil
	}
	return t.keeper.issueOne(t.w, t.live, key, t.live.issues[key].Event, true, t.a.At)
}

// told is the event of a message: the visit as it stands or, where it is off, as the
// patient knows it.
func (t *turn) told(i Invited, issue ledger.Issue) (ics.Event, error) {
	uid := t.keeper.uid(t.live.Plan, i.Milestone, graft.ForPatient)
	g, _ := t.keeper.reworded(t.live.Plan, i.before)
	var err error
	if i.Method == ledger.Request {
		g, err = decoded(issue.Event)
	}
	e := g.event(uid)
	e.Sequence, e.Stamp = issue.Sequence, issue.At
	if i.Method == ledger.Cancellation {
		e = t.keeper.calledOff(t.live.Plan, e)
	}
	return e, err
}

// compose writes the mail around an event.
func (t *turn) compose(i Invited, event ics.Event) (post.Message, error) {
	clinic, patient := t.keeper.Clinic, t.live.Case.Patient
	cal := ics.Calendar{
		Zone: clinic.Zone, Method: ics.Request, Events: []ics.Event{event},
		Organizer: ics.Party{Name: clinic.ShortName, Address: clinic.Mail.From},
		Attendee:  ics.Party{Name: patient.Name, Address: i.To},
	}
	if i.Method == ledger.Cancellation {
		cal.Method = ics.Cancel
	}
	data, err := ics.Encode(cal)
	if err != nil {
		return post.Message{}, err
	}
	m := post.Message{
		ID: i.MessageID, Date: i.At, Calendar: data, Method: string(cal.Method),
		From: post.Party{Name: clinic.ShortName, Address: clinic.Mail.From},
		To:   post.Party{Name: patient.Name, Address: i.To},
	}
	if i.Method == ledger.Request && patient.Mail.Letter {
		if m.Letter, err = t.letterText(); err != nil {
			return m, err
		}
	}
	words, err := t.keeper.Templates.WordsFor(patient.Language)
	if err != nil {
		return m, err
	}
	m.Subject, m.Text = words.Mail(letter.Change{
		Clinic: clinic.ShortName, Address: strings.Join(clinic.Address, ", "), Phone: clinic.Phone,
		When: booking(i.Slot), Was: booking(i.Was), Letter: m.Letter != nil,
	})
	return m, nil
}

func booking(s graft.Slot) letter.Booking { return letter.Booking{Day: s.Day, Start: s.Start} }

// letterText is the plain letter, as it stands; nil where none can be written. It comes
// without a calendar file: the mails bring the dates.
func (t *turn) letterText() ([]byte, error) {
	l := t.keeper.letter(t.live.Plan)
	l.CalendarFile = ""
	filled, err := t.keeper.Templates.Fill(l)
	var refusal *graft.Refusal
	if errors.As(err, &refusal) {
		return nil, nil
	} else if err == nil {
		return written(filled, Text)
	}
	return nil, fmt.Errorf("write the letter: %w", err)
}
