package casefile_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/casefile"
	"graftclock/internal/graft"
)

func TestWithChangesWhatTheKeyNames(t *testing.T) {
	data := example(t, "case.yaml")
	for _, c := range []struct {
		name, desc string
		changes    []string
		change     func(*graft.Case)
	}{
		{"nothing", "reads as ReadCase does", nil, func(*graft.Case) {}},
		{"path", "", []string{"sinuses[0].graft.additive=rhPDGF-BB"}, func(c *graft.Case) { c.Sinuses[0].Graft.Additive = graft.RhPDGF }},
		{"path of the record", "", []string{"surgery.day=2027-02-01"}, func(c *graft.Case) { c.Surgery.Day = dayOf(t, "2027-02-01") }},
		{"key of every sinus", "", []string{"graft.material=allograft"}, func(c *graft.Case) { c.Sinuses[0].Graft.Material = graft.Allograft }},
		{"key of every implant", "", []string{"length_mm=8"}, func(c *graft.Case) {
			c.Sinuses[0].Implants[0].LengthMM, c.Sinuses[0].Implants[1].LengthMM = 8, 8
		}},
		{"key of one tooth", "", []string{"17.length_mm=8.5"}, func(c *graft.Case) { c.Sinuses[0].Implants[1].LengthMM = 8.5 }},
		{"index", "", []string{"sinuses[0].implants[1].diameter_mm=4"}, func(c *graft.Case) { c.Sinuses[0].Implants[1].DiameterMM = 4 }},
		{"level of a width", "", []string{"widths[1].mm=15"}, func(c *graft.Case) { c.Sinuses[0].Widths[1].MM = 15 }},
		{"window away", "", []string{"window=none"}, func(c *graft.Case) { c.Sinuses[0].Window = nil }},
		{"septa away", "", []string{"septa=none"}, func(c *graft.Case) { c.Sinuses[0].Septa = nil }},
		{"none as a word", "only what stands for a list or map is taken away", []string{"graft.material=none", "perforation=none"}, func(c *graft.Case) { c.Sinuses[0].Graft.Material = graft.NoMaterial }},
		{"map made", "", []string{"perforation.size_mm=3", "perforation.repaired=true"}, func(c *graft.Case) { c.Sinuses[0].Perforation = &graft.Perforation{SizeMM: 3, Repaired: true} }},
		{"several", "in the order given, the last wins", []string{"window.lid=repositioned", "16.residual_bone_mm=3", "16.residual_bone_mm=5"}, func(c *graft.Case) {
			c.Sinuses[0].Window.LidIsRepositioned = true
			c.Sinuses[0].Implants[0].ResidualMM = 5
		}},
		{"value with an equals sign", "", []string{"patient.name=A=B"}, func(c *graft.Case) { c.Patient.Name = "A=B" }},
	} {
		t.Run(c.name, func(t *testing.T) {
			bytes := []byte(data)
			got, faults, err := casefile.With("case", bytes, c.changes)
			if err != nil || len(faults) > 0 {
				t.Fatalf("%v: %v\n%v", c.changes, err, faults)
			}
			want := fenwick(t)
			c.change(&want)
			if diff := cmp.Diff(want, got.Case, sameDay); diff != "" {
				t.Errorf("%s (-want +got):\n%s", c.desc, diff)
			}
			if string(bytes) != data {
				t.Error("the record's own bytes were changed")
			}
		})
	}
}

func TestWithRefusesWhatItCannotUnderstand(t *testing.T) {
	data := []byte(example(t, "case.yaml"))
	for _, c := range []struct{ name, change, want string }{
		{"no equals sign", "length_mm", `"length_mm": want KEY=VALUE`},
		{"empty", "", `"": want KEY=VALUE`},
		{"no key", "=8", `"=8": "" is no key of the record, of a sinus or of an implant`},
		{"near miss", "lenght_mm=8", `"lenght_mm=8": "lenght_mm" is no key of the record, of a sinus or of an implant; did you mean length_mm?`},
		{"near miss of the record", "surgry.day=2027-02-01", `"surgry.day=2027-02-01": "surgry" is no key of the record, of a sinus or of an implant; did you mean surgery?`},
		{"near nothing", "colour=red", `"colour=red": "colour" is no key of the record, of a sinus or of an implant`},
		{"absent tooth", "15.length_mm=8", `"15.length_mm=8": the record has no implant at tooth 15`},
		{"sinus key of a tooth", "16.health=clear", `"16.health=clear": "health" is a key of the whole sinus; leave out 16`},
		{"index past the end", "sinuses[7].side=left", `"sinuses[7].side=left": sinuses[7]: the list has 1 entries, counted from 0`},
		{"huge index", "sinuses[99999999999999999999].side=left", `"sinuses[99999999999999999999].side=left": sinuses[99999999999999999999]: the list has 1 entries, counted from 0`},
		{"negative index", "sinuses[-1].side=left", `"sinuses[-1].side=left": "sinuses[-1]" is no key`},
		{"index of a map", "surgery[0].day=2027-02-01", `"surgery[0].day=2027-02-01": surgery[0]: the list has 0 entries, counted from 0`},
		{"index of a word", "patient.flags[0]=smoker", `"patient.flags[0]=smoker": flags[0]: no map stands there`},
		{"whole list item", "sinuses[0]=none", `"sinuses[0]=none": "sinuses[0]" names no single value`},
		{"dot at the end", "surgery.=x", `"surgery.=x": "" is no key`},
		{"capital letters", "surgery.Day=2027-02-01", `"surgery.Day=2027-02-01": "Day" is no key`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, faults, err := casefile.With("case", data, []string{c.change})
			if err == nil || err.Error() != c.want {
				t.Errorf("got  %v (faults %v)\nwant %s", err, faults, c.want)
			}
		})
	}
}

