package protocol

import (
	"fmt"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/table"
)

var (
	periodGrammar = &table.Grammar{Name: "a period such as 10d, 3w or 4mo", Pattern: `-?[0-9]+(d|w|mo)`,
		Check: func(s string) error { _, err := day.ParsePeriod(s); return err }}
	dayGrammar = &table.Grammar{Name: "a day as YYYY-MM-DD", Pattern: `[0-9]{4}-[0-9]{2}-[0-9]{2}`, Format: "date",
		Check: func(s string) error { _, err := day.Parse(s); return err }}
	keyGrammar = &table.Grammar{Name: "a word", Pattern: `[a-z_]+`}
)

// most bounds any number of a rule: beyond it stands a slip, not a value.
const most = 1e4

var (
	anyNumber  = table.Number("", "", -most, most)
	valueShape = table.Either("",
		anyNumber,
		table.Formal("", periodGrammar),
		table.List("", 1, table.Formal("", periodGrammar)),
		table.Keyed("", keyGrammar, table.Either("", anyNumber, table.Formal("", periodGrammar))))
	citeShape = table.Map("",
		table.Must("source", table.Text("id in the bibliography")),
		table.May("at", table.Text("place in the source")),
		table.Must("says", table.Text("one line in our own words")))
	ruleShape = table.Map("",
		table.Must("id", table.Text("")),
		table.Must("says", table.Text("for the clinician")),
		table.May("patient", table.Text("for the patient")),
		table.May("value", valueShape),
		table.May("unit", table.Text("")),
		table.May("hard", table.Bool("nobody goes below it, whatever the reason")),
		table.May("allowed", table.Map("", table.Must("least", anyNumber), table.Must("most", anyNumber))),
		table.May("severity", table.Word("", string(graft.Stop), string(graft.Warn), string(graft.Note))),
		table.Must("strength", table.Word("", "strong", "weak")),
		table.Must("quality", table.Word("", "high", "moderate", "low", "very-low")),
		table.Must("status", table.Word("", string(Read), string(Memory), string(Custom), string(House))),
		table.Must("reviewed", table.Formal("", dayGrammar)),
		table.Must("cites", table.List("", 1, citeShape)),
		table.May("conflict", table.Text("")))
	rulesShape = table.Map("",
		table.Must("protocol", table.Whole("version of this format", "", 1, 1)),
		table.Must("version", table.Text("")),
		table.Must("rules", table.List("", 1, ruleShape)))
)

// read reads a whole protocol.
func read(file string, data []byte) (*Rules, table.Faults) {
	v := table.Read(file, data, rulesShape)
	r := &Rules{version: v.Get("version").Text(), byID: map[graft.RuleID]*Rule{}}
	for _, row := range v.Get("rules").Items() {
		rule := ruleAt(row)
		if _, twice := r.byID[rule.ID]; twice {
			row.Get("id").Fault(fmt.Sprintf("a second rule %q", rule.ID), "each id once", "")
			continue
		}
		r.order = append(r.order, rule.ID)
		r.byID[rule.ID] = rule
	}
	r.hash = r.digest()
	return r, v.Faults()
}

func ruleAt(v *table.Value) *Rule {
	rule := &Rule{
		ID:       graft.RuleID(v.Get("id").Text()),
		Says:     v.Get("says").Text(),
		Patient:  v.Get("patient").Text(),
		Value:    valueAt(v.Get("value")),
		Unit:     v.Get("unit").Text(),
		Severity: graft.Severity(v.Get("severity").Text()),
		Strength: v.Get("strength").Text(),
		Quality:  v.Get("quality").Text(),
		Status:   Status(v.Get("status").Text()),
		Conflict: v.Get("conflict").Text(),
		Hard:     v.Get("hard").Bool(false),
	}
	rule.Reviewed, _ = day.Parse(v.Get("reviewed").Text())
	if a := v.Get("allowed"); a != nil {
		rule.Allowed = &Span{a.Get("least").Float(), a.Get("most").Float()}
	}
	if (rule.Value.Kind == NoValue) == v.Has("unit") {
		v.FaultAt(v.Path(), "a value without its unit, or a unit without its value", "both or neither", "")
	}
	for _, c := range v.Get("cites").Items() {
		source := graft.SourceID(c.Get("source").Text())
		status, known := statusOf(source)
		if !known {
			c.Get("source").Fault(fmt.Sprintf("source %q", source), "an id of the bibliography", "")
		}
		rule.Cites = append(rule.Cites, graft.Cite{Source: source, At: c.Get("at").Text(), Says: c.Get("says").Text(), Status: status})
	}
	return rule
}

// valueAt reads a rule's value. A map of the four window points is a window;
// any other map names its parts.
func valueAt(v *table.Value) Value {
	if v == nil {
		return Value{}
	}
	if n, ok := v.Number(); ok {
		return Value{Kind: NumberValue, Number: n, text: v.Text()}
	}
	if text := v.Text(); text != "" {
		return Value{Kind: PeriodValue, Period: periodAt(v), text: text}
	}
	if items := v.Items(); len(items) > 0 {
		value := Value{Kind: PeriodsValue}
		for _, item := range items {
			value.Periods = append(value.Periods, periodAt(item))
		}
		return value
	}
	if v.Has("target") {
		return Value{Kind: WindowValue, Window: Window{
			periodAt(v.Get("not_before")), periodAt(v.Get("earliest")), periodAt(v.Get("target")), periodAt(v.Get("latest")),
		}}
	}
	value := Value{Kind: PartsValue, Parts: map[string]float64{}}
	for _, e := range v.Entries() {
		value.Parts[e.Key] = e.Value.Float()
	}
	return value
}

func periodAt(v *table.Value) day.Period {
	p, _ := day.ParsePeriod(v.Text())
	return p
}
