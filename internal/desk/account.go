package desk

import (
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/password"
)

// Terminal is whoever sits at the clinic's own machine, from which its files can be
// read anyway: they may open and end the sign-in of anybody, and nothing else that asks
// for a role.
func Terminal(at time.Time, on day.Day) Actor {
	return Actor{Person: ledger.Person{Name: "at the terminal", Role: "terminal"}, At: at, On: on, terminal: true}
}

// SetPassword sets the password with which a person of the clinic file signs in, and
// ends every session of theirs. Anybody may set their own, a surgeon anybody's. One that
// is not good enough is a refusal that says why. It lets a sign-in that has ended stand
// again.
func (k *Keeper) SetPassword(a Actor, name, secret string) error {
	hash, err := k.newPassword(a, name, secret)
	if err != nil {
		return k.refused(a, "", "password", err)
	}
	return k.acted(a, "", "password", func(w Writing) error {
		before, err := w.Account(name)
		if err != nil && !isNotFound(err) {
			return err
		}
		account := ledger.Account{Name: name, Hash: hash, Version: before.Version + 1, At: a.At, By: a.Name}
		e := ledger.Entry{At: a.At, By: a.Person, What: "password", Now: "set for " + name}
		if before.Version == 0 {
			e.Now = "first set for " + name
		}
		return w.SetAccount(account, e)
	})
}

// newPassword is the hash of a password that a person may set for another.
func (k *Keeper) newPassword(a Actor, name, secret string) (hash string, err error) {
	if name != a.Name && !a.terminal {
		if err := a.needSurgeon("setting the password of another"); err != nil {
			return "", err
		}
	}
	if _, err := k.Person(name); err != nil {
		return "", err
	}
	if fault := password.Faults(secret, name); fault != "" {
		return "", &graft.Refusal{Kind: graft.Invalid, Message: fault}
	}
	return password.Hash(secret)
}

// EndAccount ends the sign-in of a person, with every session of theirs, also of one
// whom the clinic file no longer has. It needs a surgeon.
func (k *Keeper) EndAccount(a Actor, name string) error {
	return k.acted(a, "", "end sign-in", func(w Writing) error {
		if !a.terminal {
			if err := a.needSurgeon("ending a sign-in"); err != nil {
				return err
			}
		}
		e := ledger.Entry{At: a.At, By: a.Person, What: "end sign-in", Was: name + " could sign in", Now: name + " cannot sign in"}
		return w.EndAccount(ledger.Account{Name: name, Ended: a.At}, e)
	})
}

// Accounts returns every sign-in, by name, those that have ended too, without hashes.
func (k *Keeper) Accounts() ([]ledger.Account, error) {
	var list []ledger.Account
	err := k.store.View(func(l Ledger) (err error) {
		list, err = l.Accounts()
		return err
	})
	for n := range list {
		list[n].Hash = ""
	}
	return list, err
}

// SignIn returns the person who goes by a name and a password, with the role of the
// clinic file, and the version of the password, by which SignedIn knows a session. Every
// failure is one and the same refusal, and an unknown name takes as long as a known one.
// The history has who was let in and who was not; a name that the clinic does not know
// never goes there, for it may be a password typed into the wrong field.
func (k *Keeper) SignIn(name, secret string, at time.Time) (ledger.Person, int, error) {
	account, err := k.account(name)
	if err != nil {
		return ledger.Person{}, 0, err
	}
	person, unknown := k.Person(name)
	if person.Name == "" {
		person.Name = account.Name // of one who has left, or of nobody
	}
	hash := account.Hash
	if hash == "" {
		hash = password.Decoy()
	}
	matches, fresh := password.Matches(hash, secret), ""
	if matches && password.Stale(hash) {
		if fresh, err = password.Hash(secret); err != nil {
			return ledger.Person{}, 0, err
		}
	}
	attempt := signing{person: person, at: at, seen: account, why: notLetIn(account, unknown, matches), fresh: fresh}
	if err := k.store.Act(attempt.end); err != nil {
		return ledger.Person{}, 0, err
	}
	if attempt.why != "" {
		return ledger.Person{}, 0, noMatch()
	}
	return person, account.Version, nil
}

// notLetIn says in the history why somebody was not let in; empty if they are.
func notLetIn(account ledger.Account, unknown error, matches bool) string {
	switch {
	case unknown != nil && account.Name == "":
		return "a name that nobody has"
	case unknown != nil:
		return "no longer in the clinic file"
	case account.Name == "":
		return "has no sign-in"
	case !account.Ended.IsZero():
		return "the sign-in has ended"
	case !matches:
		return "wrong password"
	}
	return ""
}

// noMatch refuses to let somebody in, in the same words whatever the reason.
func noMatch() error {
	return &graft.Refusal{Kind: graft.Invalid, Message: "name and password do not match", Hint: "a surgeon of the clinic sets a new password"}
}

// signing is one attempt to sign in whose password has been compared.
type signing struct {
	person ledger.Person
	at     time.Time
	seen   ledger.Account
	why    string // not let in; empty: let in
	fresh  string // hash by today's cost; empty: the kept one will do
}

// end writes what came of an attempt. A password that was changed, or a sign-in that
// was ended, while the old one was compared lets nobody in.
func (s *signing) end(w Writing) error {
	e := ledger.Entry{At: s.at, By: s.person, What: ledger.SignIn}
	if s.why == "" {
		now, err := w.Account(s.person.Name)
		if err != nil {
			return err
		}
		if now.Version != s.seen.Version || !now.Ended.IsZero() {
			s.why = "the password was changed meanwhile"
		} else if s.fresh != "" {
			now.Hash = s.fresh
			return w.SetAccount(now, e)
		}
	}
	if s.why != "" {
		e.What, e.Why = ledger.SignInRefused, s.why
	}
	return w.AddEntry(e)
}

// account returns the sign-in of a name; the zero one where there never was any.
func (k *Keeper) account(name string) (ledger.Account, error) {
	var account ledger.Account
	err := k.store.View(func(l Ledger) (err error) {
		account, err = l.Account(name)
		if isNotFound(err) {
			account, err = ledger.Account{}, nil
		}
		return err
	})
	return account, err
}

// SignedIn returns the person of a session, with the role that the clinic file gives
// now. The version is that of SignIn. A refusal of kind Invalid if the session no longer
// counts: the person has left, their sign-in has ended or their password was changed.
func (k *Keeper) SignedIn(name string, version int) (ledger.Person, error) {
	account, err := k.account(name)
	if err != nil {
		return ledger.Person{}, err
	}
	person, unknown := k.Person(name)
	if unknown != nil || account.Name == "" || !account.Ended.IsZero() || account.Version != version {
		return ledger.Person{}, &graft.Refusal{Kind: graft.Invalid, Message: "the sign-in has ended", Hint: "sign in again"}
	}
	return person, nil
}
