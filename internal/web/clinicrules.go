package web

import (
	"cmp"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"graftclock/internal/evidence"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
	"graftclock/internal/table"
)

// ruleLine is one rule of the list.
type ruleLine struct {
	ID, Link, Says, Value, Stands, Own string
}

// ruleList is what the list of the rules shows.
type ruleList struct {
	clinicHead
	Version string
	Own     []ruleLine // values of the clinic's own
	All     []ruleLine
}

// statusWords say where a rule's value comes from.
var statusWords = map[protocol.Status]string{
	protocol.Read: "from a source that was read", protocol.Memory: "from a source that was recalled, not seen",
	protocol.Custom: "a custom of the trade, without a source", protocol.House: "graftclock's own choice",
}

// standsWords say where a rule's value comes from and how strong that is.
func standsWords(r protocol.Rule) string {
	return fmt.Sprintf("%s; strength %s, quality %s", statusWords[r.Status], r.Strength, strings.ReplaceAll(r.Quality, "-", " "))
}

func (q *request) getRules() error {
	rules := q.keeper.Rules
	page := ruleList{clinicHead: q.clinicHead("rules", nil), Version: rules.Version()}
	for _, r := range rules.All() {
		line := ruleLine{ID: string(r.ID), Link: ruleLink(r.ID), Says: r.Says, Value: r.Text(), Stands: standsWords(r)}
		if r.Adopted != nil {
			line.Own = adoptedWords(*r.Adopted, r.Unit)
			page.Own = append(page.Own, line)
		}
		page.All = append(page.All, line)
	}
	return q.show(http.StatusOK, "clinic-rules", "Rules", page)
}

func ruleLink(id graft.RuleID) string { return "/clinic/rules/" + url.PathEscape(string(id)) }

// adoptedWords tell who adopted a value, when and why, and what the rule says itself.
func adoptedWords(a protocol.Adoption, unit string) string {
	says := fmt.Sprintf("adopted by %s on %s: %s. The rule's own value is %s (%s)", a.By, longDay(a.On), a.Why, a.Default, unit)
	if !a.ReviewBy.IsZero() {
		says += "; to be looked at again by " + longDay(a.ReviewBy)
	}
	return says
}

// rulePage is one rule whole.
type rulePage struct {
	clinicHead
	ruleLine
	Patient, Severity, Conflict string
	Reviewed, Hard              string
	May                         string // what a clinic may set it to
	Adoptable                   bool
	Adopted                     bool
	Cites                       []citeLine
	Typed                       typed
	Field                       string // what stands in the form
}

// citeLine is one source with what it says and what of it was seen.
type citeLine struct{ Source, Status, Says, Reference string }

// ruleID is the rule that an address names.
func (q *request) rule() (protocol.Rule, error) {
	r, ok := q.keeper.Rules.Lookup(graft.RuleID(q.PathValue("rule")))
	if !ok {
		return r, &graft.Refusal{Kind: graft.NotFound, Message: "there is no such rule", Hint: table.DidYouMean(q.PathValue("rule"), q.keeper.Rules.IDs())}
	}
	return r, nil
}

// showRule shows one rule; after a form of it that was refused, with what was typed and
// why.
func (q *request) showRule(form string, wrong error) error {
	r, err := q.rule()
	if err != nil {
		return err
	}
	status, page := http.StatusOK, rulePage{Typed: typed{Form: form, values: q.PostForm}}
	var problem *problem
	if wrong != nil {
		if problem, status, page.Typed, err = q.ruleRefused(form, wrong); err != nil {
			return err
		}
	}
	page.clinicHead = q.clinicHead("rules", problem)
	page.ruleLine = ruleLine{ID: string(r.ID), Link: ruleLink(r.ID), Says: r.Says, Value: r.Text(), Stands: standsWords(r)}
	page.Patient, page.Severity, page.Conflict, page.Reviewed = r.Patient, severities[r.Severity], r.Conflict, longDay(r.Reviewed)
	page.Adoptable, page.May = mayBe(r)
	if r.Hard {
		page.Hard = "A hard floor: not even a surgeon's own day goes below it."
	}
	if page.Adopted = r.Adopted != nil; page.Adopted {
		page.Own = adoptedWords(*r.Adopted, r.Unit)
	}
	page.Field = cmp.Or(page.Typed.In("adopt", "value"), r.Value.String())
	for _, c := range r.Cites {
		source, _ := evidence.Lookup(evidence.ID(c.Source))
		page.Cites = append(page.Cites, citeLine{string(c.Source), c.Status, c.Says, source.Reference()})
	}
	return q.show(status, "clinic-rule", "Rule "+page.ID, page)
}

// ruleRefused is refused for a rule's form, whose faults have the places of the file of
// the clinic's own values.
func (q *request) ruleRefused(form string, wrong error) (*problem, int, typed, error) {
	p, status, t, err := q.refused(form, wrong)
	var faults table.Faults
	if err != nil || !errors.As(wrong, &faults) {
		return p, status, t, err
	}
	t.Fault, p.Lines = "", nil
	for _, f := range faults {
		p.Lines = append(p.Lines, faultSays(f))
	}
	if field := lastKey(faults[0].Path); slices.Contains([]string{"value", "reason"}, field) {
		t.Fault, t.Says = map[string]string{"value": "value", "reason": "why"}[field], faultSays(faults[0])
	}
	return p, status, t, nil
}

// mayBe says what a clinic may set a rule to.
func mayBe(r protocol.Rule) (adoptable bool, says string) {
	amount := func(n float64) string { return strconv.FormatFloat(n, 'f', -1, 64) }
	switch {
	case r.Value.Kind == protocol.NoValue:
		return false, "nothing: the rule has no value"
	case r.Value.Kind == protocol.WindowValue:
		return true, "four periods, each no sooner than the one before, written as above"
	case r.Value.Kind == protocol.PeriodsValue:
		return true, "periods such as 3mo, 6w or 10d, with commas between them"
	case r.Allowed == nil:
		return false, "nothing else: the value is fixed"
	}
	says = amount(r.Allowed.Least) + " to " + amount(r.Allowed.Most) + " " + r.Unit
	if r.Value.Kind == protocol.PartsValue {
		says += ", all parts named as above"
	}
	return true, says
}
