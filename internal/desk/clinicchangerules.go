package desk

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"

	"graftclock/internal/casefile"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
	"graftclock/internal/table"
)

// AdoptRule gives a rule a value of the clinic's own and returns the desk that goes by
// it. It needs a surgeon and a reason. A clinic without a file of such values gets one,
// which its clinic file then names. Seen, history and faults are as for ChangeClinic.
func (k *Keeper) AdoptRule(a Actor, f ClinicFiles, seen string, id graft.RuleID, value, why string) (*Desk, error) {
	return k.changeRules(a, f, seen, id, adoptWhat, why, func(c *filesChange) ([]byte, *protocol.Rules, table.Faults, error) {
		return protocol.Default().AdoptInto(c.rulesName, c.rulesText, protocol.OwnValue{ID: id, Value: value, By: a.Name, On: a.On, Reason: why})
	})
}

// TakeBackRule has a rule go by its own value again and returns the desk that goes by
// it. It needs a surgeon and a reason.
func (k *Keeper) TakeBackRule(a Actor, f ClinicFiles, seen string, id graft.RuleID, why string) (*Desk, error) {
	return k.changeRules(a, f, seen, id, takeBackWhat, why, func(c *filesChange) ([]byte, *protocol.Rules, table.Faults, error) {
		if c.rulesText == nil {
			return nil, nil, nil, errors.New("the clinic has no rule values of its own")
		}
		return protocol.Default().TakeBack(c.rulesName, c.rulesText, id)
	})
}

// changeRules changes the file of the clinic's own rule values.
func (k *Keeper) changeRules(a Actor, f ClinicFiles, seen string, id graft.RuleID, what, why string, change func(*filesChange) ([]byte, *protocol.Rules, table.Faults, error)) (*Desk, error) {
	if err := a.mayChangeRules(id, why); err != nil {
		return nil, k.refused(a, "", what, err)
	}
	return k.changeFiles(a, f, what, func(c *filesChange) error {
		if c.clinic.Digest+"+"+c.rules.Digest() != seen {
			return changedFileMeanwhile("the clinic file or its rule values")
		}
		if c.rulesName == "" {
			name, err := c.freeName()
			if err != nil {
				return err
			}
			c.rulesName = name
		}
		text, rules, faults, err := change(c)
		switch {
		case err != nil:
			return &graft.Refusal{Kind: graft.Invalid, Message: err.Error()}
		case len(faults) > 0:
			return faults
		}
		return c.changeRules(id, what, text, rules, why)
	})
}

// mayChangeRules refuses all but a surgeon with a reason, and a rule that is none.
func (a Actor) mayChangeRules(id graft.RuleID, why string) error {
	if err := a.needSurgeon("changing a rule value"); err != nil {
		return err
	}
	if strings.TrimSpace(why) == "" {
		return &graft.Refusal{Kind: graft.Invalid, Message: "changing a rule value needs its reason"}
	}
	if _, known := protocol.Default().Lookup(id); !known {
		return &graft.Refusal{Kind: graft.NotFound, Message: fmt.Sprintf("no rule %q", id), Hint: table.DidYouMean(string(id), protocol.Default().IDs())}
	}
	return nil
}

// changeRules notes a changed file of rule values, with its entry. A new one is put in
// its place before the clinic file names it.
func (c *filesChange) changeRules(id graft.RuleID, what string, text []byte, rules *protocol.Rules, why string) error {
	was, _ := c.rules.Lookup(id)
	now, _ := rules.Lookup(id)
	if string(text) == string(c.rulesText) {
		return &graft.Refusal{Kind: graft.Conflict, Message: fmt.Sprintf("%s is %s already", id, now.Text())}
	}
	c.next = append(c.next, replacement{c.rulesName, c.rulesText, text})
	isNew := c.rulesText == nil
	c.rules, c.rulesText = rules, text
	if err := c.tell(what, fmt.Sprintf("%s: %s", id, ruleText(was)), fmt.Sprintf("%s: %s", id, ruleText(now)), why); err != nil || !isNew {
		return err
	}
	return c.nameRules(why)
}

// nameRules has the clinic file name the new file of rule values.
func (c *filesChange) nameRules(why string) error {
	name := []casefile.ClinicChange{casefile.SetProtocol{File: c.rulesName}}
	text, after, faults, err := casefile.ChangeClinic(c.clinic.File, c.text, name, c.f.Read)
	switch {
	case err != nil:
		return &graft.Refusal{Kind: graft.Invalid, Message: err.Error()}
	case len(faults) > 0:
		return faults
	}
	c.next = append(c.next, replacement{c.f.ClinicName(), c.text, text})
	c.text, c.clinic = text, after
	return c.tell(clinicWhat, "", name[0].Tell(after), why)
}

func ruleText(r protocol.Rule) string {
	if r.Adopted == nil {
		return r.Text() + "; the rule's own value"
	}
	return r.Text() + "; " + r.Adopted.String(r.Unit)
}

// freeName is a name for a new file of rule values beside the clinic file.
func (c *filesChange) freeName() (string, error) {
	clinic := c.f.ClinicName()
	stem := strings.TrimSuffix(clinic, filepath.Ext(clinic))
	const most = 9
	for n := 1; n <= most; n++ {
		name := stem + "-rules.yaml"
		if n > 1 {
			name = fmt.Sprintf("%s-rules-%d.yaml", stem, n)
		}
		if _, err := c.f.Read(name); errors.Is(err, fs.ErrNotExist) {
			return name, nil
		}
	}
	return "", &graft.Refusal{Kind: graft.Conflict, Message: fmt.Sprintf("there are files %s-rules.yaml already that the clinic file does not name", stem), Hint: "name the one that counts in the clinic file, under protocol"}
}
