package casefile

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// Outlook is what can be told from a form that may still be half filled in.
type Outlook struct {
	Case  Case   // with those implants whose facts for the bone clock are all there
	Text  []byte // its record; what the clock does not ask for may be a stand-in
	Clock []Told // what the bone clock misses
	Dates []Told // what the dates miss beyond that
}

// Dated reports whether every fact is there that a date needs.
func (o Outlook) Dated() bool {
	return len(o.Case.Sinuses) > 0 && len(o.Clock) == 0 && len(o.Dates) == 0
}

// standIns are facts that no month of the bone clock hangs on. Where one is missing
// or faulty a word stands in for it, and nothing is dated until it is there.
var standIns = map[string]string{
	"health":               string(graft.Clear),
	"perforation":          "none",
	"placed":               string(graft.Later),
	"insertion_torque_ncm": notYet,
	"closure":              string(graft.Submerged),
	"loading":              "protected",
	"restoration":          "-",
	"material":             string(graft.Xenograft),
}

// Outlook reads of the form what the bone clock and the dates need; what is the
// patient's and the clinic's own is passed over. While a date misses anything the
// clock runs from the given day.
func (f *Form) Outlook(name string, on day.Day) Outlook {
	root := f.value()
	surgery, _ := root["surgery"].(map[string]any)
	root["record"], root["case"] = "1", "-"
	root["patient"] = map[string]any{"name": "-", "language": "en", "print": "normal", "calendar_detail": "neutral"}
	surgery["surgeon"], surgery["sutures"] = "-", "removable"
	delete(surgery, "referrer")
	var o Outlook
	_, faults := CaseOf(name, root)
	for _, t := range slices.Concat(f.own, f.torn(f.Parts), f.told(faults)) {
		switch first := firstOf(t.Path); {
		case first == "sinuses" && !StandsIn(t.Path):
			o.Clock = append(o.Clock, t)
		case first == "sinuses" || first == "surgery" || first == "findings":
			o.Dates = append(o.Dates, t)
		}
	}
	if len(o.Clock)+len(o.Dates) > 0 {
		surgery["day"] = on.String()
		delete(root, "findings")
		prune(name, root)
	}
	text, c, faults := kept(name, root)
	if len(faults) == 0 {
		o.Text, o.Case = text, c
	}
	return o
}

var lastKey = regexp.MustCompile(`\.([a-z_]+)(?:\.(?:size_mm|repaired))?$`)

// StandsIn reports whether a word may stand in for the fact at a path of the record
// while no date is given.
func StandsIn(path string) bool {
	_, known := standIns[keyOf(path)]
	return known
}

// keyOf is the last key of a path; of what stands beside a word, the word's.
func keyOf(path string) string {
	if m := lastKey.FindStringSubmatch(path); m != nil {
		return m[1]
	}
	return ""
}

// mostPrunings bounds how often a record is read anew.
const mostPrunings = 8

// prune puts words in the place of facts that no month hangs on, and takes out the
// implants and sinuses that the bone clock cannot time yet.
func prune(name string, root map[string]any) {
	for range mostPrunings {
		_, faults := CaseOf(name, root)
		if len(faults) == 0 {
			return
		}
		out := map[string]bool{} // sinuses and implants, by path
		sinuses, _ := root["sinuses"].([]any)
		for _, fault := range faults {
			if !standIn(sinuses, fault.Path) {
				out[siteOf.FindString(fault.Path)] = true
			}
		}
		if sinuses = without(sinuses, out); len(sinuses) == 0 {
			break
		}
		root["sinuses"] = sinuses
	}
	delete(root, "sinuses")
}

var siteOf = regexp.MustCompile(`^sinuses\[(\d+)\](?:\.implants\[(\d+)\])?`)

// standIn puts a word in the place of the fact at a path; false where none can.
func standIn(sinuses []any, path string) bool {
	m := siteOf.FindStringSubmatch(path)
	if m == nil || !StandsIn(path) {
		return false
	}
	at := entryAt(sinuses, m[1])
	switch {
	case m[2] != "":
		implants, _ := at["implants"].([]any)
		at = entryAt(implants, m[2])
	case strings.Contains(path, ".graft."):
		at, _ = at["graft"].(map[string]any)
	}
	if at == nil {
		return false
	}
	at[keyOf(path)] = standIns[keyOf(path)]
	return true
}

// entryAt is the entry of a list with a number; nil where there is none.
func entryAt(list []any, number string) map[string]any {
	n, err := strconv.Atoi(number)
	if err != nil || n >= len(list) {
		return nil
	}
	m, _ := list[n].(map[string]any)
	return m
}

// without returns the sinuses less those, and less the implants, that are out.
func without(sinuses []any, out map[string]bool) []any {
	var left []any
	for n, s := range sinuses {
		at := fmt.Sprintf("sinuses[%d]", n)
		sinus, isMap := s.(map[string]any)
		if out[at] || !isMap {
			continue
		}
		if implants, there := sinus["implants"].([]any); there {
			var stay []any
			for i, implant := range implants {
				if !out[fmt.Sprintf("%s.implants[%d]", at, i)] {
					stay = append(stay, implant)
				}
			}
			sinus["implants"] = stay
		}
		left = append(left, sinus)
	}
	return left
}
