package graft

// Side is the patient's own right or left.
type Side string

// The two sides.
const (
	Right Side = "right"
	Left  Side = "left"
)

// Health is what the scan before surgery showed of the sinus.
type Health string

// The states of a sinus before surgery.
const (
	Clear           Health = "clear"
	TreatedAndClear Health = "treated and clear"
	NotClear        Health = "not clear"
	NotAssessed     Health = "not assessed"
)

// Approach is the way to the sinus floor.
type Approach string

// The two approaches.
const (
	LateralWindow Approach = "lateral window"
	Transcrestal  Approach = "transcrestal"
)

// Outcome says whether the floor was augmented.
type Outcome string

// The outcomes of a sitting.
const (
	Completed Outcome = "completed"
	Aborted   Outcome = "aborted"
)

// Material is what the space under the membrane was filled with.
type Material string

// The graft materials. NoMaterial is a lifted membrane over a clot.
const (
	Autogenous Material = "autogenous"
	Allograft  Material = "allograft"
	Xenograft  Material = "xenograft"
	Alloplast  Material = "alloplast"
	Mixture    Material = "mixture with autogenous"
	NoMaterial Material = "none"
)

// Additive is a biologic mixed into the graft.
type Additive string

// The biologic additives.
const (
	NoAdditive         Additive = "none"
	PlateletRichFibrin Additive = "platelet-rich fibrin"
	RhPDGF             Additive = "rhPDGF-BB"
	RhBMP2             Additive = "rhBMP-2"
)

// Sinus is one side's sinus, what was measured of it and what was done there.
type Sinus struct {
	Side          Side
	Health        Health
	Approach      Approach
	Outcome       Outcome
	Perforation   *Perforation // nil: none
	Widths        []Width
	Window        *AccessWindow // nil: no window measured
	FrontWallAtMM *float64      // along the arch; nil: not recorded
	Septa         []Septum
	Graft         Graft // of a completed augmentation
	Implants      []Implant
}

// Perforation is a tear of the sinus membrane seen during surgery.
type Perforation struct {
	SizeMM   float64
	Repaired bool
}

// Width is the bucco-palatal distance from wall to wall at one level. Exactly
// one of the two levels is recorded.
type Width struct {
	MM           float64
	AboveFloorMM *float64 // above the sinus floor
	AboveCrestMM *float64 // above the alveolar crest
}

// LevelMM is the height of the width above the sinus floor at a site with the
// given residual bone.
func (w Width) LevelMM(residualBoneMM float64) float64 {
	if w.AboveFloorMM != nil {
		return *w.AboveFloorMM
	}
	return *w.AboveCrestMM - residualBoneMM
}

// AccessWindow is the access opening in the lateral wall, in mm along the arch from
// the record's own origin and in mm above the sinus floor.
type AccessWindow struct {
	FromMM, ToMM      float64
	LowerEdgeMM       float64
	HeightMM          float64
	LidIsRepositioned bool // the bony lid was put back: it counts as wall
}

// Septum is a bony plate that stands up from the sinus floor across the arch.
type Septum struct{ AtMM, HeightMM float64 }

// Graft is what was put under the membrane. HeightMM is the top of the graft
// above the sinus floor on the day of surgery; 0 means it was not recorded.
type Graft struct {
	Material Material
	Additive Additive
	HeightMM float64
}

// Placed says when an implant is put in.
type Placed string

// Simultaneous and staged placement.
const (
	WithTheGraft Placed = "with the graft"
	Later        Placed = "later"
)

// Closure is how the soft tissue lies over an implant while it heals.
type Closure string

// The two ways of healing.
const (
	Submerged     Closure = "submerged"
	ThroughTheGum Closure = "through the gum"
)

// Implant is an implant that was placed or is planned. Lengths are in mm.
type Implant struct {
	Tooth           int      // two digits, ISO 3950: 14..18 or 24..28
	AtMM            *float64 // along the arch, growing towards the back; nil: alone and not measured
	OffMidlineMM    float64  // of the sinus, + towards the lateral wall; 0 also when it was not recorded
	MidlineRecorded bool     // OffMidlineMM was recorded
	ResidualMM      float64  // height of bone between crest and sinus floor
	LengthMM        float64
	DiameterMM      float64
	Placed          Placed
	Torque          *float64 // insertion torque in Ncm; nil: not measured yet, or placed later
	Closure         Closure
	Protected       bool   // protected from load while it heals
	Restoration     string // implants of one restoration are loaded together
}

// GraftedMM is the length of the implant that stands in the graft: what
// residual bone does not hold.
func (i Implant) GraftedMM() float64 { return max(0, i.LengthMM-i.ResidualMM) }

// SideOfTooth returns the side of an upper tooth: 1x right, 2x left.
func SideOfTooth(tooth int) Side {
	const firstLeft = 20
	if tooth < firstLeft {
		return Right
	}
	return Left
}
