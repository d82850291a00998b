package casefile

import (
	"fmt"
	"math"
	"slices"

	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// checkImplants holds the implants of one sinus to their teeth, to what a
// simultaneous placement needs and to the room there is.
func checkImplants(v *table.Value, s graft.Sinus) {
	implants := v.Get("implants").Items()
	var before []graft.Implant // one for each tooth
	for n, at := range implants {
		i := s.Implants[n]
		twice := slices.ContainsFunc(before, func(b graft.Implant) bool { return b.Tooth == i.Tooth })
		checkTooth(at, s.Side, twice)
		checkSimultaneous(at)
		checkPlace(v, at, s, len(implants))
		offFaulty := at.Has("off_midline_mm") && at.Get("off_midline_mm") == nil
		if twice || i.Tooth == 0 || offFaulty {
			continue // its place is not known
		}
		for _, b := range before {
			checkPair(at, b, i)
		}
		before = append(before, i)
	}
}

// checkTooth holds a tooth to its sinus's own side, and to one implant.
func checkTooth(v *table.Value, side graft.Side, twice bool) {
	tooth := v.Get("tooth")
	if tooth == nil {
		return
	}
	if side != "" && graft.SideOfTooth(tooth.Int()) != side {
		other := tooth.Int() + quadrant
		if side == graft.Right {
			other = tooth.Int() - quadrant
		}
		tooth.Fault(fmt.Sprintf("tooth %d in the %s sinus", tooth.Int(), side), "a tooth of the same side", fmt.Sprintf("did you mean %d?", other))
	}
	if twice {
		tooth.Fault(fmt.Sprintf("a second implant at tooth %d", tooth.Int()), "each tooth once", "")
	}
}

// quadrant is what a tooth's two-digit number differs by from its mirrored one.
const quadrant = 10

func checkSimultaneous(v *table.Value) {
	if v.Get("placed").Text() != string(graft.WithTheGraft) {
		return
	}
	for _, key := range []string{"insertion_torque_ncm", "loading"} {
		if !v.Has(key) {
			missing(v, implantShape, key, "needed when placed with the graft")
		}
	}
}

// checkPlace asks for the place along the arch where something depends on it,
// and holds the implant's axis inside the sinus.
func checkPlace(sinus, v *table.Value, s graft.Sinus, implants int) {
	needed := ""
	switch {
	case implants > 1:
		needed = "needed with a second implant"
	case sinus.Has("window"):
		needed = "needed with a measured window"
	case sinus.Has("septa") && len(s.Septa) > 0:
		needed = "needed with a septum"
	case sinus.Has("anterior_wall_at_mm"):
		needed = "needed with a front wall"
	}
	if needed != "" && !v.Has("at_mm") {
		missing(v, implantShape, "at_mm", needed)
	}
	at, off := v.Get("at_mm"), v.Get("off_midline_mm")
	if wall := s.FrontWallAtMM; wall != nil && at != nil && at.Float() <= *wall {
		at.Fault("an implant outside the sinus, at "+at.Text()+" mm", fmt.Sprintf("behind the front wall, more than %g mm", *wall), "")
	}
	if widest := widestMM(s); off != nil && widest > 0 && math.Abs(off.Float()) >= widest/2 {
		off.Fault("an implant outside the sinus, "+off.Text()+" mm off the mid-line", fmt.Sprintf("less than half the width, %g mm", widest/2), "")
	}
}

func widestMM(s graft.Sinus) float64 {
	widest := 0.0
	for _, w := range s.Widths {
		widest = max(widest, w.MM)
	}
	return widest
}

// checkPair complains of two implants that overlap or stand in the wrong order:
// at_mm grows towards the back, as tooth positions do.
func checkPair(v *table.Value, first, second graft.Implant) {
	at := v.Get("at_mm")
	if first.AtMM == nil || at == nil {
		return
	}
	apart := math.Hypot(*first.AtMM-*second.AtMM, first.OffMidlineMM-second.OffMidlineMM)
	if room := (first.DiameterMM + second.DiameterMM) / 2; apart < room {
		at.Fault(fmt.Sprintf("implants %d and %d overlap: their axes stand %.1f mm apart", first.Tooth, second.Tooth, apart), fmt.Sprintf("at least %.1f mm", room), "")
	} else if (first.Tooth%quadrant < second.Tooth%quadrant) != (*first.AtMM < *second.AtMM) {
		at.Fault(fmt.Sprintf("tooth %d at %g mm, tooth %d at %g mm", first.Tooth, *first.AtMM, second.Tooth, *second.AtMM), "at_mm that grows towards the back, as teeth do", "")
	}
}
