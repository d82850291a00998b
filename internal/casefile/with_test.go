package casefile_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
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
		{"day added to a list", "", []string{"patient.unavailable+=2027-12-24..2027-12-31"}, func(c *graft.Case) {
			c.Patient.Unavailable = append(c.Patient.Unavailable, day.Span{From: dayOf(t, "2027-12-24"), To: dayOf(t, "2027-12-31")})
		}},
		{"day taken from a list", "", []string{"patient.unavailable-=2027-07-05..2027-07-16"}, func(c *graft.Case) { c.Patient.Unavailable = nil }},
		{"word added and another taken", "", []string{"patient.flags+=anticoagulant", "patient.flags-=smoker"}, func(c *graft.Case) { c.Patient.Flags = []graft.Flag{graft.Anticoagulant} }},
		{"list made", "", []string{"patient.flags=none", "patient.flags+=radiotherapy", "patient.flags[0]=anticoagulant"}, func(c *graft.Case) { c.Patient.Flags = []graft.Flag{graft.Anticoagulant} }},
		{"entry added", "", []string{"findings+={day: 2027-07-20, what: stability, tooth: 16, isq: 71}"}, func(c *graft.Case) {
			c.Observations = []graft.Observation{{Day: dayOf(t, "2027-07-20"), What: graft.Stability, Tooth: 16, ISQ: 71}}
		}},
		{"entry of every sinus added, and one taken", "", []string{"widths+={mm: 15, above_floor_mm: 12}", "widths[0]=none"}, func(c *graft.Case) {
			twelve := 12.0
			c.Sinuses[0].Widths = []graft.Width{c.Sinuses[0].Widths[1], {MM: 15, AboveFloorMM: &twelve}}
		}},
		{"implant away", "", []string{"sinuses[0].implants[0]=none"}, func(c *graft.Case) { c.Sinuses[0].Implants = c.Sinuses[0].Implants[1:] }},
		{"measure away", "what may be absent", []string{"16.off_midline_mm=none", "graft.height_mm=none"}, func(c *graft.Case) {
			c.Sinuses[0].Implants[0].MidlineRecorded, c.Sinuses[0].Graft.HeightMM = false, 0
		}},
		{"none away", "nothing to take away", []string{"sinuses[0].perforation=none", "window=none", "window=none"}, func(c *graft.Case) { c.Sinuses[0].Window = nil }},
		{"an image that shows none", "", []string{"findings+={day: 2027-07-20, what: image, result: unclear, side: right}", "findings[0].shows=none", "findings[0].side=none"}, func(c *graft.Case) {
			c.Observations = []graft.Observation{{Day: dayOf(t, "2027-07-20"), What: graft.Image, Result: graft.Unclear, Shows: "none"}}
		}},
		{"a restoration called none", "a text may say none", []string{"restoration=none"}, func(c *graft.Case) {
			c.Sinuses[0].Implants[0].Restoration, c.Sinuses[0].Implants[1].Restoration = "none", "none"
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
		{"key of a word", "patient.flags[0].x=smoker", `"patient.flags[0].x=smoker": patient.flags[0]: no map stands there`},
		{"key of a list", "sinuses.side=left", `"sinuses.side=left": sinuses: no map stands there`},
		{"flag that is there already", "patient.flags+=smoker", `"patient.flags+=smoker": patient.flags has "smoker" already`},
		{"flag that is not there", "patient.flags-=anticoagulant", `"patient.flags-=anticoagulant": patient.flags has no "anticoagulant"; it has [smoker]`},
		{"day of none", "findings[0].day+=2027-02-01", `"findings[0].day+=2027-02-01": findings[0]: the list has 0 entries, counted from 0`},
		{"no list to add to", "surgery.day+=2027-02-01", `"surgery.day+=2027-02-01": surgery.day is no list`},
		{"no list to take from", "patient.name-=Nora", `"patient.name-=Nora": patient.name is no list`},
		{"entry without its number", "implants-=16", `"implants-=16": take an entry away by its number, counted from 0: sinuses[0].implants[0]=none`},
		{"entry that is no map", "findings+=infection", `"findings+=infection": the entry:1:1: "infection"; allowed: a map of day, what, tooth, isq, side, size_mm, repaired, result, shows, step, for, which`},
		{"entry with a key twice", "findings+={day: 2027-02-01, what: infection, what: infection}", `"findings+={day: 2027-02-01, what: infection, what: infection}": the entry:1:36: what: this key stands on line 1 already; allowed: each key once`},
		{"entry that is no YAML", "findings+={day", `"findings+={day": the entry:1:1: no YAML: did not find expected ',' or '}'`},
		{"two indexes", "sinuses[0][0].side=left", `"sinuses[0][0].side=left": "sinuses[0][0]" is no key`},
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
		{"unknown key below a known one", valid, "surgery.dya=2027-02-01", "case: surgery.dya: unknown key; allowed: day, surgeon, sutures, referrer; did you mean day?"},
		{"value left empty", valid, "16.closure=", "case: sinuses[0].implants[0].closure: no value; allowed: submerged, through the gum"},
		{"contradiction", valid, "approach=transcrestal", "case: sinuses[0].window: a window, though the approach is transcrestal; allowed: no window"},
		{"centimetres", valid, "17.residual_bone_mm=0.4 cm", `case: sinuses[0].implants[1].residual_bone_mm: "0.4 cm"; allowed: a number from 0 to 20 mm; write the number alone, in mm: 4`},
		{"none for what must be there", valid, "implants=none", `case: sinuses[0].implants: missing; allowed: a list of a map of tooth, at_mm, off_midline_mm, residual_bone_mm, length_mm, diameter_mm, placed, insertion_torque_ncm, closure, loading, restoration; needed when the outcome is completed`},
		{"none for a key that has no place for it", valid, "surgery.sutures=none", `case: surgery.sutures: "none"; allowed: removable, resorbable`},
		{"the only sinus away", valid, "sinuses[0]=none", "case: sinuses: 0 items; allowed: at least 1"},
		{"word where a list stands", valid, "patient.flags=smoker", `case: patient.flags: "smoker"; allowed: a list of smoker, controlled diabetes, uncontrolled diabetes, antiresorptive drug, head and neck radiotherapy, positive-pressure mask, anticoagulant`},
		{"faulty entry", valid, "findings+={day: 2027-01-13, what: infection}", "case: findings[0].day: 2027-01-13, before the surgery; allowed: from 2027-01-14 on"},
		{"empty record", "", "case=1", "case:1:1: an empty file"},
		{"record of nothing", "~", "case=1", "case:1:1: no value; allowed: a map of record, case, patient, surgery, sinuses, findings"},
		{"no YAML", "a: [", "case=1", "case:1:1: no YAML: did not find expected node content"},
		{"faulty before the change", strings.Replace(valid, "material: xenograft", "material: sand", 1), "graft.material=allograft", `case:30:17: sinuses[0].graft.material: "sand"; allowed: autogenous, allograft, xenograft, alloplast, mixture with autogenous, none`},
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
