package report

import (
	"fmt"
	"strings"

	"graftclock/internal/paper"
)

// branches sets reasons as lists in lists, one date after the other.
func (s sheet) branches(heading, lead string, branches []branch) {
	if len(branches) == 0 {
		return
	}
	s.Heading(2, heading)
	if lead != "" {
		s.Paragraph(paper.Plain(lead))
	}
	for _, b := range branches {
		title := b.Heading
		if b.Day != "" {
			title += ": " + b.Day
		}
		s.Heading(3, title)
		s.List(reasonItems(b.Reasons), 1)
	}
}

func reasonItems(reasons []reason) []paper.Item {
	var items []paper.Item
	for _, r := range reasons {
		items = append(items, paper.Item{Runs: reasonRuns(r), Inside: reasonItems(r.Because)})
	}
	return items
}

// reasonRuns is one reason: its sentence, then a line for each fact.
func reasonRuns(r reason) []paper.Run {
	runs := []paper.Run{paper.Plain(r.Says)}
	switch {
	case r.Brief:
		runs = append(runs, quiet("  rule "+r.Rule+", above"+numbersOf(r.Cites)))
	case r.Rule != "":
		runs = append(runs, quiet("  rule "+r.Rule))
	}
	for _, i := range r.Inputs {
		runs = append(runs, quiet(strings.TrimRight("\n"+i.Name+": "+i.Value+"  "+i.Path, " ")))
	}
	for _, line := range []struct {
		name, text string
		bold       bool
	}{{"sum", r.Sum, true}, {"value", r.Value, false}, {"adopted", r.Adopted, false}, {"sources differ", r.Differ, false}} {
		if line.text != "" {
			runs = append(runs, quiet("\n"+line.name+": "), paper.Run{Text: line.text, Bold: line.bold, Size: small})
		}
	}
	if r.Brief {
		return runs
	}
	for _, c := range r.Cites {
		runs = append(runs, paper.Run{Text: fmt.Sprintf("\n[%d] ", c.Number), Bold: true, Size: small}, quiet(citeText(c)))
	}
	return runs
}

func citeText(c cite) string {
	at := ""
	if c.At != "" {
		at = ", " + c.At
	}
	return fmt.Sprintf("%s (%s)%s: %s", c.ID, c.Status, at, c.Says)
}

func numbersOf(cites []cite) string {
	text := ""
	for _, c := range cites {
		text += fmt.Sprintf(" [%d]", c.Number)
	}
	return text
}
