package casefile_test

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"go.yaml.in/yaml/v3"

	"graftclock/internal/casefile"
	"graftclock/internal/table"
)

// spoil is one change to a valid file and every complaint that it must bring.
type spoil struct {
	name, desc string
	from, to   string // text of the valid file, and what stands there instead
	want       string // complaints without the file's name, one a line
}

// example returns a valid file of testdata.
func example(t testing.TB, name string) string {
	t.Helper()
	data, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// spoilt returns the valid file with the changes; each must fit one place.
func spoilt(t *testing.T, valid string, spoils ...spoil) []byte {
	t.Helper()
	for _, s := range spoils {
		if n := strings.Count(valid, s.from); n != 1 {
			t.Fatalf("%s: %q stands in %d places of the file, want 1", s.name, s.from, n)
		}
		valid = strings.Replace(valid, s.from, s.to, 1)
	}
	return []byte(valid)
}

// complaints returns the faults as text, without the file's name.
func complaints(file string, faults table.Faults) []string {
	var list []string
	for _, f := range faults {
		list = append(list, strings.TrimPrefix(f.String(), file+":"))
	}
	return list
}

// recordSpoils spoil one thing each of testdata/case.yaml.
var recordSpoils = []spoil{
	{"unknown key", "one letter short; the key it was meant for is then missing too",
		"surgeon: Dr Alba Quill", "surgon: Dr Alba Quill",
		`14:3: surgery.surgeon: missing; allowed: one line of text` + "\n" +
			`15:3: surgery.surgon: unknown key; allowed: day, surgeon, sutures, referrer; did you mean surgeon?`},
	{"duplicate key", "the second would win silently",
		"  sutures: removable  ", "  sutures: removable\n  sutures: resorbable  ",
		`17:3: surgery.sutures: this key stands on line 16 already; allowed: each key once`},
	{"wrong format version", "a record of a later program",
		"record: 1  ", "record: 2  ",
		`2:9: record: 2; allowed: 1`},
	{"case number that no address can name", "a browser takes it for the folder",
		"case: HR-2041 ", "case: . ",
		`3:7: case: ".", which no address of a page can name; allowed: any other line of text, such as HR-2041`},
	{"case number that leads up", "in quotation marks too",
		"case: HR-2041 ", `case: ".." `,
		`3:7: case: "..", which no address of a page can name; allowed: any other line of text, such as HR-2041`},
	{"case number of a stroke", "it leaves nothing of its part of an address",
		"case: HR-2041 ", "case: / ",
		`3:7: case: "/", which no address of a page can name; allowed: any other line of text, such as HR-2041`},
	{"language by name", "a word where a tag is wanted",
		"language: en ", "language: english ",
		`6:13: patient.language: "english" is no language tag: want one such as en or pt-BR (BCP 47)`},
	{"capital letter", "words are lower case",
		"print: normal", "print: Large",
		`7:10: patient.print: "Large"; allowed: normal, large; did you mean large?`},
	{"calendar detail missing", "privacy has no default",
		"  calendar_detail: neutral ", "  #",
		`5:3: patient.calendar_detail: missing; allowed: neutral, plain`},
	{"span backwards and a day that does not exist", "two faults in one list",
		"[2027-07-05..2027-07-16]", "[2027-07-16..2027-07-05, 2027-02-30]",
		`9:17: patient.unavailable[0]: "2027-07-16..2027-07-05" ends before it starts` + "\n" +
			`9:41: patient.unavailable[1]: "2027-02-30" is no day: February 2027 has 28 days`},
	{"flags", "one near miss and one that is not near",
		"[smoker]", "[smokr, diabetes]",
		`10:11: patient.flags[0]: "smokr"; allowed: smoker, controlled diabetes, uncontrolled diabetes, antiresorptive drug, head and neck radiotherapy, positive-pressure mask, anticoagulant; did you mean smoker?` + "\n" +
			`10:18: patient.flags[1]: "diabetes"; allowed: smoker, controlled diabetes, uncontrolled diabetes, antiresorptive drug, head and neck radiotherapy, positive-pressure mask, anticoagulant`},
	{"telephone number with whose it is", "only what is dialled",
		"phone: +353 1 555 0141", "phone: +353 1 555 0141 (daughter)",
		`11:10: patient.phone: "+353 1 555 0141 (daughter)" is no telephone number: it has 'd'; want digits, blanks and + - ( ) / alone`},
	{"telephone number without value", "an empty field of a form",
		"phone: +353 1 555 0141", "phone:",
		`11:9: patient.phone: no value; allowed: a telephone number such as +353 1 555 0100`},
	{"e-mail without the day of the choice", "no choice without its day",
		"agreed: 2027-01-12, ", "",
		`12:9: patient.mail.agreed: missing; allowed: a day as YYYY-MM-DD`},
	{"e-mail without its address", "",
		"address: nora.fenwick@example.org, ", "",
		`12:9: patient.mail.address: missing; allowed: an e-mail address such as name@example.org`},
	{"e-mail without a word on the letter", "privacy has no default",
		", letter: true}", "}",
		`12:9: patient.mail.letter: missing; allowed: true or false`},
	{"e-mail address alone", "who agreed to what, and when, is part of it",
		"mail: {address: nora.fenwick@example.org, agreed: 2027-01-12, letter: true}", "mail: nora.fenwick@example.org",
		`12:9: patient.mail: "nora.fenwick@example.org"; allowed: a map of address, agreed, letter`},
	{"e-mail without value", "an empty field of a form",
		"mail: {address: nora.fenwick@example.org, agreed: 2027-01-12, letter: true}", "mail:",
		`12:8: patient.mail: no value; allowed: a map of address, agreed, letter`},
	{"e-mail address with a name, letter as yes, and no such day", "three faults in one group",
		"{address: nora.fenwick@example.org, agreed: 2027-01-12, letter: true}", "{address: Nora <nora@example.org>, agreed: 2027-02-29, letter: yes}",
		`12:19: patient.mail.address: "Nora <nora@example.org>" is no e-mail address: want the address alone, nora@example.org` + "\n" +
			`12:52: patient.mail.agreed: "2027-02-29" is no day: February 2027 has 28 days` + "\n" +
			`12:72: patient.mail.letter: "yes"; allowed: true or false`},
	{"e-mail address that looks right", "its first o is Cyrillic",
		"nora.fenwick@example.org", "n\u043era.fenwick@example.org",
		`12:19: patient.mail.address: "nоra.fenwick@example.org" is no e-mail address: its 'о' is U+043E, outside ASCII; want one such as name@example.org`},
	{"e-mail address on two lines", "it would be a line of a message's head",
		"nora.fenwick@example.org", `"nora@example.org\nBcc: ida@example.org"`,
		`12:19: patient.mail.address: a line break or control character (U+000A) in "nora@example.org\nBcc: ida@example.org"; allowed: one line of text`},
	{"e-mail address of 300 characters", "",
		"nora.fenwick@example.org", strings.Repeat("x", 288) + "@example.org",
		`12:19: patient.mail.address: 300 characters; allowed: at most 254`},
	{"key of the e-mail misspelt", "",
		"agreed: 2027-01-12", "agred: 2027-01-12",
		`12:9: patient.mail.agreed: missing; allowed: a day as YYYY-MM-DD` + "\n" +
			`12:45: patient.mail.agred: unknown key; allowed: address, agreed, letter; did you mean agreed?`},
	{"29 February of a common year", "",
		"day: 2027-01-14", "day: 2027-02-29",
		`14:8: surgery.day: "2027-02-29" is no day: February 2027 has 28 days`},
	{"day first", "",
		"day: 2027-01-14", "day: 14.01.2027",
		`14:8: surgery.day: "14.01.2027" is no day: want YYYY-MM-DD, such as 2027-01-14`},
	{"two-digit year", "the wrong century is one slip away",
		"day: 2027-01-14", "day: 27-01-14",
		`14:8: surgery.day: "27-01-14" is no day: want YYYY-MM-DD, such as 2027-01-14`},
	{"day with a time", "a surgery day has no zone",
		"day: 2027-01-14", "day: 2027-01-14T08:30:00Z",
		`14:8: surgery.day: "2027-01-14T08:30:00Z" is no day: want YYYY-MM-DD, such as 2027-01-14`},
	{"side missing", "",
		"  - side: right ", "  -",
		`19:5: sinuses[0].side: missing; allowed: right, left`},
	{"side misspelt", "the teeth are not blamed for it",
		"side: right  ", "side: rigth  ",
		`18:11: sinuses[0].side: "rigth"; allowed: right, left; did you mean right?`},
	{"health unknown word", "",
		"health: clear ", "health: good ",
		`19:13: sinuses[0].health: "good"; allowed: clear, treated and clear, not clear, not assessed`},
	{"technique missing", "no default: a window changes the dates",
		"    approach: lateral window ", "    #",
		`18:5: sinuses[0].approach: missing; allowed: lateral window, transcrestal`},
	{"technique misspelt", "",
		"approach: lateral window", "approach: lateral-windw",
		`20:15: sinuses[0].approach: "lateral-windw"; allowed: lateral window, transcrestal; did you mean lateral window?`},
	{"outcome missing", "",
		"    outcome: completed ", "    #",
		`18:5: sinuses[0].outcome: missing; allowed: completed, aborted`},
	{"perforation missing", "none must be written",
		"    perforation: none ", "    #",
		`18:5: sinuses[0].perforation: missing; allowed: none, or a map of size_mm, repaired`},
	{"perforation without value", "",
		"perforation: none ", "perforation: ",
		`22:17: sinuses[0].perforation: no value; allowed: none, or a map of size_mm, repaired`},
	{"perforation as yes", "a word of neither kind",
		"perforation: none", "perforation: yes",
		`22:18: sinuses[0].perforation: "yes"; allowed: none, or a map of size_mm, repaired`},
	{"perforation near miss", "",
		"perforation: none", "perforation: nine",
		`22:18: sinuses[0].perforation: "nine"; allowed: none, or a map of size_mm, repaired; did you mean none?`},
	{"perforation half told", "",
		"perforation: none", "perforation: {size_mm: 3}",
		`22:18: sinuses[0].perforation.repaired: missing; allowed: true or false`},
	{"perforation too large, repair in words", "",
		"perforation: none", "perforation: {size_mm: 50, repaired: maybe}",
		`22:28: sinuses[0].perforation.size_mm: 50 mm; allowed: a number from 0.1 to 39 mm; did you mean 5? lengths are in millimetres` + "\n" +
			`22:42: sinuses[0].perforation.repaired: "maybe"; allowed: true or false`},
	{"aborted with an implant in place", "an implant cannot stand in a graft that was not made",
		"outcome: completed", "outcome: aborted",
		`40:17: sinuses[0].implants[0].placed: an implant placed with the graft, though the lift was aborted; allowed: later` + "\n" +
			`51:17: sinuses[0].implants[1].placed: an implant placed with the graft, though the lift was aborted; allowed: later`},
	{"completed without graft", "",
		"    graft:\n      material: xenograft          # autogenous | allograft | xenograft | alloplast | mixture with autogenous | none\n      additive: none               # none | platelet-rich fibrin | rhPDGF-BB | rhBMP-2\n      height_mm: 13                # top of the graft above the floor\n", "",
		`18:5: sinuses[0].graft: missing; allowed: a map of material, additive, height_mm; needed when the outcome is completed`},
	{"completed without widths", "",
		"    widths:                        # bucco-palatal, wall to wall, on the scan; one or more levels, each with its level\n      - {mm: 12.5, above_floor_mm: 4}\n      - {mm: 14.0, above_floor_mm: 9}\n", "",
		`18:5: sinuses[0].widths: missing; allowed: a list of a map of mm, above_floor_mm, above_crest_mm; needed when the outcome is completed`},
	{"no widths in the list", "",
		"    widths:                        # bucco-palatal, wall to wall, on the scan; one or more levels, each with its level\n      - {mm: 12.5, above_floor_mm: 4}\n      - {mm: 14.0, above_floor_mm: 9}\n", "    widths: []\n",
		`23:13: sinuses[0].widths: 0 items; allowed: at least 1`},
	{"width without level", "ambiguous by a factor of two",
		"{mm: 12.5, above_floor_mm: 4}", "{mm: 12.5}",
		`24:9: sinuses[0].widths[0]: a width without its level; allowed: above_floor_mm or above_crest_mm; the same sinus is twice as wide a few millimetres higher`},
	{"width with two levels", "",
		"{mm: 12.5, above_floor_mm: 4}", "{mm: 12.5, above_floor_mm: 4, above_crest_mm: 8}",
		`24:9: sinuses[0].widths[0]: two levels for one width; allowed: above_floor_mm or above_crest_mm`},
	{"two widths at one level", "9.0 and 9 are the same level",
		"{mm: 12.5, above_floor_mm: 4}", "{mm: 12.5, above_floor_mm: 9.0}",
		`25:9: sinuses[0].widths[1]: a second width at the same level; allowed: each level once`},
	{"width in centimetres", "",
		"{mm: 12.5, above_floor_mm: 4}", "{mm: 1.4, above_floor_mm: 4}",
		`24:14: sinuses[0].widths[0].mm: 1.4 mm; allowed: a number from 2 to 39 mm; did you mean 14? lengths are in millimetres`},
	{"width with a decimal comma", "in a flow map the comma starts a new key",
		"{mm: 12.5, above_floor_mm: 4}", "{mm: 12,5, above_floor_mm: 4}",
		`24:17: sinuses[0].widths[0].5: unknown key; allowed: mm, above_floor_mm, above_crest_mm`},
	{"window too narrow to exist", "",
		"to_mm: 14,", "to_mm: 5,",
		`26:33: sinuses[0].window.to_mm: 5 mm; allowed: more than from_mm, 5 mm`},
	{"window backwards", "",
		"to_mm: 14,", "to_mm: 4,",
		`26:33: sinuses[0].window.to_mm: 4 mm; allowed: more than from_mm, 5 mm`},
	{"window in front of the front wall", "",
		"from_mm: 5,", "from_mm: -1,",
		`26:23: sinuses[0].window.from_mm: a window that starts outside the wall, at -1 mm; allowed: from the front wall on, 0 mm`},
	{"window above the sinus", "the upper edge is the sum of two numbers",
		"lower_edge_above_floor_mm: 3,", "lower_edge_above_floor_mm: 34,",
		`26:79: sinuses[0].window.height_mm: a window that ends outside the wall, 41 mm above the floor; allowed: an upper edge at 40 mm at most`},
	{"window with a transcrestal approach", "",
		"approach: lateral window", "approach: transcrestal",
		`26:13: sinuses[0].window: a window, though the approach is transcrestal; allowed: no window`},
	{"window without its lid", "a lid that was put back counts as wall",
		", lid: removed}", "}",
		`26:13: sinuses[0].window.lid: missing; allowed: removed, repositioned`},
	{"front wall behind an implant", "both the window and the implant stand in front of it",
		"anterior_wall_at_mm: 0 ", "anterior_wall_at_mm: 9.5 ",
		`26:23: sinuses[0].window.from_mm: a window that starts outside the wall, at 5 mm; allowed: from the front wall on, 9.5 mm` + "\n" +
			`35:16: sinuses[0].implants[0].at_mm: an implant outside the sinus, at 9.5 mm; allowed: behind the front wall, more than 9.5 mm`},
	{"septum without height", "",
		"{at_mm: 22, height_mm: 4}", "{at_mm: 22}",
		`28:13: sinuses[0].septa[0].height_mm: missing; allowed: a number from 0.1 to 35 mm`},
	{"material missing", "no default",
		"      material: xenograft ", "      #",
		`31:7: sinuses[0].graft.material: missing; allowed: autogenous, allograft, xenograft, alloplast, mixture with autogenous, none`},
	{"material without value", "",
		"material: xenograft ", "material: ",
		`30:16: sinuses[0].graft.material: no value; allowed: autogenous, allograft, xenograft, alloplast, mixture with autogenous, none`},
	{"material misspelt", "",
		"material: xenograft", "material: alograft",
		`30:17: sinuses[0].graft.material: "alograft"; allowed: autogenous, allograft, xenograft, alloplast, mixture with autogenous, none; did you mean allograft?`},
	{"additive missing", "none must be written",
		"      additive: none ", "      #",
		`30:7: sinuses[0].graft.additive: missing; allowed: none, platelet-rich fibrin, rhPDGF-BB, rhBMP-2`},
	{"additive by its initials", "",
		"additive: none", "additive: PRF",
		`31:17: sinuses[0].graft.additive: "PRF"; allowed: none, platelet-rich fibrin, rhPDGF-BB, rhBMP-2`},
	{"additive in small letters", "",
		"additive: none", "additive: rhpdgf bb",
		`31:17: sinuses[0].graft.additive: "rhpdgf bb"; allowed: none, platelet-rich fibrin, rhPDGF-BB, rhBMP-2; did you mean rhPDGF-BB?`},
	{"graft ten times too high", "the decimal point is missing",
		"height_mm: 13 ", "height_mm: 130 ",
		`32:18: sinuses[0].graft.height_mm: 130 mm; allowed: a number from 1 to 30 mm; did you mean 13? lengths are in millimetres`},
	{"tooth of the lower jaw", "",
		"- tooth: 16 ", "- tooth: 46 ",
		`34:16: sinuses[0].implants[0].tooth: 46; allowed: 14, 15, 16, 17, 18, 24, 25, 26, 27, 28`},
	{"tooth between two codes", "",
		"- tooth: 16 ", "- tooth: 19 ",
		`34:16: sinuses[0].implants[0].tooth: 19; allowed: 14, 15, 16, 17, 18, 24, 25, 26, 27, 28`},
	{"front tooth", "",
		"- tooth: 16 ", "- tooth: 13 ",
		`34:16: sinuses[0].implants[0].tooth: 13; allowed: 14, 15, 16, 17, 18, 24, 25, 26, 27, 28`},
	{"tooth that is no whole number", "",
		"- tooth: 16 ", "- tooth: 16.5 ",
		`34:16: sinuses[0].implants[0].tooth: 16.5; allowed: 14, 15, 16, 17, 18, 24, 25, 26, 27, 28`},
	{"tooth on the wrong side", "its order along the arch still fits",
		"- tooth: 16 ", "- tooth: 26 ",
		`34:16: sinuses[0].implants[0].tooth: tooth 26 in the right sinus; allowed: a tooth of the same side; did you mean 16?`},
	{"same tooth twice", "",
		"- tooth: 17", "- tooth: 16",
		`45:16: sinuses[0].implants[1].tooth: a second implant at tooth 16; allowed: each tooth once`},
	{"same tooth twice in other digits", "",
		"- tooth: 17", "- tooth: 16.0",
		`45:16: sinuses[0].implants[1].tooth: a second implant at tooth 16; allowed: each tooth once`},
	{"implants that overlap", "",
		"at_mm: 17.0", "at_mm: 13.0",
		`46:16: sinuses[0].implants[1].at_mm: implants 16 and 17 overlap: their axes stand 3.6 mm apart; allowed: at least 4.4 mm`},
	{"teeth in the wrong order along the arch", "",
		"at_mm: 17.0", "at_mm: 5.0",
		`46:16: sinuses[0].implants[1].at_mm: tooth 16 at 9.5 mm, tooth 17 at 5 mm; allowed: at_mm that grows towards the back, as teeth do`},
	{"a faulty tooth is not compared", "the order of an unknown tooth is nobody's fault",
		"- tooth: 17\n        at_mm: 17.0", "- tooth: 71\n        at_mm: 2.0",
		`45:16: sinuses[0].implants[1].tooth: 71; allowed: 14, 15, 16, 17, 18, 24, 25, 26, 27, 28`},
	{"place missing beside a second implant", "",
		"        at_mm: 17.0\n", "",
		`45:9: sinuses[0].implants[1].at_mm: missing; allowed: a number from -100 to 100 mm; needed with a second implant`},
	{"implant in front of the front wall", "",
		"at_mm: 9.5", "at_mm: -1",
		`35:16: sinuses[0].implants[0].at_mm: an implant outside the sinus, at -1 mm; allowed: behind the front wall, more than 0 mm`},
	{"implant in the lateral wall", "half of the widest level",
		"off_midline_mm: 1\n", "off_midline_mm: 7\n",
		`47:25: sinuses[0].implants[1].off_midline_mm: an implant outside the sinus, 7 mm off the mid-line; allowed: less than half the width, 7 mm`},
	{"implant in the palatal wall", "",
		"off_midline_mm: 1\n", "off_midline_mm: -7.5\n",
		`47:25: sinuses[0].implants[1].off_midline_mm: an implant outside the sinus, -7.5 mm off the mid-line; allowed: less than half the width, 7 mm`},
	{"residual bone missing", "no default",
		"        residual_bone_mm: 4\n", "\n",
		`34:9: sinuses[0].implants[0].residual_bone_mm: missing; allowed: a number from 0 to 20 mm`},
	{"residual bone in the wrong unit", "",
		"residual_bone_mm: 4\n", "residual_bone_mm: 40\n",
		`37:27: sinuses[0].implants[0].residual_bone_mm: 40 mm; allowed: a number from 0 to 20 mm; did you mean 4? lengths are in millimetres`},
	{"residual bone with its unit", "",
		"residual_bone_mm: 4\n", "residual_bone_mm: 4 mm\n",
		`37:27: sinuses[0].implants[0].residual_bone_mm: "4 mm"; allowed: a number from 0 to 20 mm; write the number alone, in mm: 4`},
	{"residual bone in written centimetres", "",
		"residual_bone_mm: 4\n", "residual_bone_mm: 0.4 cm\n",
		`37:27: sinuses[0].implants[0].residual_bone_mm: "0.4 cm"; allowed: a number from 0 to 20 mm; write the number alone, in mm: 4`},
	{"residual bone with another unit", "",
		"residual_bone_mm: 4\n", "residual_bone_mm: 4 Ncm\n",
		`37:27: sinuses[0].implants[0].residual_bone_mm: "4 Ncm"; allowed: a number from 0 to 20 mm; write the number alone, without a unit`},
	{"decimal comma", "",
		"residual_bone_mm: 4\n", "residual_bone_mm: 4,5\n",
		`37:27: sinuses[0].implants[0].residual_bone_mm: "4,5"; allowed: a number from 0 to 20 mm; write a decimal point: 4.5`},
	{"decimal comma and unit", "",
		"residual_bone_mm: 4\n", "residual_bone_mm: 0,57cm\n",
		`37:27: sinuses[0].implants[0].residual_bone_mm: "0,57cm"; allowed: a number from 0 to 20 mm; write the number alone, in mm: 5.7`},
	{"quoted number", "",
		"residual_bone_mm: 4\n", "residual_bone_mm: \"4\"\n",
		`37:27: sinuses[0].implants[0].residual_bone_mm: "4"; allowed: a number from 0 to 20 mm; write it without quotation marks: 4`},
	{"number in words", "",
		"residual_bone_mm: 4\n", "residual_bone_mm: four\n",
		`37:27: sinuses[0].implants[0].residual_bone_mm: "four"; allowed: a number from 0 to 20 mm`},
	{"negative length", "",
		"residual_bone_mm: 4\n", "residual_bone_mm: -4\n",
		`37:27: sinuses[0].implants[0].residual_bone_mm: -4 mm; allowed: a number from 0 to 20 mm`},
	{"a list for a number", "",
		"residual_bone_mm: 4\n", "residual_bone_mm: [4]\n",
		`37:27: sinuses[0].implants[0].residual_bone_mm: a list; allowed: a number from 0 to 20 mm`},
	{"implant length in centimetres", "",
		"length_mm: 10\n        diameter_mm: 4.1", "length_mm: 1.0\n        diameter_mm: 4.1",
		`38:20: sinuses[0].implants[0].length_mm: 1.0 mm; allowed: a number from 4 to 20 mm; did you mean 10? lengths are in millimetres`},
	{"implant diameter without its point", "",
		"diameter_mm: 4.1", "diameter_mm: 41",
		`39:22: sinuses[0].implants[0].diameter_mm: 41 mm; allowed: a number from 2.5 to 8 mm; did you mean 4.1? lengths are in millimetres`},
	{"placement missing", "no default",
		"        placed: with the graft     #", "        #",
		`34:9: sinuses[0].implants[0].placed: missing; allowed: with the graft, later`},
	{"placement near miss", "",
		"placed: with the graft     #", "placed: with graft     #",
		`40:17: sinuses[0].implants[0].placed: "with graft"; allowed: with the graft, later; did you mean with the graft?`},
	{"torque missing", "",
		"        insertion_torque_ncm: 20\n", "",
		`45:9: sinuses[0].implants[1].insertion_torque_ncm: missing; allowed: a number from 0 to 100 Ncm, or not yet; needed when placed with the graft`},
	{"torque without value", "an empty field of a form",
		"insertion_torque_ncm: 20\n", "insertion_torque_ncm:\n",
		`52:30: sinuses[0].implants[1].insertion_torque_ncm: no value; allowed: a number from 0 to 100 Ncm, or not yet`},
	{"torque too high", "",
		"insertion_torque_ncm: 20\n", "insertion_torque_ncm: 300\n",
		`52:31: sinuses[0].implants[1].insertion_torque_ncm: "300"; allowed: a number from 0 to 100 Ncm, or not yet`},
	{"torque with its unit", "",
		"insertion_torque_ncm: 20\n", "insertion_torque_ncm: 20 Ncm\n",
		`52:31: sinuses[0].implants[1].insertion_torque_ncm: "20 Ncm"; allowed: a number from 0 to 100 Ncm, or not yet; write the number alone, in Ncm: 20`},
	{"torque near miss of a word", "",
		"insertion_torque_ncm: 20\n", "insertion_torque_ncm: notyet\n",
		`52:31: sinuses[0].implants[1].insertion_torque_ncm: "notyet"; allowed: a number from 0 to 100 Ncm, or not yet; did you mean not yet?`},
	{"closure missing", "no default",
		"        closure: submerged         #", "        #",
		`34:9: sinuses[0].implants[0].closure: missing; allowed: submerged, through the gum`},
	{"closure misspelt", "",
		"closure: submerged         #", "closure: sumberged #",
		`42:18: sinuses[0].implants[0].closure: "sumberged"; allowed: submerged, through the gum; did you mean submerged?`},
	{"loading missing", "",
		"        loading: protected         #", "        #",
		`34:9: sinuses[0].implants[0].loading: missing; allowed: protected, not protected; needed when placed with the graft`},
	{"loading as yes", "",
		"loading: protected         #", "loading: yes #",
		`43:18: sinuses[0].implants[0].loading: "yes"; allowed: protected, not protected`},
	{"restoration missing", "",
		"        restoration: right bridge  #", "        #",
		`34:9: sinuses[0].implants[0].restoration: missing; allowed: one line of text`},
	{"restoration blank", "",
		"restoration: right bridge  #", `restoration: " " #`,
		`44:22: sinuses[0].implants[0].restoration: blank text; allowed: one line of text`},
	{"second entry for a side", "",
		"findings: []", "  - {side: right, health: clear, approach: transcrestal, outcome: aborted, perforation: none}\nfindings: []",
		`56:12: sinuses[1].side: a second entry for the right sinus; allowed: each side once`},
	{"finding before the surgery", "",
		"findings: []", "findings: [{day: 2027-01-13, what: infection}]",
		`56:18: findings[0].day: 2027-01-13, before the surgery; allowed: from 2027-01-14 on`},
	{"finding with a key of another kind", "a stability that came with an infection would be lost",
		"findings: []", "findings: [{day: 2027-05-13, what: infection, tooth: 16, isq: 55}]",
		`56:54: findings[0].tooth: tooth says nothing of infection; allowed: side` + "\n" +
			`56:63: findings[0].isq: isq says nothing of infection; allowed: side`},
	{"level below the floor", "3 mm above the crest lies in the 4 mm of residual bone",
		"{mm: 12.5, above_floor_mm: 4}", "{mm: 12.5, above_crest_mm: 3}",
		`24:36: sinuses[0].widths[0].above_crest_mm: 3 mm above the crest, which is below the sinus floor; allowed: at least the residual bone, 4 mm at tooth 16`},
	{"letters turned round", "a direction mark in a name hides what it says",
		"name: Nora Fenwick ", "name: Nora \u202eFenwick ",
		`5:9: patient.name: a line break or control character (U+202E) in "Nora \u202eFenwick"; allowed: one line of text`},
	{"finding of an unknown kind", "",
		"findings: []", "findings: [{day: 2027-05-13, what: swelling}]",
		`56:36: findings[0].what: "swelling"; allowed: stability, infection, graft removed, perforation, image, attended, left out`},
	{"stability without its measurement", "",
		"findings: []", "findings: [{day: 2027-05-13, what: stability}]",
		`56:12: findings[0].tooth: missing; allowed: 14, 15, 16, 17, 18, 24, 25, 26, 27, 28; needed for stability` + "\n" +
			`56:12: findings[0].isq: missing; allowed: a whole number from 1 to 100; needed for stability`},
	{"attended without its step", "",
		"findings: []", "findings: [{day: 2027-05-13, what: attended}]",
		`56:12: findings[0].step: missing; allowed: phone-call, wound-check, late-check, healing-review, imaging-decision, placement, uncovering, impression, first-loading, definitive-restoration, recall, re-entry; needed for attended`},
	{"attended with half a step", "",
		"findings: []", "findings: [{day: 2027-05-13, what: attended, step: uncover}]",
		`56:52: findings[0].step: "uncover"; allowed: phone-call, wound-check, late-check, healing-review, imaging-decision, placement, uncovering, impression, first-loading, definitive-restoration, recall, re-entry; did you mean uncovering?`},
	{"finding of an absent side", "",
		"findings: []", "findings: [{day: 2027-05-13, what: graft removed, side: left}]",
		`56:57: findings[0].side: the left sinus, which is not in the record; allowed: a side of sinuses`},
	{"finding of an absent tooth", "",
		"findings: []", "findings: [{day: 2027-05-13, what: stability, tooth: 15, isq: 72}]",
		`56:54: findings[0].tooth: 15, which has no implant in the record; allowed: a tooth of implants`},
	{"finding of an absent restoration", "",
		"findings: []", "findings: [{day: 2027-05-13, what: attended, step: uncovering, for: left crown}]",
		`56:69: findings[0].for: "left crown", which is no restoration of the record; allowed: a restoration of implants`},
	{"infection of either of two sinuses", "",
		"findings: []", "  - {side: left, health: clear, approach: transcrestal, outcome: aborted, perforation: none}\nfindings: [{day: 2027-05-13, what: infection}, {day: 2027-05-14, what: graft removed}]",
		`57:12: findings[0].side: missing; allowed: right, left; needed for infection` + "\n" +
			`57:48: findings[1].side: missing; allowed: right, left; needed for graft removed`},
	{"late perforation without its measure", "",
		"findings: []", "findings: [{day: 2027-02-13, what: perforation}]",
		`56:12: findings[0].size_mm: missing; allowed: a number from 0.1 to 39 mm; needed for perforation` + "\n" +
			`56:12: findings[0].repaired: missing; allowed: true or false; needed for perforation`},
	{"late perforation in centimetres, repair in words", "",
		"findings: []", "findings: [{day: 2027-02-13, what: perforation, size_mm: 0.4 cm, repaired: yes}]",
		`56:58: findings[0].size_mm: "0.4 cm"; allowed: a number from 0.1 to 39 mm; write the number alone, in mm: 4` + "\n" +
			`56:76: findings[0].repaired: "yes"; allowed: true or false`},
	{"late perforation without its point", "",
		"findings: []", "findings: [{day: 2027-02-13, what: perforation, size_mm: 40, repaired: true}]",
		`56:58: findings[0].size_mm: 40 mm; allowed: a number from 0.1 to 39 mm; did you mean 4? lengths are in millimetres`},
	{"late perforation of either of two sinuses", "",
		"findings: []", "  - {side: left, health: clear, approach: transcrestal, outcome: aborted, perforation: none}\nfindings: [{day: 2027-02-13, what: perforation, size_mm: 4, repaired: true}]",
		`57:12: findings[0].side: missing; allowed: right, left; needed for perforation`},
	{"late perforation with keys of another kind", "",
		"findings: []", "findings: [{day: 2027-02-13, what: perforation, size_mm: 4, repaired: true, result: unclear, tooth: 16}]",
		`56:85: findings[0].result: result says nothing of perforation; allowed: size_mm, repaired, side` + "\n" +
			`56:101: findings[0].tooth: tooth says nothing of perforation; allowed: size_mm, repaired, side`},
	{"image without its result", "",
		"findings: []", "findings: [{day: 2027-07-01, what: image, shows: a shadow}]",
		`56:12: findings[0].result: missing; allowed: as expected, unclear, not as expected; needed for image`},
	{"image with a result of its own words", "",
		"findings: []", "findings: [{day: 2027-07-01, what: image, result: not expected}]",
		`56:51: findings[0].result: "not expected"; allowed: as expected, unclear, not as expected; did you mean not as expected?`},
	{"image told on two lines", "",
		"findings: []", `findings: [{day: 2027-07-01, what: image, result: unclear, shows: "a shadow\nat 16"}]`,
		`56:67: findings[0].shows: a line break or control character (U+000A) in "a shadow\nat 16"; allowed: one line of text`},
	{"image of an absent side", "",
		"findings: []", "findings: [{day: 2027-07-01, what: image, result: unclear, side: left}]",
		`56:66: findings[0].side: the left sinus, which is not in the record; allowed: a side of sinuses`},
	{"image with keys of another kind", "",
		"findings: []", "findings: [{day: 2027-07-01, what: image, result: unclear, size_mm: 4, isq: 71}]",
		`56:69: findings[0].size_mm: size_mm says nothing of image; allowed: result, side, shows` + "\n" +
			`56:77: findings[0].isq: isq says nothing of image; allowed: result, side, shows`},
	{"infection with a size", "",
		"findings: []", "findings: [{day: 2027-02-13, what: infection, size_mm: 4}]",
		`56:56: findings[0].size_mm: size_mm says nothing of infection; allowed: side`},
	{"stability out of range", "",
		"findings: []", "findings: [{day: 2027-05-13, what: stability, tooth: 16, isq: 720}]",
		`56:63: findings[0].isq: 720; allowed: a whole number from 1 to 100`},
	{"findings as a map", "",
		"findings: []", "findings: {day: 2027-05-13}",
		`56:11: findings: a map; allowed: a list of a map of day, what, tooth, isq, side, size_mm, repaired, result, shows, step, for, which`},
	{"no sinus at all", "everything under it hangs in the air",
		"sinuses:\n", "sinuses: []\nunknown:\n",
		`17:10: sinuses: 0 items; allowed: at least 1` + "\n" +
			`18:1: unknown: unknown key; allowed: record, case, patient, surgery, sinuses, findings`},
}

func TestSpoiltRecordIsRefusedWithItsPlace(t *testing.T) {
	valid := example(t, "case.yaml")
	for _, s := range recordSpoils {
		t.Run(s.name, func(t *testing.T) {
			_, faults := casefile.ReadCase("case.yaml", spoilt(t, valid, s))
			if diff := cmp.Diff(strings.Split(s.want, "\n"), complaints("case.yaml", faults)); diff != "" {
				t.Errorf("%s (-want +got):\n%s", s.desc, diff)
			}
		})
	}
}

// TestEveryFaultOfARecordInOneRun spoils many things at once, of the shape and
// between fields, and wants the complaints of each, sorted by place.
func TestEveryFaultOfARecordInOneRun(t *testing.T) {
	names := []string{
		"language by name", "capital letter", "flags", "29 February of a common year", "side misspelt", "health unknown word",
		"perforation half told", "width without level", "window in front of the front wall", "material misspelt", "additive in small letters",
		"front tooth", "decimal comma", "placement near miss", "closure misspelt", "loading as yes", "same tooth twice",
		"implant in the lateral wall", "torque with its unit", "finding of an unknown kind",
	}
	// The first tooth is faulty too, so no tooth stands twice.
	chosen, want := allOf(t, recordSpoils, names, "a second implant")
	_, faults := casefile.ReadCase("case.yaml", spoilt(t, example(t, "case.yaml"), chosen...))
	if diff := cmp.Diff(want, complaints("case.yaml", faults)); diff != "" {
		t.Errorf("complaints (-want +got):\n%s", diff)
	}
}

// allOf returns the named spoils and all their complaints in the order of the
// file, less those that another spoil makes void.
func allOf(t *testing.T, spoils []spoil, names []string, void string) (chosen []spoil, want []string) {
	t.Helper()
	for _, s := range spoils {
		if slices.Contains(names, s.name) {
			chosen = append(chosen, s)
			want = append(want, strings.Split(s.want, "\n")...)
		}
	}
	if len(chosen) != len(names) {
		t.Fatalf("%d of %d spoils found", len(chosen), len(names))
	}
	place := func(complaint string) []int {
		var line, column int
		if _, err := fmt.Sscanf(complaint, "%d:%d:", &line, &column); err != nil {
			t.Fatalf("%q has no place: %v", complaint, err)
		}
		return []int{line, column}
	}
	slices.SortStableFunc(want, func(a, b string) int { return slices.Compare(place(a), place(b)) })
	return chosen, slices.DeleteFunc(want, func(w string) bool { return strings.Contains(w, void) })
}

// formless names the spoils that only text can hold: a form has each key once
// and knows no quotation marks.
var formless = []string{"duplicate key", "quoted number"}

// TestSpoiltFormIsRefusedInTheSameWords reads every spoilt record once more, as
// the fields of a form: all scalars are text.
func TestSpoiltFormIsRefusedInTheSameWords(t *testing.T) {
	valid := example(t, "case.yaml")
	for _, s := range recordSpoils {
		if slices.Contains(formless, s.name) {
			continue
		}
		t.Run(s.name, func(t *testing.T) {
			data := spoilt(t, valid, s)
			_, want := casefile.ReadCase("case", data)
			_, got := casefile.CaseOf("case", decoded(t, data, inWords))
			if diff := cmp.Diff(withoutPlaces(want), withoutPlaces(got)); diff != "" {
				t.Errorf("complaints of file and form (-file +form):\n%s", diff)
			}
		})
	}
}

// withoutPlaces returns the faults as text without lines, in alphabetical order.
func withoutPlaces(faults table.Faults) []string {
	var list []string
	for _, f := range faults {
		f.Line, f.Column = 0, 0
		list = append(list, f.String())
	}
	slices.Sort(list)
	return list
}

// decoded returns YAML as maps, lists and scalars, each made by the function.
func decoded(t testing.TB, data []byte, scalar func(*yaml.Node) any) any {
	t.Helper()
	var doc yaml.Node
	if err := yaml.Unmarshal(data, &doc); err != nil {
		t.Fatal(err)
	}
	return plain(doc.Content[0], scalar)
}

func plain(n *yaml.Node, scalar func(*yaml.Node) any) any {
	switch n.Kind {
	case yaml.MappingNode:
		m := map[string]any{}
		for i := 0; i < len(n.Content); i += 2 {
			m[n.Content[i].Value] = plain(n.Content[i+1], scalar)
		}
		return m
	case yaml.SequenceNode:
		list := []any{}
		for _, item := range n.Content {
			list = append(list, plain(item, scalar))
		}
		return list
	}
	return scalar(n)
}

// inWords is a scalar as a form sends it.
func inWords(n *yaml.Node) any {
	if n.ShortTag() == "!!null" {
		return nil
	}
	return n.Value
}

// asJSON is a scalar as JSON holds it: numbers and truth are their own kinds, a
// day is text.
func asJSON(n *yaml.Node) any {
	var v any
	switch n.ShortTag() {
	case "!!int", "!!float", "!!bool", "!!null":
		if err := n.Decode(&v); err != nil {
			return n.Value
		}
		if i, ok := v.(int); ok {
			return float64(i)
		}
		return v
	}
	return n.Value
}
