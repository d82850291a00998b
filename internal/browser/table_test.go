package browser_test

import (
	"context"
	"testing"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/chromedp"
)

// stackedFaults are what a reader of a narrow page misses in its tables: a cell that
// does not say which column it is of, or one that is to be scrolled to.
const stackedFaults = `(() => {
	const said = [];
	for (const table of document.querySelectorAll("table")) {
		const heads = [...table.querySelectorAll("thead th")].map((e) => e.textContent.trim());
		if (table.parentElement.scrollWidth > table.parentElement.clientWidth) said.push("the table is " + table.parentElement.scrollWidth + " pixels wide");
		for (const row of table.querySelectorAll("tbody tr")) {
			for (const [n, cell] of [...row.cells].entries()) {
				const says = getComputedStyle(cell, "::before").content;
				if (n > 0 && cell.textContent !== "" && !says.startsWith(JSON.stringify(heads[n]))) said.push(heads[n] + ": " + cell.textContent + " is told as " + says);
			}
		}
	}
	return said;
})()`

// roles counts the elements of the page by the roles that a screen reader is told.
func (p *page) roles() map[string]int {
	p.t.Helper()
	return run(p, func(ctx context.Context, t *chromedp.Target) (map[string]int, error) {
		answer, err := cdp.Call(ctx, t, accessibility.GetFullAXTree, accessibility.GetFullAXTreeParams{})
		if err != nil {
			return nil, err
		}
		all := map[string]int{}
		for _, n := range answer.Nodes {
			if !n.Ignored {
				all[thingOf(n).Role]++
			}
		}
		return all, nil
	})
}

// TestTablesOfANarrowPageStayTables looks at a history on a telephone: its rows stand as
// blocks with the words of the columns before the cells, and are rows of a table for a
// screen reader as before.
func TestTablesOfANarrowPageStayTables(t *testing.T) {
	t.Parallel()
	h := openHouse(t, "fenwick")
	h.command(clerk, "book", "HR-2041", "wound-check", "2027-01-25", "09:00")
	h.command(clerk, "set", "HR-2041", "patient.unavailable+=2027-01-25")
	p := h.signedIn(clerk)
	for _, path := range []string{caseLink + "/history", caseLink + "/settle", "/clinic/history"} {
		p.size(wide)
		p.goTo(path)
		broad := p.roles()
		p.size(phone)
		narrow := p.roles()
		for _, role := range []string{"table", "row", "columnheader", "cell", "rowheader"} {
			if broad[role] != narrow[role] || role != "rowheader" && broad[role] == 0 {
				t.Errorf("%s: %d %s on a wide page, %d on a narrow one", path, broad[role], role, narrow[role])
			}
		}
		for _, says := range run(p, chromedp.Evaluate[[]string](stackedFaults)) {
			t.Errorf("%s: %s", path, says)
		}
	}
}
