package web

import (
	"net/http"
)

// caseHistoryPage is what the history of a case shows, newest first.
type caseHistoryPage struct {
	caseHead
	historyWay
	History historyTable
}

// historyTable is a part of the history, of a case's steps or of the clinic.
type historyTable struct {
	OfSteps bool
	Lines   []historyLine
}

type historyLine struct{ When, Who, Did, Step, Was, Now, Why string }

func (q *request) getHistory() error {
	live, err := q.keeper.Live(q.caseID(), q.on)
	if err != nil {
		return err
	}
	part, way, err := q.historyPage(q.caseID())
	if err != nil {
		return err
	}
	page := caseHistoryPage{q.caseHead(live), way, historyTable{OfSteps: true}}
	for _, e := range part.Entries {
		page.History.Lines = append(page.History.Lines, q.historyLine(e))
	}
	return q.show(http.StatusOK, "case-history", "History, "+page.Patient, page)
}
