package protocol

import (
	"fmt"
	"maps"
	"slices"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// Own is the shape of a clinic's file of its own rule values.
func Own() table.Shape { return own }

var own = table.Map("",
	table.Must("rules", table.Whole("version of this format", "", 1, 1)),
	table.Must("adopted_by", table.Text("who answers for these values, where a change does not say")),
	table.Must("adopted_on", table.Formal("", dayGrammar)),
	table.May("review_by", table.Formal("day by which they are looked at again", dayGrammar)),
	table.Must("changes", table.List("", 0, table.Map("",
		table.Must("id", table.Text("of the rule; graftclock rules lists them")),
		table.Must("value", valueShape),
		table.Must("reason", table.Text("why the clinic does otherwise")),
		table.May("adopted_by", table.Text("who answers for this value; left out: who does for all")),
		table.May("adopted_on", table.Formal("left out: when all were", dayGrammar)),
	))),
)

// Adopt returns the rules with a clinic's own values in them. The rules
// themselves are left as they are; the faults are all there are.
func (r *Rules) Adopt(file string, data []byte) (*Rules, table.Faults) {
	v := table.Read(file, data, own)
	adopted := &Rules{version: r.version, order: r.order, byID: maps.Clone(r.byID), file: table.Digest(data)}
	adopted.review, _ = day.Parse(v.Get("review_by").Text())
	seen := map[graft.RuleID]bool{}
	for _, change := range v.Get("changes").Items() {
		id := graft.RuleID(change.Get("id").Text())
		rule, known := r.byID[id]
		switch {
		case id == "":
			continue
		case !known:
			change.Get("id").Fault(fmt.Sprintf("rule %q", id), "an id that graftclock rules lists", table.DidYouMean(string(id), r.IDs()))
			continue
		case seen[id]:
			change.Get("id").Fault(fmt.Sprintf("rule %q a second time", id), "each rule once", "")
			continue
		}
		seen[id] = true
		value := valueAt(change.Get("value"))
		if !rule.accepts(change.Get("value"), value) {
			continue
		}
		changed := *rule
		changed.Value = value
		changed.Adopted = adoptionOf(v, change)
		changed.Adopted.Default, changed.Adopted.ReviewBy = rule.Value, adopted.review
		adopted.byID[id] = &changed
	}
	adopted.hash = adopted.digest()
	adopted.tellOwn()
	return adopted, v.Faults()
}

// adoptionOf tells who adopted a value, when and why. Who and when are the file's where
// the change does not say: one file may be written by several, one after the other.
func adoptionOf(file, change *table.Value) *Adoption {
	by, onDay := change.Get("adopted_by").Text(), change.Get("adopted_on").Text()
	if by == "" {
		by = file.Get("adopted_by").Text()
	}
	if onDay == "" {
		onDay = file.Get("adopted_on").Text()
	}
	on, _ := day.Parse(onDay)
	return &Adoption{By: by, On: on, Why: change.Get("reason").Text()}
}

// accepts complains of a value that the rule cannot take.
func (rule Rule) accepts(at *table.Value, value Value) bool {
	switch {
	case at == nil:
		return false
	case rule.Value.Kind == NoValue:
		at.Fault("a value for a rule that has none", "no value", "")
	case rule.Value.Kind != value.Kind || value.Kind == PeriodValue && rule.Value.unitOfPeriod() != value.unitOfPeriod():
		at.Fault(fmt.Sprintf("%q", value), "a value like the default, "+rule.Value.String(), "")
	case value.Kind == WindowValue:
		return acceptsWindow(at, value.Window)
	case value.Kind == PartsValue && !slices.Equal(slices.Sorted(maps.Keys(value.Parts)), slices.Sorted(maps.Keys(rule.Value.Parts))):
		at.Fault(value.String(), "the parts of the default, "+rule.Value.String(), "")
	case value.Kind == PartsValue:
		return rule.acceptsParts(at, value)
	case value.Kind == NumberValue || value.Kind == PeriodValue:
		return rule.acceptsAmount(at, value)
	default:
		return true
	}
	return false
}

// acceptsAmount holds a number or the count of a period inside what is allowed.
func (rule Rule) acceptsAmount(at *table.Value, value Value) bool {
	amount, _ := value.amount()
	return rule.acceptsNumber(at, value.String(), amount)
}

func (rule Rule) acceptsParts(at *table.Value, value Value) bool {
	accepted := true
	for _, key := range slices.Sorted(maps.Keys(value.Parts)) {
		accepted = rule.acceptsNumber(at, key+" "+number(value.Parts[key]), value.Parts[key]) && accepted
	}
	return accepted
}

func (rule Rule) acceptsNumber(at *table.Value, found string, n float64) bool {
	switch {
	case rule.Allowed == nil:
		at.Fault("a value for a rule that is fixed", rule.Text(), "")
	case n < rule.Allowed.Least || n > rule.Allowed.Most:
		at.Fault(found, fmt.Sprintf("%s to %s %s", number(rule.Allowed.Least), number(rule.Allowed.Most), rule.Unit), "")
	default:
		return true
	}
	return false
}

// acceptsWindow holds the four points in order, on a calendar day that stands
// for all.
func acceptsWindow(at *table.Value, w Window) bool {
	from := day.First
	points := []day.Day{from.Add(w.NotBefore), from.Add(w.Earliest), from.Add(w.Target), from.Add(w.Latest)}
	for i := 1; i < len(points); i++ {
		if points[i].Before(points[i-1]) {
			at.Fault("a window out of order", "not_before, earliest, target, latest, each no sooner than the one before", "")
			return false
		}
	}
	return true
}
