package casefile

import (
	"fmt"
	"slices"
	"strings"

	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// crossCheck complains of what contradicts itself or lacks a fact that a rule
// needs. It passes over what the shape has found faulty already.
func crossCheck(v *table.Value, c graft.Case, sinuses []*table.Value) {
	checkNumber(v.Get("case"))
	sides := map[string]bool{}
	for i, s := range sinuses {
		side := s.Get("side")
		if side != nil && sides[side.Text()] {
			side.Fault("a second entry for the "+side.Text()+" sinus", "each side once", "")
		}
		sides[side.Text()] = true
		checkTechnique(s, c.Sinuses[i])
		checkWidths(s, c.Sinuses[i])
		checkWindow(s, c.Sinuses[i])
		checkImplants(s, c.Sinuses[i])
	}
	for i, o := range v.Get("findings").Items() {
		checkObservation(o, c, c.Observations[i], sides)
	}
}

// unnameable are the case numbers that no address can name: a browser takes the first two
// for a folder and the one above it, however they are written (RFC 3986, 5.2.4), and the
// last leaves nothing of a part of an address.
var unnameable = []string{".", "..", "/"}

// checkNumber complains of a case number that no address of a page can name.
func checkNumber(v *table.Value) {
	if id := v.Text(); slices.Contains(unnameable, id) {
		v.Fault(fmt.Sprintf("%q, which no address of a page can name", id), "any other line of text, such as HR-2041", "")
	}
}

// missing complains of a key that the shape leaves open and the record's other
// facts ask for.
func missing(v *table.Value, s table.Shape, key, why string) {
	f, _ := fieldOf(s, key)
	v.FaultAt(v.Path()+"."+key, "missing", f.Shape.Allows(), why)
}

// checkTechnique holds a completed augmentation to its graft, widths and
// implants, and an aborted one to having none placed.
func checkTechnique(v *table.Value, s graft.Sinus) {
	for _, key := range []string{"graft", "widths", "implants"} {
		if s.Outcome == graft.Completed && !v.Has(key) {
			missing(v, sinusShape, key, "needed when the outcome is completed")
		}
	}
	if s.Outcome != graft.Aborted {
		return
	}
	for _, i := range v.Get("implants").Items() {
		if placed := i.Get("placed"); placed.Text() == string(graft.WithTheGraft) {
			placed.Fault("an implant placed with the graft, though the lift was aborted", string(graft.Later), "")
		}
	}
}

// checkWidths holds each width to one level, at or above the sinus floor of every
// site.
func checkWidths(v *table.Value, s graft.Sinus) {
	type level struct {
		mm         float64
		aboveCrest bool
	}
	levels := map[level]bool{}
	for _, w := range v.Get("widths").Items() {
		floor, crest := w.Get("above_floor_mm"), w.Get("above_crest_mm")
		switch {
		case w.Has("above_floor_mm") && w.Has("above_crest_mm"):
			w.Fault("two levels for one width", "above_floor_mm or above_crest_mm", "")
		case !w.Has("above_floor_mm") && !w.Has("above_crest_mm"):
			w.Fault("a width without its level", "above_floor_mm or above_crest_mm", "the same sinus is twice as wide a few millimetres higher")
		case floor == nil && crest == nil: // faulty already
		default:
			at := level{floor.Float() + crest.Float(), crest != nil}
			if levels[at] {
				w.Fault("a second width at the same level", "each level once", "")
			}
			levels[at] = true
			checkAboveFloor(crest, s)
		}
	}
}

// checkAboveFloor complains of a level above the crest that lies in the residual
// bone of a site.
func checkAboveFloor(crest *table.Value, s graft.Sinus) {
	if crest == nil {
		return
	}
	for _, i := range s.Implants {
		if crest.Float() < i.ResidualMM {
			crest.Fault(crest.Text()+" mm above the crest, which is below the sinus floor", fmt.Sprintf("at least the residual bone, %g mm at tooth %d", i.ResidualMM, i.Tooth), "")
			return
		}
	}
}

func checkWindow(v *table.Value, s graft.Sinus) {
	w := v.Get("window")
	if w == nil {
		return
	}
	if s.Approach == graft.Transcrestal {
		w.Fault("a window, though the approach is transcrestal", "no window", "")
	}
	if from, to := w.Get("from_mm"), w.Get("to_mm"); from != nil && to != nil && to.Float() <= from.Float() {
		to.Fault(to.Text()+" mm", "more than from_mm, "+from.Text()+" mm", "")
	}
	if wall := s.FrontWallAtMM; wall != nil {
		if from := w.Get("from_mm"); from != nil && from.Float() < *wall {
			from.Fault("a window that starts outside the wall, at "+from.Text()+" mm", fmt.Sprintf("from the front wall on, %g mm", *wall), "")
		}
	}
	lower, height := w.Get("lower_edge_above_floor_mm"), w.Get("height_mm")
	if lower != nil && height != nil && lower.Float()+height.Float() > mostWindowMM {
		height.Fault(fmt.Sprintf("a window that ends outside the wall, %g mm above the floor", lower.Float()+height.Float()), fmt.Sprintf("an upper edge at %d mm at most", mostWindowMM), "")
	}
}

// checkObservation holds each kind of finding to the keys it needs.
func checkObservation(v *table.Value, c graft.Case, o graft.Observation, sides map[string]bool) {
	if d := v.Get("day"); d != nil && !o.Day.IsZero() && o.Day.Before(c.Surgery.Day) {
		d.Fault(o.Day.String()+", before the surgery", "from "+c.Surgery.Day.String()+" on", "")
	}
	checkKeysOf(v, o.What, len(sides) > 1)
	if side := v.Get("side"); side != nil && !sides[side.Text()] && !sides[""] {
		side.Fault("the "+side.Text()+" sinus, which is not in the record", "a side of sinuses", "")
	}
	if tooth := v.Get("tooth"); tooth != nil && !hasTooth(c, o.Tooth) {
		tooth.Fault(tooth.Text()+", which has no implant in the record", "a tooth of implants", "")
	}
	if restoration := v.Get("for"); restoration != nil && !hasRestoration(c, o.For) {
		restoration.Fault(fmt.Sprintf("%q, which is no restoration of the record", o.For), "a restoration of implants", "")
	}
}

// keysOf are the keys of each kind of finding beside day and what: those it
// needs, the side it needs when there are two, and those it may have.
var keysOf = map[graft.Observed]struct{ needs, ofTwo, may []string }{
	graft.Stability:       {needs: []string{"tooth", "isq"}},
	graft.Infection:       {ofTwo: []string{"side"}},
	graft.GraftRemoved:    {ofTwo: []string{"side"}},
	graft.LatePerforation: {needs: []string{"size_mm", "repaired"}, ofTwo: []string{"side"}},
	graft.Image:           {needs: []string{"result"}, may: []string{"side", "shows"}},
	graft.Attended:        {needs: []string{"step"}, may: []string{"for", "which"}},
	graft.LeftOut:         {needs: []string{"step"}, may: []string{"for", "which"}},
}

// checkKeysOf complains of a key that this kind of finding needs and lacks, and
// of one that says nothing of it.
func checkKeysOf(v *table.Value, what graft.Observed, two bool) {
	keys, known := keysOf[what]
	if !known {
		return
	}
	needs := keys.needs
	if two {
		needs = slices.Concat(needs, keys.ofTwo)
	}
	for _, key := range needs {
		if !v.Has(key) {
			missing(v, observationShape, key, fmt.Sprintf("needed for %s", what))
		}
	}
	speaks := slices.Concat(keys.needs, keys.ofTwo, keys.may)
	for _, e := range v.Entries() {
		if e.Key != "day" && e.Key != "what" && !slices.Contains(speaks, e.Key) {
			e.Value.Fault(fmt.Sprintf("%s says nothing of %s", e.Key, what), strings.Join(speaks, ", "), "")
		}
	}
}

// hasTooth and hasRestoration give an implant whose own entry is faulty the
// benefit of the doubt.
func hasTooth(c graft.Case, tooth int) bool {
	return anyImplant(c, func(i graft.Implant) bool { return i.Tooth == tooth || i.Tooth == 0 })
}

func hasRestoration(c graft.Case, name string) bool {
	return anyImplant(c, func(i graft.Implant) bool { return i.Restoration == name || i.Restoration == "" })
}

func anyImplant(c graft.Case, is func(graft.Implant) bool) bool {
	return slices.ContainsFunc(c.Sinuses, func(s graft.Sinus) bool { return slices.ContainsFunc(s.Implants, is) })
}
