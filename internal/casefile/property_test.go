package casefile_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"go.yaml.in/yaml/v3"
	"pgregory.net/rapid"

	"graftclock/internal/casefile"
)

// TestReadingNeverDependsOnKeyOrder shuffles the keys of every map of a record,
// whole or with one fault.
func TestReadingNeverDependsOnKeyOrder(t *testing.T) {
	valid := example(t, "case.yaml")
	rapid.Check(t, func(rt *rapid.T) {
		data := []byte(valid)
		if n := rapid.IntRange(-1, len(recordSpoils)-1).Draw(rt, "spoil"); n >= 0 && recordSpoils[n].name != "duplicate key" {
			data = spoilt(t, valid, recordSpoils[n])
		}
		var doc yaml.Node
		if err := yaml.Unmarshal(data, &doc); err != nil {
			rt.Fatal(err)
		}
		shuffle(rt, &doc)
		shuffled, err := yaml.Marshal(&doc)
		if err != nil {
			rt.Fatal(err)
		}
		want, wantFaults := casefile.ReadCase("case", data)
		got, gotFaults := casefile.ReadCase("case", shuffled)
		if diff := cmp.Diff(withoutPlaces(wantFaults), withoutPlaces(gotFaults)); diff != "" {
			rt.Errorf("faults (-as written +shuffled):\n%s\n%s", diff, shuffled)
		}
		if diff := cmp.Diff(want.Case, got.Case, sameDay); diff != "" {
			rt.Errorf("case (-as written +shuffled):\n%s\n%s", diff, shuffled)
		}
	})
}

// shuffle puts the keys of every map in another order.
func shuffle(rt *rapid.T, n *yaml.Node) {
	for _, c := range n.Content {
		shuffle(rt, c)
	}
	if n.Kind != yaml.MappingNode {
		return
	}
	var shuffled []*yaml.Node
	pairs := make([]int, len(n.Content)/2)
	for i := range pairs {
		pairs[i] = i
	}
	for _, i := range rapid.Permutation(pairs).Draw(rt, "order") {
		shuffled = append(shuffled, n.Content[2*i], n.Content[2*i+1])
	}
	n.Content = shuffled
}

// FuzzReadCase wants no panic of any text, and wants what is accepted to read
// the same once it is written anew and once it comes from a form.
func FuzzReadCase(f *testing.F) {
	valid := example(f, "case.yaml")
	for _, seed := range append(traps, valid, valid[:len(valid)/2], casefile.Record().Blank()) {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		c, faults := casefile.ReadCase("case", data)
		for _, fault := range faults {
			if fault.Line < 1 || fault.Column < 1 || fault.Found == "" {
				t.Errorf("a complaint without its place: %+v", fault)
			}
		}
		if _, _, err := casefile.With("case", data, []string{"graft.additive=none"}); len(faults) > 0 || err != nil {
			return
		}
		again, faults, err := casefile.With("case", data, nil)
		if err != nil || len(faults) > 0 {
			t.Fatalf("accepted, then refused: %v %v", err, faults)
		}
		if diff := cmp.Diff(c.Case, again.Case, sameDay); diff != "" {
			t.Errorf("case (-file +form):\n%s", diff)
		}
		text, kept, faults := casefile.Canonical("case", data)
		if diff := cmp.Diff(c.Case, kept.Case, sameDay); diff != "" || len(faults) > 0 {
			t.Errorf("case (-file +canonical):\n%s\n%v\n%s", diff, faults, text)
		}
		if twice, _, _ := casefile.Canonical("case", text); string(twice) != string(text) {
			t.Errorf("canonical twice (-once +twice):\n%s", cmp.Diff(string(text), string(twice)))
		}
		anew, faults := casefile.ReadCase("case", rewritten(t, data))
		if diff := cmp.Diff(c.Case, anew.Case, sameDay); diff != "" || len(faults) > 0 {
			t.Errorf("case (-file +written anew):\n%s\n%v", diff, faults)
		}
	})
}

// FuzzReadClinic is FuzzReadCase for clinic files.
func FuzzReadClinic(f *testing.F) {
	valid := example(f, "clinic.yaml")
	for _, seed := range append(traps, valid, valid[:len(valid)/2], casefile.ClinicFile().Blank()) {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		c, faults := casefile.ReadClinic("clinic", data, noFile)
		if len(faults) > 0 {
			return
		}
		again, faults := casefile.ReadClinic("clinic", rewritten(t, data), noFile)
		if diff := cmp.Diff(c.Settings, again.Settings, sameDay); diff != "" || len(faults) > 0 || c.Mail != again.Mail || c.Shared != again.Shared {
			t.Errorf("settings (-file +written anew):\n%s\n%v\n%+v %+v\n%+v %+v", diff, faults, c.Mail, again.Mail, c.Shared, again.Shared)
		}
	})
}

// rewritten writes YAML anew, with its own indents and quotation marks.
func rewritten(t *testing.T, data []byte) []byte {
	t.Helper()
	var doc yaml.Node
	if err := yaml.Unmarshal(data, &doc); err != nil {
		t.Fatal(err)
	}
	written, err := yaml.Marshal(&doc)
	if err != nil {
		t.Fatal(err)
	}
	return written
}

// traps are texts that have been the end of other readers.
var traps = []string{
	"", "---\n", "~", "{}", "[]", "a: *a", "&a a: 1", "<<: {a: 1}", "? [a]\n: b", "a: 1\n---\nb: 2", "\xff\xfe", "\ufeffrecord: 1",
	"record: 0x1", "record: !!int 1", "record: 1\nrecord: 1", "sinuses: [[[[", "\t", "a:\tb", "%YAML 9.9\n---\na: 1", "sinuses: {}", "sinuses: [null, {}, 4]",
	"sinuses: [{side: right, implants: [{}, {tooth: 16}, {tooth: 16}]}]", "visits: {recall: 1}", "hours: {mon: [\"\"]}", "sinuses: &a [*a]",
	"mail: {server: '::1', security: none, password_file: x}", "shared_calendar: {url: 'http://[::1'}", "patient: {mail: {address: '<@>'}}",
}

func BenchmarkReadCase(b *testing.B) {
	data := []byte(example(b, "case.yaml"))
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, faults := casefile.ReadCase("case.yaml", data); len(faults) > 0 {
			b.Fatal(faults)
		}
	}
}

func BenchmarkReadClinic(b *testing.B) {
	data := []byte(example(b, "clinic.yaml"))
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, faults := casefile.ReadClinic("clinic.yaml", data, noFile); len(faults) > 0 {
			b.Fatal(faults)
		}
	}
}
