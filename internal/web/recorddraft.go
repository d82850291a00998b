package web

import (
	"bytes"
	"errors"
	"net/url"
	"time"

	"golang.org/x/time/rate"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// draftEvery is how often what somebody types is kept while they type: a ledger is
// no keyboard buffer. The script asks once more when the person has paused.
const draftEvery = 3 * time.Second

func draftLimits() *limits { return newLimits(rate.Every(draftEvery), 1) }

// openDraft takes what was typed before and not kept. A draft that says what is kept
// by now is dropped.
func (q *request) openDraft(r *recordForm) error {
	d, err := q.keeper.Draft(q.actor(), r.formName())
	var refusal *graft.Refusal
	if errors.As(err, &refusal) && refusal.Kind == graft.NotFound {
		return nil
	}
	if err != nil {
		return err
	}
	fields, err := url.ParseQuery(string(d.Fields))
	if err != nil {
		return err
	}
	r.take(fields)
	if err := r.read(); err != nil { // no record any more
		return q.keeper.DropDraft(q.actor(), r.formName())
	}
	if text, c, faultless := r.form.Record(formFile); faultless && q.isKept(c.ID, text) {
		return q.keeper.DropDraft(q.actor(), r.formName())
	}
	r.draft = moment(d.At.In(q.at.Location()))
	return nil
}

// isKept reports whether the ledger has the case with this very record.
func (q *request) isKept(id graft.CaseID, text []byte) bool {
	kept, err := q.keeper.Record(id, 0)
	return err == nil && bytes.Equal(kept.Record, text)
}

// keepDraft keeps what was typed for this person until the record is kept. What is
// too long for a draft is told, and is no reason to lose the page.
func (q *request) keepDraft(r *recordForm) error {
	err := q.keeper.KeepDraft(q.actor(), r.formName(), []byte(r.fields().Encode()))
	var refusal *graft.Refusal
	if errors.As(err, &refusal) {
		return nil
	}
	if err == nil {
		r.draft = moment(q.at)
	}
	return err
}

// keepLive keeps what is being typed, now and then, and when the page is left.
func (q *request) keepLive(r *recordForm) error {
	key := q.who.Name + "\x00" + r.formName()
	if q.PostFormValue(leavingField) != "" {
		key += "\x00leaving"
	}
	if !q.s.drafts.allow(key, q.at) {
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
	if err := q.keepLive(r); err != nil {
		return err
	}
	follows, err := q.follows(r)
	if err != nil {
		return err
	}
	return q.part("record", "record-live", follows)
}
