package web

import (
	"bytes"
	"errors"
	"net/url"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// openDraft takes what was typed before and not kept. A draft that says what is kept
// by now, or can be read no longer, is dropped.
func (q *request) openDraft(r *recordForm) error {
	last, there := q.s.typing.since(typingKey(q.who.Name, r.formName()))
	if !there {
		d, err := q.keeper.Draft(q.actor(), r.formName())
		var refusal *graft.Refusal
		if errors.As(err, &refusal) && refusal.Kind == graft.NotFound {
			return nil
		}
		if err != nil {
			return err
		}
		last = asTyped{d.Fields, d.At}
	}
	fields, err := url.ParseQuery(string(last.fields))
	if err != nil {
		return err
	}
	r.take(fields)
	if err := r.read(); err != nil {
		return q.dropDraft(r)
	}
	if text, c, faultless := r.form.Record(formFile); faultless && q.isKept(c.ID, text) {
		return q.dropDraft(r)
	}
	r.draft = moment(last.at.In(q.at.Location()))
	return nil
}

func (q *request) dropDraft(r *recordForm) error {
	q.s.typing.forget(typingKey(q.who.Name, r.formName()))
	return q.keeper.DropDraft(q.actor(), r.formName())
}

// isKept reports whether the ledger has the case with this very record.
func (q *request) isKept(id graft.CaseID, text []byte) bool {
	kept, err := q.keeper.Record(id, 0)
	return err == nil && bytes.Equal(kept.Record, text)
}

// keepDraft keeps what was typed for this person until the record is kept. That it is
// too long for a draft is told, and is no reason to lose the page.
func (q *request) keepDraft(r *recordForm) error {
	q.s.typing.forget(typingKey(q.who.Name, r.formName()))
	err := q.keeper.KeepDraft(q.actor(), r.formName(), []byte(r.fields().Encode()))
	var refusal *graft.Refusal
	if errors.As(err, &refusal) {
		r.unkept = sentence(refusal.Message)
		return nil
	}
	if err == nil {
		r.draft = moment(q.at)
	}
	return err
}

// keepLive keeps what is being typed: in the ledger now and then, and when the page is
// left; between that in memory.
func (q *request) keepLive(r *recordForm, leaving bool) error {
	now := asTyped{[]byte(r.fields().Encode()), q.at}
	if !q.s.typing.due(typingKey(q.who.Name, r.formName()), now, leaving) {
		return nil
	}
	return q.keepDraft(r)
}

// moment writes a time of day with its day.
func moment(at time.Time) string { return longDay(day.Of(at)) + " at " + at.Format("15:04") }

// postLive answers with what follows from the form as far as it is filled in.
func (q *request) postLive() error {
	if err := q.readForm(); err != nil {
		return err
	}
	r := &recordForm{of: graft.CaseID(q.PostFormValue(ofField))}
	r.take(q.PostForm)
	if r.of != "" {
		revision, err := q.keeper.Record(r.of, 0)
		if err != nil {
			return err
		}
		r.kept = revision.Record
	}
	if err := r.read(); err != nil {
		return err
	}
	leaving := q.PostFormValue(leavingField) != ""
	if err := q.keepLive(r, leaving); err != nil || leaving {
		return err
	}
	follows, err := q.follows(r)
	if err != nil {
		return err
	}
	return q.part("record", "record-live", follows)
}
