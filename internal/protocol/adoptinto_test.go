package protocol_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"graftclock/internal/graft"
	"graftclock/internal/protocol"
)

// ownFile is a file of own values as somebody typed it.
const ownFile = `# kept by the senior surgeon
rules: 1
adopted_by: "Dr Otto Brandt"   # answers for all
adopted_on: 2026-12-01
review_by: 2027-12-01

changes:
  # after the audit
  - id: staged-uncovering
    value: 3mo   # was 4
    reason: rough surface
  - {id: share-to-hold, value: 0.9, reason: dense bone}
`

func adopting(id graft.RuleID, value, by, onDay, reason string) protocol.OwnValue {
	return protocol.OwnValue{ID: id, Value: value, By: by, On: on(onDay), Reason: reason}
}

const otto, alba = "Dr Otto Brandt", "Dr Alba Quill"

func TestAdoptingIntoAFileKeepsTheRestOfIt(t *testing.T) {
	const last = "  - {id: share-to-hold, value: 0.9, reason: dense bone}\n"
	for _, c := range []struct {
		name     string
		own      protocol.OwnValue
		was, now string // of the file
	}{
		{"one more by another", adopting("growth-rate", "0.8", alba, "2027-01-18", "slow: #1"), last, last + "  - {id: growth-rate, value: 0.8, reason: \"slow: #1\", adopted_by: Dr Alba Quill, adopted_on: 2027-01-18}\n"},
		{"one more by the same on the day", adopting("growth-rate", "0.80", otto, "2026-12-01", "slow"), last, last + "  - {id: growth-rate, value: 0.8, reason: slow}\n"},
		{"one more by the same later", adopting("growth-rate", "0.8", otto, "2027-01-18", "slow"), last, last + "  - {id: growth-rate, value: 0.8, reason: slow, adopted_on: 2027-01-18}\n"},
		{"another value by another", adopting("staged-uncovering", "5mo", alba, "2027-01-18", "rough surface"), "value: 3mo   # was 4\n    reason: rough surface\n", "value: 5mo   # was 4\n    reason: rough surface\n    adopted_by: Dr Alba Quill\n    adopted_on: 2027-01-18\n"},
		{"another value on one line", adopting("share-to-hold", "0.8", alba, "2027-01-18", "denser"), last, "  - {id: share-to-hold, value: 0.8, reason: denser, adopted_by: Dr Alba Quill, adopted_on: 2027-01-18}\n"},
		{"a window, as it is printed", adopting("wound-check", "not before 7d, earliest 7d, target 11d, latest 14d", otto, "2026-12-01", "x"), last, last + "  - id: wound-check\n"},
		{"a list", adopting("recall-months", "3mo, 6mo, 9mo, 12mo", otto, "2026-12-01", "x"), last, last + "  - {id: recall-months, value: [3mo, 6mo, 9mo, 12mo], reason: x}\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			text, rules, faults, err := protocol.Default().AdoptInto("own.yaml", []byte(ownFile), c.own)
			if err != nil || len(faults) > 0 {
				t.Fatal(err, faults)
			}
			if want := strings.Replace(ownFile, c.was, c.now, 1); c.name != "a window, as it is printed" && string(text) != want {
				t.Errorf("got\n%s\nwant\n%s", text, want)
			}
			rule, _ := rules.Lookup(c.own.ID)
			if a := rule.Adopted; a == nil || a.By != c.own.By || a.On != c.own.On || a.Why != c.own.Reason || a.ReviewBy != on("2027-12-01") {
				t.Errorf("%+v", rule.Adopted)
			}
			was, _ := protocol.Default().Adopt("own.yaml", []byte(ownFile))
			for _, id := range []graft.RuleID{"staged-uncovering", "share-to-hold"} {
				before, _ := was.Lookup(id)
				after, _ := rules.Lookup(id)
				if id != c.own.ID && (before.Text() != after.Text() || after.Adopted.By != otto || after.Adopted.On != on("2026-12-01")) {
					t.Errorf("%s is %s, adopted by %s on %s", id, after.Text(), after.Adopted.By, after.Adopted.On)
				}
			}
			if rules.Digest() == was.Digest() || rules.Digest() == "" {
				t.Error("another text has the same digest")
			}
		})
	}
}

