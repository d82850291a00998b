package web_test

import (
	"bytes"
	"regexp"
	"strings"
	"testing"

	"graftclock/internal/reference/axe"
)

var (
	sheetLink  = regexp.MustCompile(`<link rel="stylesheet" href="([^"]*)">`)
	scriptLink = regexp.MustCompile(`<script src="[^"]*" defer></script>`)
)

// TestAxeFindsNothingOnTheRecordPages looks at the form and the import in every state
// at their widest, at 320 pixels (WCAG 2.2, 1.4.10) and as printed, with the contrast
// of level AAA (1.4.6).
func TestAxeFindsNothingOnTheRecordPages(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-14 09:00")
	quill := s.as(surgeon)
	form := quill.typing(demo(t, "fenwick"))
	pages := map[string]answer{
		"filled":  quill.post("/record", with(form, "act", "show", "what_if", "yes")),
		"faulty":  quill.post("/record", with(form, "act", "save", "surgery.day", "2027-02-30", "sinuses[0].widths[0].mm", "12,5", "patient.flags", "smokr", "patient.unavailable[0]", "2027-09-01")),
		"import":  quill.send("/record/import", "arrivals.csv", bytes.Replace(arrivals(t), []byte("2027-03-16"), []byte("16.3.2027"), 1), nil),
		"kept":    quill.get("/case/" + string(s.admit("petrov")) + "/record"),
		"refused": quill.post("/record", with(form, "act", "save", "case", "HR-2058")),
	}
	whole := map[string]string{}
	for name, page := range pages {
		sheet := quill.get(sheetLink.FindStringSubmatch(page.body)[1]).body
		whole[name] = scriptLink.ReplaceAllString(strings.Replace(page.body, sheetLink.FindString(page.body), "<style>"+sheet+"</style>", 1), "")
	}
	axe.FindsNothing(t, whole)
}