func TestWithReportsTheFaultsOfTheChangedRecord(t *testing.T) {
	valid := example(t, "case.yaml")
	for _, c := range []struct{ name, data, change, want string }{
		{"wrong word", valid, "graft.material=alograft", "case: sinuses[0].graft.material: \"alograft\"; allowed: autogenous, allograft, xenograft, alloplast, mixture with autogenous, none; did you mean allograft?"},
		{"unknown key below a known one", valid, "surgery.dya=2027-02-01", "case: surgery.dya: unknown key; allowed: day, surgeon, sutures; did you mean day?"},
		{"value left empty", valid, "16.closure=", "case: sinuses[0].implants[0].closure: no value; allowed: submerged, through the gum"},
		{"contradiction", valid, "approach=transcrestal", "case: sinuses[0].window: a window, though the approach is transcrestal; allowed: no window"},
		{"centimetres", valid, "17.residual_bone_mm=0.4 cm", `case: sinuses[0].implants[1].residual_bone_mm: "0.4 cm"; allowed: a number from 0 to 20 mm; write the number alone, in mm: 4`},
		{"none for what must be there", valid, "implants=none", `case: sinuses[0].implants: "none"; allowed: a list of a map of tooth, at_mm, off_midline_mm, residual_bone_mm, length_mm, diameter_mm, placed, insertion_torque_ncm, closure, loading, restoration`},
		{"empty record", "", "case=1", "case:1:1: an empty file"},
		{"record of nothing", "~", "case=1", "case:1:1: no value; allowed: a map of record, case, patient, surgery, sinuses, findings"},
		{"no YAML", "a: [", "case=1", "case:1:1: no YAML: did not find expected node content"},
		{"faulty before the change", strings.Replace(valid, "material: xenograft", "material: sand", 1), "graft.material=allograft", `case:28:17: sinuses[0].graft.material: "sand"; allowed: autogenous, allograft, xenograft, alloplast, mixture with autogenous, none`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, faults, err := casefile.With("case", []byte(c.data), []string{c.change})
			if err != nil || faults.Error() != c.want {
				t.Errorf("got  %v (error %v)\nwant %s", faults, err, c.want)
			}
		})
	}
}

// TestWithKeepsTheRecordsOwnWords changes one thing of a record whose other
// values would read differently once they had been numbers or truths.
func TestWithKeepsTheRecordsOwnWords(t *testing.T) {
	data := spoilt(t, example(t, "case.yaml"),
		spoil{from: "case: HR-2041", to: "case: 007"},
		spoil{from: "name: Nora Fenwick", to: `name: "Null"`},
		spoil{from: "surgeon: Dr Alba Quill", to: "surgeon: True"},
		spoil{from: "restoration: right bridge  #", to: "restoration: 1.10  #"},
		spoil{from: "        restoration: right bridge\n", to: "        restoration: 1.1\n"})
	want, faults := casefile.ReadCase("case", data)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	got, faults, err := casefile.With("case", data, []string{"16.length_mm=10"})
	if err != nil || len(faults) > 0 {
		t.Fatalf("%v\n%v", err, faults)
	}
	if diff := cmp.Diff(want.Case, got.Case, sameDay); diff != "" {
		t.Errorf("case (-read +with):\n%s", diff)
	}
}

func TestWithNamesAMissingImplantList(t *testing.T) {
	valid := example(t, "case.yaml")
	data := spoilt(t, valid,
		spoil{from: "outcome: completed", to: "outcome: aborted"},
		spoil{from: valid[strings.Index(valid, "    widths:"):strings.Index(valid, "findings:")], to: ""})
	if _, _, err := casefile.With("case", data, []string{"length_mm=8"}); err == nil || err.Error() != `"length_mm=8": the record has no implants` {
		t.Errorf("got %v", err)
	}
}
