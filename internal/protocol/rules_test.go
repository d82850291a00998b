package protocol_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"graftclock/internal/evidence"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
)

func TestEveryRuleIsSourcedAndSaysWhatItMeans(t *testing.T) {
	for _, r := range protocol.Default().All() {
		if len(r.Cites) == 0 {
			t.Errorf("%s has no source", r.ID)
		}
		sources := map[graft.SourceID]bool{}
		for _, c := range r.Cites {
			source, known := evidence.Lookup(evidence.ID(c.Source))
			if !known || c.Says == "" || c.Status != source.Status() {
				t.Errorf("%s cites %s (%q, %q)", r.ID, c.Source, c.Says, c.Status)
			}
			sources[c.Source] = true
		}
		house, custom := sources[graft.SourceID(evidence.House)], sources[graft.SourceID(evidence.CommonPractice)]
		switch r.Status {
		case protocol.House:
			if !house {
				t.Errorf("%s is house, and does not say so among its sources", r.ID)
			}
		case protocol.Custom:
			if !custom {
				t.Errorf("%s is custom, and does not say so among its sources", r.ID)
			}
		case protocol.Read:
			if house || custom {
				t.Errorf("%s says read, but rests on house or custom", r.ID)
			}
		}
		if r.Reviewed.IsZero() {
			t.Errorf("%s was never reviewed", r.ID)
		}
		oneSentence(t, string(r.ID), r.Says)
		if r.Patient != "" {
			oneSentence(t, string(r.ID), r.Patient)
			plain(t, string(r.ID), r.Patient)
		}
	}
}

func oneSentence(t *testing.T, id, says string) {
	t.Helper()
	if strings.TrimSpace(says) != says || !strings.HasSuffix(says, ".") || strings.ContainsAny(says, "\n\t") {
		t.Errorf("%s: %q is no sentence on one line", id, says)
	}
}

// jargon are words that a patient's sentence does without.
var jargon = regexp.MustCompile(`(?i)\b(augment\w*|sutur\w*|membrane|perforat\w*|residual|osseo\w*|prosthe\w*|restoration|impression|loading|provisional|definitive|recall|biologic\w*|xenograft|crest\w*|ISQ|Ncm)\b`)

func plain(t *testing.T, id, says string) {
	t.Helper()
	if word := jargon.FindString(says); word != "" {
		t.Errorf("%s tells the patient of %q: %s", id, word, says)
	}
}

func TestPatientsAreToldWhatEachOfTheirStepsIsFor(t *testing.T) {
	for name, c := range map[string]graft.Case{"simultaneous": good(), "staged": good(later), "aborted": good(aborted),
		"graft removed":   good(observed(graft.Observation{Day: on("2027-02-20"), What: graft.GraftRemoved})),
		"through the gum": good(implant(func(i *graft.Implant) { i.Closure, i.ResidualMM = graft.ThroughTheGum, 6 }))} {
		for _, m := range planWith(t, c, own(t, "  - {id: provisional-first, value: 1, reason: test}\n"), c.Surgery.Day).Milestones {
			if m.SeenByAny(graft.ForPatient) && m.PatientSays == "" {
				t.Errorf("%s: %s says nothing to the patient", name, m.Title())
			}
			if !m.SeenByAny(graft.ForPatient) && m.PatientSays != "" {
				t.Errorf("%s: %s speaks to a patient who does not see it", name, m.Title())
			}
		}
	}
}

func TestEverySourceIsCited(t *testing.T) {
	cited := map[evidence.ID]bool{}
	for _, r := range protocol.Default().All() {
		for _, c := range r.Cites {
			cited[evidence.ID(c.Source)] = true
		}
	}
	for _, s := range evidence.All() {
		if !cited[s.ID] {
			t.Errorf("%s is cited by no rule", s.ID)
		}
	}
}

// TestEveryRuleIsNamedInCode finds rules that nothing uses and names in code
// that are no rule.
func TestEveryRuleIsNamedInCode(t *testing.T) {
	named := map[string]bool{}
	ids := protocol.Default().IDs()
	for _, pattern := range []string{"*.go", "../desk/*.go"} {
		files, err := filepath.Glob(pattern)
		if err != nil || len(files) == 0 {
			t.Fatalf("%s: %v", pattern, err)
		}
		for _, path := range files {
			if !strings.HasSuffix(path, "_test.go") {
				literals(t, path, func(text string) { named[text] = true })
			}
		}
	}
	for _, id := range ids {
		if !named[id] {
			t.Errorf("no code uses the rule %s", id)
		}
	}
}

func literals(t *testing.T, path string, found func(string)) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	file, err := parser.ParseFile(token.NewFileSet(), path, data, 0)
	if err != nil {
		t.Fatal(err)
	}
	ast.Inspect(file, func(n ast.Node) bool {
		if l, ok := n.(*ast.BasicLit); ok && l.Kind == token.STRING {
			found(strings.Trim(l.Value, "\"`"))
		}
		return true
	})
}