func TestTheFirstValueMakesTheFile(t *testing.T) {
	text, rules, faults, err := protocol.Default().AdoptInto("own.yaml", nil, adopting("share-to-hold", "0.9", alba, "2027-01-18", "dense bone"))
	const want = "rules: 1\nadopted_by: Dr Alba Quill\nadopted_on: 2027-01-18\nchanges:\n  - {id: share-to-hold, value: 0.9, reason: dense bone}\n"
	if err != nil || len(faults) > 0 || string(text) != want {
		t.Fatalf("%v %v\n%s", err, faults, text)
	}
	text, rules, faults, err = protocol.Default().TakeBack("own.yaml", text, "share-to-hold")
	if err != nil || len(faults) > 0 || len(rules.Own()) != 0 || rules.Version() != protocol.Default().Version() {
		t.Fatalf("%v %v\n%s", err, faults, text)
	}
	if text, _, faults, err = protocol.Default().AdoptInto("own.yaml", text, adopting("share-to-hold", "0.9", alba, "2027-01-18", "dense bone")); err != nil || len(faults) > 0 {
		t.Fatalf("%v %v\n%s", err, faults, text)
	}
}

func TestTakingAValueBackKeepsTheRest(t *testing.T) {
	text, rules, faults, err := protocol.Default().TakeBack("own.yaml", []byte(ownFile), "staged-uncovering")
	want := strings.Replace(ownFile, "  - id: staged-uncovering\n    value: 3mo   # was 4\n    reason: rough surface\n", "", 1)
	if err != nil || len(faults) > 0 || string(text) != want {
		t.Fatalf("%v %v\n%s", err, faults, text)
	}
	rule, _ := rules.Lookup("staged-uncovering")
	if kept, _ := rules.Lookup("share-to-hold"); rule.Adopted != nil || rule.Text() != "4mo (months after placement)" || kept.Adopted == nil {
		t.Errorf("%s, %+v", rule.Text(), rule.Adopted)
	}
	if _, _, _, err := protocol.Default().TakeBack("own.yaml", []byte(ownFile), "growth-rate"); err == nil || !strings.Contains(err.Error(), "no value of its own for the rule growth-rate") {
		t.Error(err)
	}
}

// TestAdoptingWhatARuleCannotTake wants the reader's own complaint and no text.
func TestAdoptingWhatARuleCannotTake(t *testing.T) {
	for _, c := range []struct{ id, value, by, reason, want string }{
		{"share-to-hold", "0.79", alba, "x", "changes[1].value: 0.79; allowed: 0.8 to 1 share"},
		{"growth-rate", "fast", alba, "x", `changes[2].value: "fast"`},
		{"growth-rate", "0.8\nadopted_by: me", alba, "x", "changes[2].value: "},
		{"growth-rate", "", alba, "x", "changes[2].value: "},
		{"growth-rate", "{a: 1}", alba, "x", `changes[2].value: "{a: 1}"`},
		{"loading-floor", "1mo", alba, "x", "changes[2].value: a value for a rule that is fixed"},
		{"flag-smoker", "1", alba, "x", "changes[2].value: a value for a rule that has none"},
		{"growth-rat", "0.8", alba, "x", `changes[2].id: rule "growth-rat"`},
		{"wound-check", "not before 7d, earliest 7d, target 15d, latest 14d", alba, "x", "changes[2].value: a window out of order"},
		{"wound-check", "7d", alba, "x", "changes[2].value: "},
		{"growth-rate", "0.8", alba, "a\nb", "changes[2].reason: a line break"},
		{"growth-rate", "0.8", alba, "", "changes[2].reason: "},
		{"growth-rate", "0.8", "a\nb", "x", "changes[2].adopted_by: a line break"},
	} {
		text, _, faults, err := protocol.Default().AdoptInto("own.yaml", []byte(ownFile), adopting(graft.RuleID(c.id), c.value, c.by, "2027-01-18", c.reason))
		if err != nil || text != nil || len(faults) == 0 || !strings.Contains(faults.Error(), c.want) {
			t.Errorf("%s=%q: %v %v\n%s", c.id, c.value, err, faults, text)
		}
	}
	broken := strings.Replace(ownFile, "rules: 1", "rules: 2", 1)
	if text, _, faults, err := protocol.Default().AdoptInto("own.yaml", []byte(broken), adopting("growth-rate", "0.8", alba, "2027-01-18", "x")); err != nil || text != nil || len(faults) != 1 {
		t.Errorf("%v %v\n%s", err, faults, text)
	}
}

