package web

import (
	"errors"
	"slices"
	"strconv"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// signInsPage lists who can sign in.
type signInsPage struct {
	clinicHead
	People []signInLine
	Who    string // whose form was refused
}

// signInLine is a person with their sign-in.
type signInLine struct {
	ID, Name, Role, Stands string
	Stood                  bool // there is a sign-in to be ended
	Known                  bool // the clinic file has them
	Self                   bool
}

// showPeople lists the people of the clinic file and whoever else still has a sign-in;
// after a form that was refused, with whose it was and why.
func (q *request) showPeople(status int, who string, wrong *problem) error {
	accounts, err := q.keeper.Accounts()
	if err != nil {
		return err
	}
	page := signInsPage{clinicHead: q.clinicHead("people", wrong), Who: who}
	for _, p := range q.keeper.Clinic.People {
		line := signInLine{Name: p.Name, Role: p.Role, Known: true, Stands: "No sign-in: nobody has set a password"}
		if n := slices.IndexFunc(accounts, func(a ledger.Account) bool { return a.Name == p.Name }); n >= 0 {
			line.Stands, line.Stood = q.accountWords(accounts[n]), accounts[n].Ended.IsZero()
			accounts = slices.Delete(accounts, n, n+1)
		}
		page.add(line, q.who.Name)
	}
	for _, a := range accounts {
		if a.Ended.IsZero() {
			page.add(signInLine{Name: a.Name, Stands: "Cannot sign in: no longer in the clinic file. " + q.accountWords(a), Stood: true}, q.who.Name)
		}
	}
	return q.show(status, "clinic-people", "Sign-ins", page)
}

func (p *signInsPage) add(line signInLine, who string) {
	line.ID, line.Self = "person-"+strconv.Itoa(len(p.People)), line.Name == who
	p.People = append(p.People, line)
}

// terminal is what the history calls whoever sat at the clinic's own machine.
var terminal = desk.Terminal(time.Time{}, day.Day{}).Name

func (q *request) accountWords(a ledger.Account) string {
	if !a.Ended.IsZero() {
		return "The sign-in ended on " + q.when(a.Ended)
	}
	if a.By == terminal {
		return "Password set " + a.By + " on " + q.when(a.At)
	}
	return "Password set by " + a.By + " on " + q.when(a.At)
}

// postPersonPassword sets the password of somebody else, for a surgeon who gives their
// own with it. What was typed into it never comes back to a page.
func (q *request) postPersonPassword() error {
	if err := q.clinicForm(); err != nil {
		return err
	}
	name := q.personNamed(q.PostForm.Get("who"))
	var err error
	switch {
	case name == q.who.Name: // whose session was taken over must not lose the password too
		err = &graft.Refusal{Kind: graft.Invalid, Message: "your own password is changed on its own page, with the one you have"}
	case q.PostForm.Get("new") != q.PostForm.Get("again"):
		err = faultIn("new", "the two passwords differ")
	case isSurgeon(q.who): // anybody else is refused for their role
		err = q.ownPassword(q.PostForm.Get("own"))
	}
	if err == nil {
		err = q.keeper.SetPassword(q.actor(), name, q.PostForm.Get("new"))
	}
	if errors.Is(err, errTooMany) {
		wrong, status := q.s.problemOf(err)
		return q.showPeople(status, name, &wrong)
	}
	return q.doneIn("/clinic/people", "The password of "+name+" is set. Every sign-in of theirs has ended.", err, func(status int, wrong *problem) error { return q.showPeople(status, name, wrong) })
}

// postEndSignIn ends the sign-in of somebody.
func (q *request) postEndSignIn() error {
	if err := q.clinicForm(); err != nil {
		return err
	}
	name := q.PostForm.Get("who")
	err := q.keeper.EndAccount(q.actor(), name)
	return q.doneIn("/clinic/people", "The sign-in of "+name+" has ended.", err, func(status int, wrong *problem) error { return q.showPeople(status, name, wrong) })
}
