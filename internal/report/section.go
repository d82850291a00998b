package report

import (
	"fmt"
	"math"

	"graftclock/internal/drawing"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
)

// The sheet of a section, in mm: a column of words, the field, a column of words.
const (
	sectionWidthMM = 120.0
	columnMM       = 29.0
	fieldMostMM    = sectionWidthMM - 2*columnMM // across
	fieldTallMM    = 80.0                        // upwards, at most
	headMM         = 5.0
	beyondMM       = 2.0 // of the site, shown beyond the outermost thing
	barMM          = 5.0 // of the site: the scale bar
)

// scales are those that a section may have, in mm on the sheet for one of the site;
// what is too large even for the last fills the field.
var scales = []float64{5, 4, 3.5, 3, 2.5, 2, 1.5, 1, 0.5}

// section is the drawing of a site in the making.
type section struct {
	drawing.Drawing
	frame
	site  protocol.Site
	field field
	taken []box // where no month may stand
	notes [2][]note
}

// field is what a section shows of a site, in mm: from the mid-line to either edge,
// and upwards from the sinus floor.
type field struct {
	half, low, high float64
	graft           float64 // top of what the fronts are drawn in
}

// Section draws the section through an implant's axis, as the page has it.
func Section(s protocol.Site, id string) drawing.Drawing { return crossSection(s, id) }

// crossSection draws the bucco-palatal section through an implant's axis, to scale:
// walls, floor, window and graft, the implant, how far bone has grown after each month
// and which point it reaches last. The lines of a month are named front-N, front-N-2
// and so on; a wall is drawn in pieces in the same manner, from below upwards.
func crossSection(s protocol.Site, id string) drawing.Drawing {
	d := &section{site: s, field: fieldOf(s), frame: sectionFrame(s)}
	d.ID, d.WidthMM = id, sectionWidthMM
	d.Title = fmt.Sprintf("Implant %d: section across the %s sinus", s.Implant.Tooth, s.Sinus.Side)
	d.Says = d.says()
	d.bone()
	d.walls()
	d.window()
	d.septa()
	d.graftTop()
	fronts := d.fronts()
	d.implant()
	d.last()
	d.months(fronts)
	d.foot(d.layNotes())
	return d.Drawing
}

// fieldOf holds everything of a site that a section shows.
func fieldOf(s protocol.Site) field {
	f := field{low: -s.Post.ResidualMM, graft: max(s.Housing.GraftTopMM, s.Post.GraftedMM())}
	if s.Housing.GraftTopMM == 0 {
		f.graft += beyondMM
	}
	f.half = math.Abs(s.Post.OffMidlineMM) + s.Post.DiameterMM/2
	f.high = max(f.graft, s.Post.LengthMM-s.Post.ResidualMM)
	for _, l := range s.Housing.Levels {
		f.half, f.high = max(f.half, l.WidthMM/2), max(f.high, l.AboveFloorMM)
	}
	if w, there := windowOf(s); there {
		f.high = max(f.high, w.LowerEdgeMM+w.HeightMM)
	}
	for _, p := range septaNear(s) {
		f.high = max(f.high, p.HeightMM)
	}
	f.half += beyondMM
	f.high += beyondMM
	return f
}

// sectionFrame carries mm across and above the floor to the sheet of a section.
func sectionFrame(s protocol.Site) frame {
	f := fieldOf(s)
	scale := min(fieldMostMM/(2*f.half), fieldTallMM/(f.high-f.low))
	for _, nice := range scales {
		if nice <= scale {
			scale = nice
			break
		}
	}
	return frame{left: sectionWidthMM / 2, bottom: headMM + f.high*scale, perX: scale, perY: scale}
}

// says tells the main numbers in words, for who cannot see the drawing.
func (d *section) says() string {
	s, c := d.site, d.site.Clock
	text := fmt.Sprintf("Drawn %s to 1 through the axis of implant %d, %s. ", told(d.perX), s.Implant.Tooth, offText(s.Post.OffMidlineMM))
	for _, l := range sortedLevels(s.Housing.Levels) {
		text += fmt.Sprintf("The sinus is %s mm wide %s mm above its floor. ", told(l.WidthMM), told(l.AboveFloorMM))
	}
	text += fmt.Sprintf("Residual bone %s mm; implant %s mm long, %s mm thick; %s; %s. ", told(s.Post.ResidualMM), told(s.Post.LengthMM), told(s.Post.DiameterMM), d.topText(), d.windowText())
	if c.ToFull == 0 {
		return text + "Nothing has to form: bone holds the whole implant already."
	}
	return text + fmt.Sprintf("Lines show how far bone has grown after each month. It reaches the %s aspect last, %s mm above the floor, after %s months, and comes from the %s. An estimate by geometry, not a measurement.",
		c.LastAspect, told(c.LastHeightMM), monthsTold(c.ToFull), c.WaitsFor)
}

func offText(mm float64) string {
	switch {
	case mm > 0:
		return told(mm) + " mm lateral of the mid-line"
	case mm < 0:
		return told(-mm) + " mm palatal of the mid-line"
	}
	return "on the mid-line"
}

func (d *section) topText() string {
	if top := d.site.Housing.GraftTopMM; top > 0 {
		return fmt.Sprintf("graft top %s mm above the floor", told(top))
	}
	return "graft top not recorded"
}

// along tells where something lies along the arch, seen from the implant.
func along(mm float64) string {
	if mm < 0 {
		return told(-mm) + " mm mesial"
	}
	return told(mm) + " mm distal"
}

func planned(s protocol.Site) bool { return s.Implant.Placed == graft.Later }
