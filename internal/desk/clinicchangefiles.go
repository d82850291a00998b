package desk

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"

	"graftclock/internal/casefile"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/protocol"
	"graftclock/internal/table"
)

// ClinicFiles are the clinic file and the files beside it, each by its name in the
// clinic file's folder.
type ClinicFiles interface {
	// ClinicName names the clinic file.
	ClinicName() string
	// RulesName names the file with the clinic's own rule values, where another than the
	// one that the clinic file names counts; empty: none.
	RulesName() string
	// Read returns what a file says; an error that is fs.ErrNotExist where there is none.
	Read(name string) ([]byte, error)
	// Replace puts a text in the place of another one, whole or not at all. Was nil makes
	// a file that is not there, now nil takes one away. A file that says something else
	// than was is left alone, with a refusal of kind Conflict.
	Replace(name string, was, now []byte) error
}

// filesChange is one change of the clinic's files under way: what they say and are to
// say.
type filesChange struct {
	k *Keeper
	a Actor
	w Writing
	f ClinicFiles

	text      []byte // of the clinic file
	clinic    casefile.Clinic
	rulesName string // empty: the clinic has no values of its own
	rulesText []byte // nil: no such file
	rules     *protocol.Rules
	next      []replacement // what is to be put in its place, in this order
}

// replacement is one file that is to say something else.
type replacement struct {
	name     string
	was, now []byte
}

// changeFiles runs a change of the clinic's files inside one act, in which no other
// desk can act, and puts the files in place last of all. Where the ledger cannot keep
// the entry after all, what the files said before is put back.
func (k *Keeper) changeFiles(a Actor, f ClinicFiles, what string, change func(*filesChange) error) (*Desk, error) {
	var made *Desk
	var done []replacement
	err := k.acted(a, "", what, func(w Writing) error {
		c := &filesChange{k: k, a: a, w: w, f: f}
		if err := c.read(); err != nil {
			return err
		}
		if err := change(c); err != nil {
			return err
		}
		made = New(c.clinic, c.rules)
		made.Templates = k.Templates
		if _, faults := made.Calendar(a.On.Year()); len(faults) > 0 {
			return faults
		}
		for _, r := range c.next {
			if err := f.Replace(r.name, r.was, r.now); err != nil {
				return err
			}
			done = append(done, r)
		}
		return nil
	})
	if err == nil {
		return made, nil
	}
	for n := len(done) - 1; n >= 0; n-- {
		err = errors.Join(err, f.Replace(done[n].name, done[n].now, done[n].was))
	}
	return nil, err
}

// read reads the clinic file and the rules as the files now say.
func (c *filesChange) read() (err error) {
	if c.text, err = c.f.Read(c.f.ClinicName()); err != nil {
		return fmt.Errorf("read the clinic file: %w", err)
	}
	clinic, faults := casefile.ReadClinic(c.k.Clinic.File, c.text, c.f.Read)
	if len(faults) > 0 {
		return faults
	}
	c.clinic = clinic
	return c.readRules()
}

// readRules reads the clinic's own rule values, where it has any.
func (c *filesChange) readRules() (err error) {
	c.rules, c.rulesName = protocol.Default(), orElse(c.f.RulesName(), c.clinic.Protocol)
	if c.rulesName == "" {
		return nil
	}
	if c.rulesText, err = c.f.Read(c.rulesName); err != nil {
		return fmt.Errorf("read the clinic's own rule values: %w", err)
	}
	rules, faults := c.rules.Adopt(c.rulesName, c.rulesText)
	if len(faults) > 0 {
		return faults
	}
	c.rules = rules
	return nil
}

// changeClinic makes changes in the clinic file, with their entries.
func (c *filesChange) changeClinic(changes []casefile.ClinicChange, why string) error {
	before := c.clinic
	text, after, faults, err := casefile.ChangeClinic(before.File, c.text, changes, c.f.Read)
	switch {
	case err != nil:
		return &graft.Refusal{Kind: graft.Invalid, Message: err.Error()}
	case len(faults) > 0:
		return faults
	case bytes.Equal(text, c.text):
		return &graft.Refusal{Kind: graft.Conflict, Message: "the clinic file says that already"}
	}
	c.next = append(c.next, replacement{c.f.ClinicName(), c.text, text})
	c.text, c.clinic = text, after
	for _, change := range changes {
		if err := c.tell(clinicWhat, change.Tell(before), change.Tell(after), why); err != nil {
			return err
		}
	}
	if before.Protocol == after.Protocol {
		return nil
	}
	if err := c.readRules(); errors.Is(err, fs.ErrNotExist) {
		return table.Faults{{File: after.File, Line: after.Lines["protocol"], Column: 1, Path: "protocol", Found: "there is no file " + after.Protocol, Allowed: "a file beside the clinic file"}}
	} else if err != nil {
		return err
	}
	return nil
}

// tell enters what was changed in the history, about no case. What stays as it was is
// not told.
func (c *filesChange) tell(what, was, now, why string) error {
	if was == now {
		return nil
	}
	return c.w.AddEntry(ledger.Entry{At: c.a.At, By: c.a.Person, What: what, Was: was, Now: now, Why: why})
}
