package demo

import (
	"fmt"
	"math/rand/v2"

	"graftclock/internal/casefile"
)

// shape says what kind of surgery a record tells of.
type shape string

// The shapes of the demo's records.
const (
	single   shape = "single"    // one implant, placed with the graft
	quick    shape = "quick"     // the same, with the additive that is said to save time
	bridge   shape = "bridge"    // two implants of one restoration
	staged   shape = "staged"    // the implant follows when the graft has healed
	crestal  shape = "crestal"   // from below, healing through the gum
	bar      shape = "bar"       // both sides in one sitting, for one restoration
	twoSides shape = "two sides" // both sides in one sitting, each for its own
	aborted  shape = "aborted"   // the membrane tore too far
	notClear shape = "not clear" // the sinus is ill before a surgery that lies ahead
)

// entry is a map of a record, as a form would send it.
type entry = map[string]any

// writer makes up records: everything in them is drawn by chance, within what the
// shape asks for.
type writer struct{ random *rand.Rand }

// between draws a number in steps of a half.
func (w writer) between(least, most float64) string {
	const halves = 2
	steps := int((most - least) * halves)
	return fmt.Sprint(least + float64(w.random.IntN(steps+1))/halves)
}

// one draws one of some words.
func (w writer) one(words ...string) string { return words[w.random.IntN(len(words))] }

// record returns a record in the record format, and reads it back.
func (w writer) record(p *patient, ahead bool) ([]byte, casefile.Case, error) {
	sides := []any{w.sinus(p.shape, w.one("right", "left"), ahead)}
	switch p.shape {
	case bar:
		sides = []any{w.sinus(bar, "right", ahead), w.sinus(bar, "left", ahead)}
	case twoSides:
		sides = []any{w.sinus(quick, "right", ahead), w.sinus(crestal, "left", ahead)}
	}
	root := entry{
		"record": "1", "case": string(p.id), "patient": w.patient(p), "sinuses": sides,
		"surgery": entry{"day": p.surgery.String(), "surgeon": p.surgeon, "sutures": w.one("removable", "removable", "resorbable"), "referrer": w.one("Dr Orla Finch", "Dr Pell Ashgrove", "Dr Maeve Torrin")},
	}
	record, c, faults := casefile.Canonical(string(p.id), casefile.Write(root))
	if len(faults) > 0 {
		return nil, c, fmt.Errorf("the invented record of %s: %w", p.id, faults)
	}
	return record, c, nil
}

// patient is the part of a record about the patient.
func (w writer) patient(p *patient) entry {
	name, language := person(p.number)
	e := entry{"name": name, "language": language, "print": w.one("normal", "normal", "normal", "large"), "calendar_detail": w.one("neutral", "neutral", "plain"), "phone": phone(p.number)}
	if flag := w.one("", "", "", "smoker", "anticoagulant", "controlled diabetes", "positive-pressure mask"); flag != "" {
		e["flags"] = []any{flag}
	}
	if w.random.IntN(3) == 0 {
		e["mail"] = entry{"address": mailAddress(name, p.number), "agreed": p.surgery.AddDays(-20).String(), "letter": w.one("true", "false")}
	}
	return e
}

// sinus is one side of a record.
func (w writer) sinus(s shape, side string, ahead bool) entry {
	e := entry{"side": side, "health": w.one("clear", "clear", "treated and clear"), "approach": "lateral window", "outcome": "completed", "perforation": w.perforation(ahead)}
	switch s {
	case aborted:
		e["outcome"], e["perforation"] = "aborted", entry{"size_mm": w.between(11, 15), "repaired": "true"}
		return e
	case notClear:
		e["health"] = "not clear"
	case crestal:
		e["approach"], e["perforation"] = "transcrestal", "none"
	}
	e["widths"] = w.widths()
	e["graft"] = entry{"material": w.material(s), "additive": w.additive(s), "height_mm": w.between(12.5, 14)}
	e["implants"] = w.implants(s, side, ahead)
	if s != crestal && w.random.IntN(3) == 0 {
		e["window"] = entry{"from_mm": "2", "to_mm": w.between(11, 14), "lower_edge_above_floor_mm": "3", "height_mm": w.between(6, 8), "lid": w.one("removed", "removed", "repositioned")}
	}
	if w.random.IntN(6) == 0 {
		e["septa"] = []any{entry{"at_mm": "24", "height_mm": w.between(3, 6)}}
	}
	return e
}

// perforation is mostly none, and none before the surgery.
func (w writer) perforation(ahead bool) any {
	if ahead || w.random.IntN(6) > 0 {
		return "none"
	}
	return entry{"size_mm": w.between(2, 6), "repaired": "true"}
}

func (w writer) widths() []any {
	widths := []any{entry{"mm": w.between(10.5, 13.5), "above_floor_mm": "4"}}
	if w.random.IntN(2) == 0 {
		widths = append(widths, entry{"mm": w.between(13.5, 15.5), "above_floor_mm": "9"})
	}
	return widths
}

func (w writer) material(s shape) string {
	if s == staged {
		return w.one("autogenous", "mixture with autogenous", "xenograft")
	}
	return w.one("xenograft", "xenograft", "allograft", "alloplast", "mixture with autogenous")
}

func (w writer) additive(s shape) string {
	if s == quick {
		return "rhPDGF-BB"
	}
	return w.one("none", "none", "none", "platelet-rich fibrin", "platelet-rich fibrin", "rhPDGF-BB", "rhBMP-2")
}

// implants are those of one side, from the front to the back.
func (w writer) implants(s shape, side string, ahead bool) []any {
	quarter := map[string]int{"right": 10, "left": 20}[side]
	tooth := []int{quarter + 5, quarter + 6, quarter + 7}[w.random.IntN(3)]
	switch s {
	case bar:
		return []any{w.implant(s, quarter+6, "upper bar", "8", ahead)}
	case bridge:
		return []any{w.implant(s, quarter+6, side+" bridge", "9", ahead), w.implant(s, quarter+7, side+" bridge", "17", ahead)}
	}
	return []any{w.implant(s, tooth, side+" "+nameOf(tooth%10), "8", ahead)}
}

// nameOf names a tooth by its place, counted from the middle.
func nameOf(place int) string {
	if place > 5 {
		return "molar"
	}
	return "premolar"
}

func (w writer) implant(s shape, tooth int, restoration, at string, ahead bool) entry {
	e := entry{
		"tooth": fmt.Sprint(tooth), "at_mm": at, "off_midline_mm": w.between(-1, 1), "residual_bone_mm": w.between(3.5, 5.5),
		"length_mm": w.between(9, 10), "diameter_mm": w.one("4.1", "4.3", "4.8"), "placed": "with the graft", "closure": "submerged", "restoration": restoration,
	}
	switch s {
	case staged:
		e["placed"], e["residual_bone_mm"] = "later", w.between(1, 3)
		return e
	case crestal:
		e["closure"], e["residual_bone_mm"], e["length_mm"] = "through the gum", w.between(6, 7.5), "8"
	}
	e["loading"], e["insertion_torque_ncm"] = "protected", fmt.Sprint(20+5*w.random.IntN(5))
	if ahead {
		e["insertion_torque_ncm"] = "not yet"
	}
	return e
}
