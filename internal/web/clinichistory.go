package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// perPage is how many entries of the history a page shows.
const perPage = 100

// clinicHistoryPage is what the history says about no case, newest first.
type clinicHistoryPage struct {
	clinicHead
	Lines        []historyLine
	Newer, Older string // addresses
	Where        string // which entries, of how many
}

func (q *request) getClinicHistory() error {
	number, err := pageNumber(q.URL.Query().Get("page"))
	if err != nil {
		return err
	}
	entries, err := q.keeper.History("")
	if err != nil {
		return err
	}
	entries = slices.DeleteFunc(entries, func(e ledger.Entry) bool { return e.Case != "" })
	slices.Reverse(entries)
	page := clinicHistoryPage{clinicHead: q.clinicHead("history", nil)}
	from := min((number-1)*perPage, len(entries))
	to := min(from+perPage, len(entries))
	for _, e := range entries[from:to] {
		page.Lines = append(page.Lines, q.historyLine(e))
	}
	if from < to {
		page.Where = fmt.Sprintf("Entries %d to %d of %d.", from+1, to, len(entries))
	}
	if number > 1 {
		page.Newer = "/clinic/history?page=" + strconv.Itoa(number-1)
	}
	if to < len(entries) {
		page.Older = "/clinic/history?page=" + strconv.Itoa(number+1)
	}
	return q.show(http.StatusOK, "clinic-history", "History of the clinic", page)
}

// pageNumber reads which page is meant; the first where none is.
func pageNumber(text string) (int, error) {
	const most = 1_000_000
	if text == "" {
		return 1, nil
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > most {
		return 0, &graft.Refusal{Kind: graft.NotFound, Message: "there is no such page of the history"}
	}
	return n, nil
}

func (q *request) historyLine(e ledger.Entry) historyLine {
	line := historyLine{When: q.when(e.At), Who: e.By.Name, Did: strings.ReplaceAll(e.What, "-", " "), Was: entryWords(e.Was), Now: entryWords(e.Now), Why: spelled(e.Why)}
	if e.By.Role != "" && e.By.Name != terminal {
		line.Who = strings.TrimPrefix(line.Who+", "+e.By.Role, ", ")
	}
	return line
}

// entryWords writes what an entry says, its days with weekday and month.
func entryWords(text string) string {
	return spelled(strings.ReplaceAll(text, forGood, " on, for good"))
}
