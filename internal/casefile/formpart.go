package casefile

import (
	"fmt"
	"slices"
	"strings"

	"graftclock/internal/table"
)

// newPart is the empty part of a shape at a path.
func newPart(above *Part, s table.Shape, path string) *Part {
	key := entryNumber.ReplaceAllString(path, "[]")
	p := &Part{Path: path, Label: labels[key], above: above, shape: s, Control: controlOf(s), Unit: unitOf(s), Hint: hintOf(s)}
	p.Entry = strings.ToLower(labels[key+"[]"])
	for _, word := range wordsOf(s) {
		p.Options = append(p.Options, Option{Value: word, Says: word})
	}
	if s.Kind == table.KindBool {
		p.Options = []Option{{Value: "true", Says: "yes"}, {Value: "false", Says: "no"}}
	}
	return p
}

// controlOf says how a shape is shown.
func controlOf(s table.Shape) Control {
	switch s.Kind {
	case table.KindMap:
		return Group
	case table.KindList:
		if s.Of.Kind == table.KindWord {
			return Ticks
		}
		return List
	case table.KindEither:
		if isMapShape(mapOf(s)) {
			return Either
		}
		return Number
	case table.KindWord, table.KindBool:
		return Choice
	case table.KindNumber:
		return numberControl(s)
	}
	switch s.Grammar {
	case dayGrammar:
		return OneDay
	case spanGrammar:
		return Days
	}
	return Line
}

func numberControl(s table.Shape) Control {
	switch {
	case s.Min == s.Max:
		return Fixed
	case len(s.Only) > 0:
		return Choice
	}
	return Number
}

// wordsOf lists the words that a shape offers.
func wordsOf(s table.Shape) []string {
	words := s.Words
	for _, option := range s.Either {
		words = slices.Concat(words, option.Words)
	}
	for _, n := range s.Only {
		words = append(words, fmt.Sprint(n))
	}
	if s.Kind == table.KindList {
		return wordsOf(*s.Of)
	}
	return words
}

// unitOf is the unit of a number, also of one that may be a word instead.
func unitOf(s table.Shape) string {
	for _, option := range s.Either {
		if option.Unit != "" {
			return option.Unit
		}
	}
	return s.Unit
}

// hintOf tells the meaning and, where it cannot be seen, what may stand there.
func hintOf(s table.Shape) string {
	hint := s.Doc
	switch c := controlOf(s); {
	case c == Number, c == Line && s.Grammar != nil:
		hint += "; " + s.Allows()
	case c == Either:
		hint += "; " + strings.Join(wordsOf(s), ", ") + ", or what is told beside"
	}
	if s.Kind == table.KindBool {
		hint = strings.Replace(hint, "true:", "yes:", 1)
	}
	return strings.TrimPrefix(hint, "; ")
}

// choose marks what was chosen. What is typed and no option becomes one, so that it
// is seen and can be mended. Ticked words come first: their order is the record's.
func (p *Part) choose() {
	switch p.Control {
	case Ticks:
		rest := p.Options
		p.Options = nil
		for _, word := range p.Typed {
			p.Options = append(p.Options, Option{word, word, true})
		}
		for _, o := range rest {
			if !slices.Contains(p.Typed, o.Value) {
				p.Options = append(p.Options, o)
			}
		}
	case Choice, Either:
		n := slices.IndexFunc(p.Options, func(o Option) bool { return o.Value == p.Text() })
		switch {
		case n >= 0:
			p.Options[n].Chosen = true
		case p.Text() != "":
			p.Options = append(p.Options, Option{p.Text(), p.Text(), true})
		}
	}
}

// labels are the words that a form has for the keys of a record; [] is any entry of a
// list.
var labels = map[string]string{
	"record":  "Version of the format",
	"case":    "Case number",
	"patient": "Patient",
	"surgery": "Surgery",

	"patient.name":            "Name",
	"patient.language":        "Language",
	"patient.print":           "Print of the letter",
	"patient.calendar_detail": "Words in the patient's calendar",
	"patient.unavailable":     "Absences",
	"patient.unavailable[]":   "Absence",
	"patient.flags":           "Flags",
	"patient.phone":           "Telephone",
	"patient.mail":            "Visits by e-mail",
	"patient.mail.address":    "E-mail address",
	"patient.mail.agreed":     "Agreed on",
	"patient.mail.letter":     "Letter by e-mail",

	"surgery.day":      "Day",
	"surgery.surgeon":  "Surgeon",
	"surgery.sutures":  "Sutures",
	"surgery.referrer": "Referrer",

	"sinuses":                       "Sinuses",
	"sinuses[]":                     "Sinus",
	"sinuses[].side":                "Side",
	"sinuses[].health":              "Health",
	"sinuses[].approach":            "Approach",
	"sinuses[].outcome":             "Outcome",
	"sinuses[].perforation":         "Perforation",
	"sinuses[].anterior_wall_at_mm": "Front wall",

	"sinuses[].perforation.size_mm":  "Size of the perforation",
	"sinuses[].perforation.repaired": "Perforation repaired",

	"sinuses[].widths":                  "Widths",
	"sinuses[].widths[]":                "Width",
	"sinuses[].widths[].mm":             "Wall to wall",
	"sinuses[].widths[].above_floor_mm": "Above the floor",
	"sinuses[].widths[].above_crest_mm": "Above the crest",

	"sinuses[].window":                           "Access window",
	"sinuses[].window.from_mm":                   "Front edge",
	"sinuses[].window.to_mm":                     "Back edge",
	"sinuses[].window.lower_edge_above_floor_mm": "Lower edge above the floor",
	"sinuses[].window.height_mm":                 "Height of the window",
	"sinuses[].window.lid":                       "Lid",

	"sinuses[].septa":             "Septa",
	"sinuses[].septa[]":           "Septum",
	"sinuses[].septa[].at_mm":     "Place",
	"sinuses[].septa[].height_mm": "Height of the septum",

	"sinuses[].graft":           "Graft",
	"sinuses[].graft.material":  "Material",
	"sinuses[].graft.additive":  "Additive",
	"sinuses[].graft.height_mm": "Height of the graft",

	"sinuses[].implants":                        "Implants",
	"sinuses[].implants[]":                      "Implant",
	"sinuses[].implants[].tooth":                "Tooth",
	"sinuses[].implants[].at_mm":                "Place",
	"sinuses[].implants[].off_midline_mm":       "Off the mid-line",
	"sinuses[].implants[].residual_bone_mm":     "Residual bone",
	"sinuses[].implants[].length_mm":            "Length",
	"sinuses[].implants[].diameter_mm":          "Diameter",
	"sinuses[].implants[].placed":               "Placed",
	"sinuses[].implants[].insertion_torque_ncm": "Insertion torque",
	"sinuses[].implants[].closure":              "Closure",
	"sinuses[].implants[].loading":              "Loading",
	"sinuses[].implants[].restoration":          "Restoration",
}
