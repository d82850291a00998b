package report

import (
	"fmt"
	"strings"

	"graftclock/internal/graft"
)

// branch is the reasons of one date, or of one line of the letter.
type branch struct {
	Anchor, Heading, Day string
	Reasons              []reason
}

// reason is a reason as the page prints it. Brief is one that stands further up with
// its sources: of it only the rule, the sum and the value are told again.
type reason struct {
	Says, Rule string
	Brief      bool
	Inputs     []fact
	Sum, Value string
	Adopted    string
	Cites      []cite
	Differ     string
	Because    []reason
}

// cite points to a source by its number on the page.
type cite struct {
	Number           int
	ID, Status, Says string
	At               string // place in the source
}

func (b *builder) dates(r Report) []branch {
	var list []branch
	for n, m := range inOrder(r.Timeline.Milestones) {
		heading := stepTitle(m)
		if m.For != "" {
			heading += ", " + graft.OneLine(m.For)
		}
		list = append(list, branch{Anchor: anchor(n), Heading: upperFirst(heading), Day: dayOf(m), Reasons: b.reasons(m.Reasons)})
	}
	return list
}

func dayOf(m graft.Milestone) string {
	if m.Placed.IsZero() {
		return "no date"
	}
	return spelled(m.Placed)
}

// letter sets out the restrictions and the signs that the patient's letter lists.
func (b *builder) letter(r Report) []branch {
	var list []branch
	for n, l := range r.Limits {
		until := "no date: ask the surgeon"
		if !l.Free.IsZero() {
			until = "over from " + spelled(l.Free)
		}
		list = append(list, branch{Anchor: fmt.Sprintf("letter-%d", n+1), Heading: upperFirst(graft.OneLine(l.What)), Day: until, Reasons: b.reasons([]graft.Reason{l.Reason})})
	}
	if r.RedFlags.Rule != "" {
		list = append(list, branch{Anchor: "letter-signs", Heading: "Signs to call about", Reasons: b.reasons([]graft.Reason{r.RedFlags})})
	}
	return list
}

func (b *builder) reasons(reasons []graft.Reason) []reason {
	var list []reason
	for _, r := range reasons {
		list = append(list, b.reason(r))
	}
	return list
}

func (b *builder) reason(r graft.Reason) reason {
	out := reason{Says: graft.OneLine(r.Says), Rule: string(r.Rule), Sum: graft.OneLine(r.Formula), Value: graft.OneLine(r.Result)}
	for _, i := range r.Inputs {
		out.Inputs = append(out.Inputs, fact{graft.OneLine(i.Name), graft.OneLine(i.Value), graft.OneLine(i.Path)})
	}
	for _, c := range r.Cites {
		out.Cites = append(out.Cites, cite{b.cite(c.Source), string(c.Source), c.Status, graft.OneLine(c.Says), graft.OneLine(c.At)})
	}
	key := out.Rule + "\x00" + out.Says
	if out.Brief = len(r.Cites) > 0 && b.told[key]; !out.Brief {
		out.Adopted, out.Differ = graft.OneLine(r.Adopted), graft.OneLine(r.Differ)
	}
	b.told[key] = b.told[key] || len(r.Cites) > 0
	out.Because = b.reasons(r.Because)
	return out
}

// upperFirst begins a heading with a capital letter.
func upperFirst(text string) string {
	if text == "" {
		return text
	}
	first := []rune(text)[:1]
	return strings.ToUpper(string(first)) + strings.TrimPrefix(text, string(first))
}
