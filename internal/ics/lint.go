package ics

import (
	"cmp"
	"fmt"
	"slices"
)

// Complaint is one fault of a calendar file.
type Complaint struct {
	// Line is the line of the file, from 1, as an editor counts it.
	Line int
	// Says is one sentence without a full stop.
	Says string
}

// String returns "line 3: ...".
func (c Complaint) String() string { return fmt.Sprintf("line %d: %s", c.Line, c.Says) }

// linter gathers complaints; each part of the check adds its own.
type linter struct{ found []Complaint }

func (l *linter) complain(line int, format string, args ...any) {
	l.found = append(l.found, Complaint{line, fmt.Sprintf(format, args...)})
}

// Lint returns the faults of a calendar file in the order of its lines; none
// means that the file may go out. It is stricter than any reader: it looks for
// the faults that readers forgive, each in its own way, and knows just the
// components that this package writes well enough to judge them.
func Lint(data []byte) []Complaint {
	l := &linter{}
	lines := l.contentLines(data)
	if root := l.tree(lines); root != nil {
		l.calendar(root)
	}
	slices.SortStableFunc(l.found, func(a, b Complaint) int { return cmp.Compare(a.Line, b.Line) })
	return l.found
}

// part is a component: what stands between a BEGIN and its END.
type part struct {
	at    int
	name  string
	lines []contentLine
	parts []*part
}

// all returns the content lines of a name.
func (p *part) all(name string) []contentLine {
	var found []contentLine
	for _, line := range p.lines {
		if line.name == name {
			found = append(found, line)
		}
	}
	return found
}

// one returns the first content line of a name.
func (p *part) one(name string) (contentLine, bool) {
	for _, line := range p.lines {
		if line.name == name {
			return line, true
		}
	}
	return contentLine{}, false
}

// inner returns the components of a name.
func (p *part) inner(name string) []*part {
	var found []*part
	for _, sub := range p.parts {
		if sub.name == name {
			found = append(found, sub)
		}
	}
	return found
}

// tree puts the content lines into their components and returns the calendar,
// or nil where there is none.
func (l *linter) tree(lines []contentLine) *part {
	outside := &part{at: 1}
	open := []*part{outside}
	for _, line := range lines {
		top := open[len(open)-1]
		switch {
		case line.name == "BEGIN":
			sub := &part{at: line.at, name: line.value}
			top.parts = append(top.parts, sub)
			open = append(open, sub)
			if len(open) > maxNesting {
				l.complain(line.at, "the components lie too deep in one another; the rest is not looked at")
				return nil
			}
		case line.name == "END" && line.value == top.name && top != outside:
			open = open[:len(open)-1]
		case line.name == "END":
			l.complain(line.at, "END:%s does not match %s", line.value, top)
		case top == outside:
			l.complain(line.at, "%s stands outside the calendar", line.name)
		default:
			top.lines = append(top.lines, line)
		}
	}
	for _, p := range open[1:] {
		l.complain(p.at, "BEGIN:%s has no END", p.name)
	}
	return l.onlyCalendar(outside)
}

// onlyCalendar returns the one VCALENDAR of the file.
func (l *linter) onlyCalendar(outside *part) *part {
	var calendar *part
	for _, p := range outside.parts {
		switch {
		case p.name != "VCALENDAR":
			l.complain(p.at, "%s stands outside the calendar", p.name)
		case calendar != nil:
			l.complain(p.at, "a second VCALENDAR; some programs read only the first")
		default:
			calendar = p
		}
	}
	if calendar == nil {
		l.complain(1, "no VCALENDAR")
	}
	return calendar
}

// String names the part for a complaint.
func (p *part) String() string {
	if p.name == "" {
		return "any BEGIN"
	}
	return fmt.Sprintf("BEGIN:%s in line %d", p.name, p.at)
}
