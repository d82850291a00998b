package casefile

import (
	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// Case is a surgery record as read, with the place of everything in its file.
type Case struct {
	graft.Case
	File  string
	Lines map[string]int // path in the record -> line; empty for a form
}

// ReadCase reads a record. The faults are all there are; the case is whole only
// when there are none.
func ReadCase(file string, data []byte) (Case, table.Faults) {
	return caseOf(file, table.Read(file, data, record))
}

// CaseOf reads a record from a value, such as a form's fields, with the same
// checks and the same words. Name stands for the file in complaints.
func CaseOf(name string, value any) (Case, table.Faults) {
	return caseOf(name, table.ReadValue(name, value, record))
}

func caseOf(file string, v *table.Value) (Case, table.Faults) {
	c := graft.Case{
		ID:      graft.CaseID(v.Get("case").Text()),
		Patient: patient(v.Get("patient")),
		Surgery: surgery(v.Get("surgery")),
	}
	sinuses := v.Get("sinuses").Items()
	for _, s := range sinuses {
		c.Sinuses = append(c.Sinuses, sinus(s))
	}
	for i, o := range v.Get("findings").Items() {
		c.Observations = append(c.Observations, observation(o, i))
	}
	crossCheck(v, c, sinuses)
	if faults := v.Faults(); len(faults) > 0 {
		return Case{Case: c, File: file}, faults
	}
	return Case{c, file, v.Lines()}, nil
}

func patient(v *table.Value) graft.Patient {
	p := graft.Patient{
		Name:           v.Get("name").Text(),
		Language:       v.Get("language").Text(),
		LargePrint:     v.Get("print").Text() == "large",
		CalendarDetail: graft.Detail(v.Get("calendar_detail").Text()),
		Phone:          v.Get("phone").Text(),
		Mail:           patientMail(v.Get("mail")),
	}
	for _, u := range v.Get("unavailable").Items() {
		span, _ := day.ParseSpan(u.Text())
		p.Unavailable = append(p.Unavailable, span)
	}
	for _, f := range v.Get("flags").Items() {
		p.Flags = append(p.Flags, graft.Flag(f.Text()))
	}
	return p
}

func surgery(v *table.Value) graft.Surgery {
	return graft.Surgery{
		Day:        dayAt(v.Get("day")),
		Surgeon:    v.Get("surgeon").Text(),
		Resorbable: v.Get("sutures").Text() == "resorbable",
		Referrer:   v.Get("referrer").Text(),
	}
}

func sinus(v *table.Value) graft.Sinus {
	s := graft.Sinus{
		Side:          graft.Side(v.Get("side").Text()),
		Health:        graft.Health(v.Get("health").Text()),
		Approach:      graft.Approach(v.Get("approach").Text()),
		Outcome:       graft.Outcome(v.Get("outcome").Text()),
		FrontWallAtMM: v.Get("anterior_wall_at_mm").Optional(),
		Window:        window(v.Get("window")),
		Graft: graft.Graft{
			Material: graft.Material(v.Get("graft").Get("material").Text()),
			Additive: graft.Additive(v.Get("graft").Get("additive").Text()),
			HeightMM: v.Get("graft").Get("height_mm").Float(),
		},
	}
	if p := v.Get("perforation"); p.IsMap() {
		s.Perforation = &graft.Perforation{SizeMM: p.Get("size_mm").Float(), Repaired: p.Get("repaired").Bool(false)}
	}
	for _, w := range v.Get("widths").Items() {
		s.Widths = append(s.Widths, graft.Width{
			MM:           w.Get("mm").Float(),
			AboveFloorMM: w.Get("above_floor_mm").Optional(),
			AboveCrestMM: w.Get("above_crest_mm").Optional(),
		})
	}
	for _, p := range v.Get("septa").Items() {
		s.Septa = append(s.Septa, graft.Septum{AtMM: p.Get("at_mm").Float(), HeightMM: p.Get("height_mm").Float()})
	}
	for _, i := range v.Get("implants").Items() {
		s.Implants = append(s.Implants, implant(i))
	}
	return s
}

func window(v *table.Value) *graft.AccessWindow {
	if v == nil {
		return nil
	}
	return &graft.AccessWindow{
		FromMM:            v.Get("from_mm").Float(),
		ToMM:              v.Get("to_mm").Float(),
		LowerEdgeMM:       v.Get("lower_edge_above_floor_mm").Float(),
		HeightMM:          v.Get("height_mm").Float(),
		LidIsRepositioned: v.Get("lid").Text() == "repositioned",
	}
}

func implant(v *table.Value) graft.Implant {
	return graft.Implant{
		Tooth:           v.Get("tooth").Int(),
		AtMM:            v.Get("at_mm").Optional(),
		OffMidlineMM:    v.Get("off_midline_mm").Float(),
		MidlineRecorded: v.Has("off_midline_mm"),
		ResidualMM:      v.Get("residual_bone_mm").Float(),
		LengthMM:        v.Get("length_mm").Float(),
		DiameterMM:      v.Get("diameter_mm").Float(),
		Placed:          graft.Placed(v.Get("placed").Text()),
		Torque:          v.Get("insertion_torque_ncm").Optional(),
		Closure:         graft.Closure(v.Get("closure").Text()),
		Protected:       v.Get("loading").Text() == "protected",
		Restoration:     v.Get("restoration").Text(),
	}
}

func observation(v *table.Value, index int) graft.Observation {
	return graft.Observation{
		Day:      dayAt(v.Get("day")),
		What:     graft.Observed(v.Get("what").Text()),
		Tooth:    v.Get("tooth").Int(),
		ISQ:      v.Get("isq").Int(),
		Side:     graft.Side(v.Get("side").Text()),
		SizeMM:   v.Get("size_mm").Float(),
		Repaired: v.Get("repaired").Bool(false),
		Result:   graft.Result(v.Get("result").Text()),
		Shows:    v.Get("shows").Text(),
		Step:     graft.Step(v.Get("step").Text()),
		For:      v.Get("for").Text(),
		Which:    v.Get("which").Text(),
		AtIndex:  index,
	}
}

// dayAt returns the day of a value; no day for one that is absent or faulty.
func dayAt(v *table.Value) day.Day {
	d, _ := day.Parse(v.Text())
	return d
}
