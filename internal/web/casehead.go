package web

import (
	"strings"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/ledger"
)

// caseHead is what stands on top of every page of a case.
type caseHead struct {
	Link, Case, Patient string
	Phone, Dial         string
	Surgery, Surgeon    string
	Ahead               bool // the surgery
	Revision            int
	Draft               bool
	Stands              string // of the approval
	Flags               string
	Away                []string // days on which the patient cannot come
	Seen                int64
	Surgeons            bool // who looks is a surgeon
}

func (q *request) caseHead(live desk.Live) caseHead {
	p := live.Case.Patient
	h := caseHead{
		Link: caseLink(live.Kept.Case), Case: string(live.Kept.Case), Patient: live.Kept.Patient,
		Phone: p.Phone, Dial: dialled(p.Phone),
		Surgery: longDay(live.Case.Surgery.Day), Surgeon: live.Case.Surgery.Surgeon, Ahead: live.Case.Ahead(q.on),
		Revision: live.Kept.Revision, Draft: live.Draft(), Stands: "Draft: no surgeon has approved it",
		Seen: live.Kept.Head, Surgeons: isSurgeon(q.who),
	}
	if a := live.Approval; a != nil {
		h.Stands = "approved by " + a.By + " on " + longDay(day.Of(a.At))
	}
	var flags []string
	for _, f := range p.Flags {
		flags = append(flags, string(f))
	}
	h.Flags = strings.Join(flags, ", ")
	for _, s := range p.Unavailable {
		h.Away = append(h.Away, longSpan(s.From, s.To))
	}
	return h
}

// isSurgeon spares everybody else what package desk would refuse them.
func isSurgeon(p ledger.Person) bool { return p.Role == "surgeon" }

// dialled is a telephone number as a phone takes it; empty for one that cannot be
// dialled as it stands, such as one with a bracketed nought.
func dialled(number string) string {
	if strings.Contains(number, "(0)") || strings.LastIndex(number, "+") > 0 || strings.Contains(number, "/") {
		return ""
	}
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' || r == '+' {
			return r
		}
		return -1
	}, number)
}
