package web

import (
	"fmt"
	"net/url"
	"strconv"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

// perPage is how many entries of a history a page shows.
const perPage = 100

// historyWay leads from one page of a history to the next.
type historyWay struct {
	Newer, Older string // addresses; empty: there are none
	Where        string // which entries these are, where they are not all
}

// Ways of an address to name a page: by the number of the entry next to it, so that it
// stays the same while others add to the history.
const (
	olderThan = "before"
	newerThan = "after"
)

// historyPage reads the page of a history that is asked for, about a case or about none.
// A page that is not there is a refusal of kind NotFound.
func (q *request) historyPage(id graft.CaseID) (page desk.HistoryPage, way historyWay, err error) {
	var at desk.Beside
	asked := q.URL.Query()
	if at.Before, err = entryNumber(asked, olderThan); err != nil {
		return page, way, err
	}
	if at.After, err = entryNumber(asked, newerThan); err != nil {
		return page, way, err
	}
	if page, err = q.keeper.HistoryPage(id, at, perPage); err != nil {
		return page, way, err
	}
	n := len(page.Entries)
	if n == 0 {
		if page.Newer {
			err = noSuchPage()
		}
		return page, way, err
	}
	newest, oldest := page.Entries[0], page.Entries[n-1]
	if page.Newer {
		way.Newer = fmt.Sprintf("%s?%s=%d", q.URL.Path, newerThan, newest.Seq)
	}
	if page.Older {
		way.Older = fmt.Sprintf("%s?%s=%d", q.URL.Path, olderThan, oldest.Seq)
	}
	if page.Newer || page.Older {
		way.Where = fmt.Sprintf("These %s are from %s back to %s.", plural(n, "entry", "entries"), q.when(newest.At), q.when(oldest.At))
	}
	return page, way, nil
}

// entryNumber reads the number of an entry; 0 where none is given.
func entryNumber(asked url.Values, name string) (int64, error) {
	text := asked.Get(name)
	if text == "" {
		return 0, nil
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < 1 {
		return 0, noSuchPage()
	}
	return n, nil
}

func noSuchPage() error {
	return &graft.Refusal{Kind: graft.NotFound, Message: "there is no such page of the history"}
}
