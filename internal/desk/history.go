package desk

import (
	"math"
	"slices"

	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// History returns the entries about a case, oldest first; with no case, all.
func (k *Keeper) History(id graft.CaseID) ([]ledger.Entry, error) {
	var entries []ledger.Entry
	err := k.store.View(func(l Ledger) (err error) {
		if id != "" {
			if _, err := l.Case(id); err != nil {
				return err
			}
		}
		entries, err = l.History(id)
		return err
	})
	return entries, err
}

// HistoryPage is a part of the history, the latest entry first.
type HistoryPage struct {
	Entries      []ledger.Entry
	Newer, Older bool // there are more
}

// Beside names a part of the history by the number of an entry next to it, which stays
// the same while entries are added. The zero value is the latest part.
type Beside struct{ Before, After int64 }

// HistoryPage returns the entries about a case, or with none about no case, so many at
// most: the last ones before a number, the first ones after one, or the latest. Where
// fewer are left after a number, the latest. An unknown case is a refusal of kind NotFound.
func (k *Keeper) HistoryPage(id graft.CaseID, at Beside, most int) (HistoryPage, error) {
	var page HistoryPage
	err := k.store.View(func(l Ledger) (err error) {
		if id != "" {
			if _, err := l.Case(id); err != nil {
				return err
			}
		}
		if at.After > 0 {
			if page, err = historyAfter(l, id, at.After, most); err != nil || len(page.Entries) == most {
				return err
			}
		}
		before := at.Before
		if before == 0 {
			before = math.MaxInt64
		}
		page, err = historyBefore(l, id, before, most)
		return err
	})
	return page, err
}

// historyBefore reads the page before a number.
func historyBefore(l Ledger, id graft.CaseID, seq int64, most int) (HistoryPage, error) {
	entries, err := l.HistoryBefore(id, seq, most+1)
	if err != nil {
		return HistoryPage{}, err
	}
	newer, err := l.HistoryAfter(id, seq-1, 1)
	return HistoryPage{Entries: entries[:min(len(entries), most)], Newer: len(newer) > 0, Older: len(entries) > most}, err
}

// historyAfter reads the page after a number.
func historyAfter(l Ledger, id graft.CaseID, seq int64, most int) (HistoryPage, error) {
	entries, err := l.HistoryAfter(id, seq, most+1)
	if err != nil {
		return HistoryPage{}, err
	}
	newer := len(entries) > most
	entries = entries[:min(len(entries), most)]
	slices.Reverse(entries)
	older, err := l.HistoryBefore(id, seq+1, 1)
	return HistoryPage{Entries: entries, Newer: newer, Older: len(older) > 0}, err
}