// TestEveryValueIsWrittenAsItIsPrinted adopts each rule's own value as the list prints
// it, where a clinic may set it at all.
func TestEveryValueIsWrittenAsItIsPrinted(t *testing.T) {
	adopted := 0
	for _, rule := range protocol.Default().All() {
		if rule.Value.Kind == protocol.NoValue {
			continue
		}
		_, rules, faults, err := protocol.Default().AdoptInto("own.yaml", nil, adopting(rule.ID, rule.Value.String(), alba, "2027-01-18", "as it is"))
		if len(faults) > 0 && strings.Contains(faults.Error(), "a value for a rule that is fixed") {
			continue
		}
		if err != nil || len(faults) > 0 {
			t.Errorf("%s: %v %v", rule.ID, err, faults)
			continue
		}
		if is, _ := rules.Lookup(rule.ID); is.Value.Number != rule.Value.Number || is.Value.Kind != protocol.NumberValue && is.Text() != rule.Text() {
			t.Errorf("%s: %s became %s", rule.ID, rule.Text(), is.Text())
		}
		adopted++
	}
	if adopted < 10 {
		t.Errorf("%d rules only", adopted)
	}
}

// TestWhoAdoptedWhatWithReasonsOfAllKinds adopts and takes back in one file, by turns,
// with names and reasons that YAML's readers stumble over.
func TestWhoAdoptedWhatWithReasonsOfAllKinds(t *testing.T) {
	values := map[graft.RuleID][]string{"share-to-hold": {"0.8", "0.9", "1"}, "staged-uncovering": {"3mo", "5mo"}, "growth-rate": {"0.8", "0.9"}, "recall-months": {"3mo, 6mo", "[6mo, 12mo]"}}
	ids := []graft.RuleID{"share-to-hold", "staged-uncovering", "growth-rate", "recall-months"}
	texts := []string{"Dr Alba Quill", "Dr Otto Brandt", "no", "~", "1e3", "a: b", "a #b", "'", `"`, "Größe", "[x]", "- a", "2027-01-01", "null", " led", "😀"}
	rapid.Check(t, func(rt *rapid.T) {
		text, want := []byte(ownFile), map[graft.RuleID]*protocol.OwnValue{}
		by := func(name string) string { return rapid.SampledFrom(texts).Draw(rt, name) }
		for range rapid.IntRange(1, 6).Draw(rt, "changes") {
			id := rapid.SampledFrom(ids).Draw(rt, "rule")
			var err error
			if rapid.IntRange(1, 3).Draw(rt, "back") == 1 {
				if next, _, faults, refused := protocol.Default().TakeBack("own.yaml", text, id); refused == nil {
					if len(faults) > 0 {
						rt.Fatalf("%v\n%s", faults, text)
					}
					text, want[id] = next, nil
				}
				continue
			}
			o := adopting(id, rapid.SampledFrom(values[id]).Draw(rt, "value"), by("by"), rapid.SampledFrom([]string{"2026-12-01", "2027-01-18"}).Draw(rt, "on"), by("reason"))
			next, rules, faults, err := protocol.Default().AdoptInto("own.yaml", text, o)
			if err != nil || len(faults) > 0 {
				rt.Fatalf("%v %v\n%s", err, faults, text)
			}
			text, want[id] = next, &o
			for other, o := range want {
				rule, _ := rules.Lookup(other)
				if o == nil && rule.Adopted != nil || o != nil && (rule.Adopted == nil || rule.Adopted.By != o.By || rule.Adopted.On != o.On || rule.Adopted.Why != o.Reason) {
					rt.Fatalf("%s: %+v, want %+v\n%s", other, rule.Adopted, o, text)
				}
			}
		}
		for _, comment := range []string{"# kept by the senior surgeon", "# answers for all", "# after the audit"} {
			if !strings.Contains(string(text), comment) {
				rt.Fatalf("%s is gone:\n%s", comment, text)
			}
		}
	})
}