func TestVersionChangesWithAnyValue(t *testing.T) {
	seen := map[string]string{protocol.Default().Version(): "default"}
	for _, change := range []string{
		"  - {id: staged-uncovering, value: 3mo, reason: test}\n",
		"  - {id: growth-rate, value: 0.9, reason: test}\n",
		"  - {id: wound-check, value: {not_before: 7d, earliest: 7d, target: 11d, latest: 14d}, reason: test}\n",
		"  - {id: recall-months, value: [3mo, 6mo, 9mo, 12mo], reason: test}\n",
	} {
		v := own(t, change).Version()
		if other, twice := seen[v]; twice {
			t.Errorf("%q has the version of %q", change, other)
		}
		seen[v] = change
	}
	if own(t, "  - {id: growth-rate, value: 0.9, reason: test}\n").Version() != own(t, "  - {id: growth-rate, value: 0.9, reason: other}\n").Version() {
		t.Error("the same values have two versions")
	}
}

func TestOwnValuesAreShownWhereTheyAreUsed(t *testing.T) {
	rules := own(t, "  - {id: share-to-hold, value: 0.8, reason: our own follow-up}\n")
	timeline := planWith(t, good(), rules, on("2027-01-14"))
	if got := timeline.Implants[0]; got.ToShare >= got.ToFull {
		t.Errorf("a share of 0.8 takes %.2f months, all of it %.2f", got.ToShare, got.ToFull)
	}
	var adopted []string
	var walk func(graft.Reason)
	walk = func(r graft.Reason) {
		if r.Adopted != "" {
			adopted = append(adopted, r.Adopted)
		}
		for _, b := range r.Because {
			walk(b)
		}
	}
	for _, m := range timeline.Milestones {
		if m.Step == graft.Uncovering {
			for _, w := range m.Waits {
				walk(w.Because)
			}
		}
	}
	if !slices.ContainsFunc(adopted, func(s string) bool {
		return strings.Contains(s, "Invented") && strings.Contains(s, "2026-12-01") && strings.Contains(s, "our own follow-up") && strings.Contains(s, "default 1.0")
	}) {
		t.Errorf("the reasons of the uncovering do not show who adopted what, when and why: %q", adopted)
	}
}

func TestOwnValuesThatARuleCannotTake(t *testing.T) {
	head := "rules: 1\nadopted_by: Invented\nadopted_on: 2026-12-01\nchanges:\n"
	for _, c := range []struct{ name, text, want string }{
		{"hard floor", head + "  - {id: loading-floor, value: 1mo, reason: x}\n", `own.yaml:5:32: changes[0].value: a value for a rule that is fixed; allowed: 2mo (months after placement)`},
		{"share below four fifths", head + "  - {id: share-to-hold, value: 0.79, reason: x}\n", `own.yaml:5:32: changes[0].value: 0.79; allowed: 0.8 to 1 share`},
		{"staged uncovering at 2 months", head + "  - {id: staged-uncovering, value: 2mo, reason: x}\n", `own.yaml:5:36: changes[0].value: 2mo; allowed: 3 to 9 months after placement`},
		{"another unit", head + "  - {id: staged-uncovering, value: 100d, reason: x}\n", `own.yaml:5:36: changes[0].value: "100d"; allowed: a value like the default, 4mo`},
		{"number for a period", head + "  - {id: staged-uncovering, value: 4, reason: x}\n", `own.yaml:5:36: changes[0].value: "4"; allowed: a value like the default, 4mo`},
		{"unknown id", head + "  - {id: staged-uncover, value: 4mo, reason: x}\n", `own.yaml:5:10: changes[0].id: rule "staged-uncover"; allowed: an id that graftclock rules lists; did you mean staged-uncovering?`},
		{"no reason", head + "  - {id: staged-uncovering, value: 3mo}\n", `own.yaml:5:5: changes[0].reason: missing; allowed: one line of text`},
		{"no name", "rules: 1\nadopted_on: 2026-12-01\nchanges:\n  - {id: staged-uncovering, value: 3mo, reason: x}\n", `own.yaml:1:1: adopted_by: missing; allowed: one line of text`},
		{"no day", "rules: 1\nadopted_by: x\nchanges:\n  - {id: staged-uncovering, value: 3mo, reason: x}\n", `own.yaml:1:1: adopted_on: missing; allowed: a day as YYYY-MM-DD`},
		{"twice", head + "  - {id: staged-uncovering, value: 3mo, reason: x}\n  - {id: staged-uncovering, value: 4mo, reason: x}\n", `own.yaml:6:10: changes[1].id: rule "staged-uncovering" a second time; allowed: each rule once`},
		{"window out of order", head + "  - {id: wound-check, value: {not_before: 7d, earliest: 7d, target: 15d, latest: 14d}, reason: x}\n", `own.yaml:5:30: changes[0].value: a window out of order; allowed: not_before, earliest, target, latest, each no sooner than the one before`},
		{"a rule without a value", head + "  - {id: flag-smoker, value: 1, reason: x}\n", `own.yaml:5:30: changes[0].value: a value for a rule that has none; allowed: no value`},
		{"a factor nobody may change", head + "  - {id: additive-rhpdgf-bb, value: {times: 3, saves_at_most_months: 6, not_below_months: 2}, reason: x}\n", `own.yaml:5:37: changes[0].value: a value for a rule that is fixed`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, faults := protocol.Default().Adopt("own.yaml", []byte(c.text))
			if len(faults) == 0 || !strings.HasPrefix(faults[0].String(), c.want) {
				t.Errorf("faults\n%v\nwant\n%s", faults, c.want)
			}
		})
	}
	if got := protocol.Default(); got.Version() != protocol.Default().Version() {
		t.Error("adopting changed the default rules")
	}
}
