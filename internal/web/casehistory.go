package web

import (
	"net/http"
	"slices"
	"strings"
)

// historyPage is what the history of a case shows, newest first.
type historyPage struct {
	caseHead
	Lines []historyLine
}

type historyLine struct{ When, Who, Did, Step, Was, Now, Why string }

func (q *request) getHistory() error {
	live, err := q.keeper.Live(q.caseID(), q.on)
	if err != nil {
		return err
	}
	entries, err := q.keeper.History(q.caseID())
	if err != nil {
		return err
	}
	page := historyPage{caseHead: q.caseHead(live)}
	for _, e := range slices.Backward(entries) {
		line := historyLine{When: q.when(e.At), Who: e.By.Name, Did: strings.ReplaceAll(e.What, "-", " "), Was: spelled(e.Was), Now: spelled(e.Now), Why: spelled(e.Why)}
		if e.By.Role != "" {
			line.Who += ", " + e.By.Role
		}
		if e.Milestone != "" {
			line.Step = titleOf(e.Milestone)
		}
		page.Lines = append(page.Lines, line)
	}
	return q.show(http.StatusOK, "case-history", "History, "+page.Patient, page)
}
