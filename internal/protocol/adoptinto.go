package protocol

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// OwnValue is a value that a clinic adopts for a rule.
type OwnValue struct {
	ID     graft.RuleID
	Value  string // as the file has it, such as 3mo, or as Value.String prints it
	By     string
	On     day.Day
	Reason string
}

// AdoptInto writes a value of the clinic's own into the text of its file, and returns
// the text with the rules that follow from it. No data is a file that is not there yet.
// What it does not touch stays byte for byte, and the other values keep who adopted
// them and when. The faults are those of the file, or of the changed file, and with any
// of them there is no text; the error is a text that cannot be changed safely.
func (r *Rules) AdoptInto(file string, data []byte, o OwnValue) ([]byte, *Rules, table.Faults, error) {
	if data == nil {
		text := own.Write(map[string]any{"rules": "1", "adopted_by": o.By, "adopted_on": o.On.String(), "changes": []any{o.entry(r, "", "")}})
		return r.adopted(file, text, r, o.ID, &o)
	}
	before, faults := r.Adopt(file, data)
	if len(faults) > 0 {
		return nil, nil, faults, nil
	}
	v := table.Read(file, data, own)
	by, on := v.Get("adopted_by").Text(), v.Get("adopted_on").Text()
	entry, n := o.entry(r, by, on), changeOf(v, o.ID)
	text, err := data, error(nil)
	if n < 0 {
		text, err = own.Append(data, "changes", entry)
	} else {
		text, err = rewritten(data, v.Get("changes").Items()[n], entry)
	}
	if err != nil {
		return nil, nil, nil, err
	}
	return r.adopted(file, text, before, o.ID, &o)
}

// TakeBack takes the clinic's own value of a rule out of the text of its file, so that
// the rule's own counts again. It returns as AdoptInto does.
func (r *Rules) TakeBack(file string, data []byte, id graft.RuleID) ([]byte, *Rules, table.Faults, error) {
	before, faults := r.Adopt(file, data)
	if len(faults) > 0 {
		return nil, nil, faults, nil
	}
	n := changeOf(table.Read(file, data, own), id)
	if n < 0 {
		return nil, nil, nil, fmt.Errorf("the clinic has no value of its own for the rule %s", id)
	}
	text, err := own.Remove(data, fmt.Sprintf("changes[%d]", n))
	if err != nil {
		return nil, nil, nil, err
	}
	return r.adopted(file, text, before, id, nil)
}

// changeOf returns the index of a rule's change in a file; -1: none.
func changeOf(v *table.Value, id graft.RuleID) int {
	return slices.IndexFunc(v.Get("changes").Items(), func(c *table.Value) bool { return c.Get("id").Text() == string(id) })
}

// entry is a change as the file has it, with who and when where the file does not say
// the same of all.
func (o OwnValue) entry(r *Rules, by, on string) map[string]any {
	entry := map[string]any{"id": string(o.ID), "value": r.written(o), "reason": o.Reason}
	if by != "" && o.By != by {
		entry["adopted_by"] = o.By
	}
	if on != "" && o.On.String() != on {
		entry["adopted_on"] = o.On.String()
	}
	return entry
}

// rewritten gives a change that is there other values.
func rewritten(data []byte, at *table.Value, entry map[string]any) ([]byte, error) {
	var err error
	for _, key := range []string{"value", "reason", "adopted_by", "adopted_on"} {
		value, wanted := entry[key]
		path := at.Path() + "." + key
		switch {
		case wanted:
			data, err = own.Put(data, path, value)
		case at.Has(key):
			data, err = own.Remove(data, path)
		}
		if err != nil {
			return nil, err
		}
	}
	return data, nil
}

var errOtherwise = errors.New("the changed file does not say what was asked for; it is left as it was")

// adopted reads a changed file and holds it to what it was changed for: one rule has
// the value that was adopted, or its own, and all others are as they were.
func (r *Rules) adopted(file string, text []byte, before *Rules, id graft.RuleID, o *OwnValue) ([]byte, *Rules, table.Faults, error) {
	after, faults := r.Adopt(file, text)
	if len(faults) > 0 {
		return nil, nil, faults, nil
	}
	for _, other := range r.order {
		if other != id && !reflect.DeepEqual(before.byID[other], after.byID[other]) {
			return nil, nil, nil, errOtherwise
		}
	}
	is := after.byID[id].Adopted
	if o == nil && is != nil || o != nil && (is == nil || is.By != o.By || is.On != o.On || is.Why != o.Reason) {
		return nil, nil, nil, errOtherwise
	}
	return text, after, nil, nil
}

// written turns a value into maps, lists and words of the file. A value that is not
// like the rule's own stays as it is, for the file's reader to complain of.
func (r *Rules) written(o OwnValue) any {
	text := strings.TrimSpace(o.Value)
	rule, known := r.byID[o.ID]
	if !known {
		return text
	}
	var words []any
	parts := map[string]any{}
	for item := range strings.SplitSeq(strings.Trim(text, "[]{}"), ",") {
		item = strings.TrimSpace(item)
		words = append(words, item)
		if n := strings.LastIndexAny(item, ": "); n > 0 {
			parts[strings.ReplaceAll(strings.Trim(item[:n], ": "), " ", "_")] = item[n+1:]
		}
	}
	switch kind := rule.Value.Kind; {
	case kind == PeriodsValue:
		return words
	case (kind == WindowValue || kind == PartsValue) && len(parts) > 0:
		return parts
	}
	return text
}
