package desk

import (
	"fmt"
	"time"

	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// mostDraft is how many bytes a draft may have.
const mostDraft = 64 << 10

// draftStays is how long a draft is kept that nobody goes on with.
const draftStays = 30 * 24 * time.Hour

// Draft returns what a person was typing into a form and has not kept; a refusal of
// kind NotFound if there is nothing. Nobody sees the drafts of others.
func (k *Keeper) Draft(a Actor, form string) (ledger.Draft, error) {
	var d ledger.Draft
	err := k.store.View(func(l Ledger) (err error) {
		d, err = l.Draft(a.Name, form)
		return err
	})
	return d, err
}

// KeepDraft keeps what a person is typing into a form, in place of what was kept
// before. More than 64 KiB is a refusal of kind Invalid.
func (k *Keeper) KeepDraft(a Actor, form string, fields []byte) error {
	return k.acted(a, "", "draft", func(w Writing) error {
		if len(fields) > mostDraft {
			return &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("a draft of %d bytes is too long to keep: at most %d", len(fields), mostDraft)}
		}
		if err := w.DropDrafts(a.At.Add(-draftStays)); err != nil {
			return err
		}
		return w.SetDraft(ledger.Draft{Who: a.Name, Form: form, Fields: fields, At: a.At})
	})
}

// DropDraft drops what a person was typing into a form, if it is kept.
func (k *Keeper) DropDraft(a Actor, form string) error {
	return k.store.Act(func(w Writing) error { return w.DropDraft(a.Name, form) })
}
