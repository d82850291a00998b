package protocol

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"graftclock/internal/day"
)

// ValueKind tells the kinds of a rule's value apart.
type ValueKind int

// The kinds of value.
const (
	NoValue ValueKind = iota
	NumberValue
	PeriodValue
	PeriodsValue
	WindowValue
	PartsValue
)

// Value is what a rule says in numbers. Kind tells which field holds it.
type Value struct {
	Kind    ValueKind
	Number  float64
	Period  day.Period
	Periods []day.Period
	Window  Window
	Parts   map[string]float64
	text    string // the number or period as written
}

// Window is a rule's window: four periods from the day it counts from.
type Window struct{ NotBefore, Earliest, Target, Latest day.Period }

// String returns the value as it is written in the rules.
func (v Value) String() string {
	switch v.Kind {
	case NumberValue, PeriodValue:
		return v.text
	case PeriodsValue:
		texts := make([]string, len(v.Periods))
		for i, p := range v.Periods {
			texts[i] = p.String()
		}
		return strings.Join(texts, ", ")
	case WindowValue:
		w := v.Window
		return fmt.Sprintf("not before %s, earliest %s, target %s, latest %s", w.NotBefore, w.Earliest, w.Target, w.Latest)
	case PartsValue:
		var texts []string
		for _, key := range slices.Sorted(maps.Keys(v.Parts)) {
			texts = append(texts, strings.ReplaceAll(key, "_", " ")+" "+number(v.Parts[key]))
		}
		return strings.Join(texts, ", ")
	}
	return ""
}

// amount is the number that the allowed span bounds: a number itself, or the
// count in a period as written (the 4 of 4mo).
func (v Value) amount() (float64, bool) {
	n, err := strconv.ParseFloat(strings.TrimRight(v.text, "dwmo"), 64)
	return n, err == nil
}

// unitOfPeriod is the unit in a period as written: d, w or mo.
func (v Value) unitOfPeriod() string { return strings.TrimLeft(v.text, "-0123456789") }

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
