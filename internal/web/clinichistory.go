package web

import (
	"cmp"
	"net/http"
	"strings"

	"graftclock/internal/ledger"
)

// clinicHistoryPage is what the history says about no case, newest first.
type clinicHistoryPage struct {
	clinicHead
	historyWay
	History historyTable
}

func (q *request) getClinicHistory() error {
	part, way, err := q.historyPage("")
	if err != nil {
		return err
	}
	page := clinicHistoryPage{clinicHead: q.clinicHead("history", nil), historyWay: way}
	for _, e := range part.Entries {
		page.History.Lines = append(page.History.Lines, q.historyLine(e))
	}
	return q.show(http.StatusOK, "clinic-history", "History of the clinic", page)
}

// actNames are the acts whose short names say too little to who reads them here.
var actNames = map[string]string{"admit": "take in", "set": "change the record", "note": "record a finding", "contact": "note a call"}

func (q *request) historyLine(e ledger.Entry) historyLine {
	line := historyLine{When: q.when(e.At), Who: e.By.Name, Did: cmp.Or(actNames[e.What], strings.ReplaceAll(e.What, "-", " ")), Was: entryWords(e.Was), Now: entryWords(e.Now), Why: spelled(e.Why)}
	if e.Milestone != "" {
		line.Step = titleOf(e.Milestone)
	}
	if e.By.Role != "" && e.By.Name != terminal {
		line.Who = strings.TrimPrefix(line.Who+", "+e.By.Role, ", ")
	}
	return line
}

// entryWords writes what an entry says, its days with weekday and month.
func entryWords(text string) string {
	return spelled(strings.ReplaceAll(text, forGood, " on, for good"))
}
