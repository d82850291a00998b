// Package casefile reads surgery records and clinic files, from YAML or from a
// form's values, and complains of all their faults at once. It knows the two
// formats and what in them contradicts itself; it derives no date.
package casefile

import (
	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// Bounds of what a body or an implant can measure, and no clinical limits: a
// number outside them is a slip of the pen or of the unit.
const (
	mostResidualMM   = 20
	leastWidthMM     = 2
	mostWidthMM      = 39
	mostLevelMM      = 35
	mostAlongMM      = 100
	mostWindowMM     = 40
	leastLengthMM    = 4
	mostLengthMM     = 20
	leastDiameterMM  = 2.5
	mostDiameterMM   = 8
	mostOffMidlineMM = 15
	mostGraftMM      = 30
	leastTearMM      = 0.1
	mostTearMM       = 39
	mostTorqueNcm    = 100
	mostISQ          = 100
)

// teeth are the upper posterior positions: 1x on the right, 2x on the left.
var teeth = []int{14, 15, 16, 17, 18, 24, 25, 26, 27, 28}

// Record is the shape of a surgery record.
func Record() table.Shape { return record }

var record = table.Map("",
	table.Must("record", table.Whole("version of this format", "", 1, 1)),
	table.Must("case", table.Text("the clinic's own number of the case")),
	table.Must("patient", patientShape),
	table.Must("surgery", table.Map("",
		table.Must("day", table.Formal("day of the surgery, done or planned", dayGrammar)),
		table.Must("surgeon", table.Text("who operates")),
		table.Must("sutures", table.Word("", "removable", "resorbable")),
		table.May("referrer", table.Text("the dentist who sent the patient, as it stands on the letter to them")),
	)),
	table.Must("sinuses", table.List("one entry for each side operated on", 1, sinusShape)),
	table.May("findings", table.List("what was found after the surgery", 0, observationShape)),
)

var patientShape = table.Map("",
	table.Must("name", table.Text("as it stands on the letter")),
	table.Must("language", table.Formal("of the letter", languageGrammar)),
	table.Must("print", table.Word("", "normal", "large")),
	table.Must("calendar_detail", table.Word("plain needs the patient's recorded choice", string(graft.Neutral), string(graft.Plain))),
	table.May("unavailable", table.List("days the patient cannot come", 0, table.Formal("", spanGrammar))),
	table.May("flags", table.List("for the surgeon to weigh", 0, table.Word("", words(graft.Flags)...))),
	table.May("phone", table.Formal("of the patient, as dialled from the clinic; never in a calendar", phoneGrammar)),
	table.May("mail", patientMailShape),
)

var sinusShape = table.Map("",
	table.Must("side", table.Word("the patient's own", "right", "left")),
	table.Must("health", table.Word("of the sinus on the scan before surgery", "clear", "treated and clear", "not clear", "not assessed")),
	table.Must("approach", table.Word("", "lateral window", "transcrestal")),
	table.Must("outcome", table.Word("", "completed", "aborted")),
	table.Must("perforation", table.Either("of the membrane, seen at surgery",
		table.Word("", "none"),
		table.Map("",
			table.Must("size_mm", tearSize),
			table.Must("repaired", table.Bool("")),
		))),
	table.Usually("widths", table.List("bucco-palatal, wall to wall, each with its level; needed unless aborted", 1, widthShape)),
	table.May("window", windowShape),
	table.May("anterior_wall_at_mm", along("where the front wall of the sinus stands")),
	table.May("septa", table.List("bony septa that stand up from the floor", 0, table.Map("",
		table.Must("at_mm", along("along the arch")),
		table.Must("height_mm", table.Number("above the floor", "mm", leastTearMM, mostLevelMM)),
	))),
	table.Usually("graft", table.Map("needed unless aborted",
		table.Must("material", table.Word("", "autogenous", "allograft", "xenograft", "alloplast", "mixture with autogenous", "none")),
		table.Must("additive", table.Word("biologic", "none", "platelet-rich fibrin", "rhPDGF-BB", "rhBMP-2")),
		table.Usually("height_mm", table.Number("top of the graft above the sinus floor", "mm", 1, mostGraftMM)),
	)),
	table.Usually("implants", table.List("placed or planned; needed unless aborted", 1, implantShape)),
)

var tearSize = table.Number("largest extent of a perforation", "mm", leastTearMM, mostTearMM)

var widthShape = table.Map("",
	table.Must("mm", table.Number("from wall to wall", "mm", leastWidthMM, mostWidthMM)),
	table.Usually("above_floor_mm", table.Number("level above the sinus floor", "mm", 0, mostLevelMM)),
	table.May("above_crest_mm", table.Number("or level above the crest", "mm", 0, mostLevelMM+mostResidualMM)),
)

var windowShape = table.Map("the opening in the lateral wall, as measured",
	table.Must("from_mm", along("front edge along the arch")),
	table.Must("to_mm", along("back edge along the arch")),
	table.Must("lower_edge_above_floor_mm", table.Number("", "mm", 0, mostLevelMM)),
	table.Must("height_mm", table.Number("", "mm", 1, mostWindowMM)),
	table.Must("lid", table.Word("the bony lid", "removed", "repositioned")),
)

var implantShape = table.Map("",
	table.Must("tooth", table.OneOf("upper posterior position in two-digit notation, ISO 3950", teeth...)),
	table.Usually("at_mm", along("along the arch, growing towards the back; needed with a second implant, a measured window, a septum or a front wall")),
	table.May("off_midline_mm", table.Number("of the sinus, + towards the lateral wall; left out: on the mid-line", "mm", -mostOffMidlineMM, mostOffMidlineMM)),
	table.Must("residual_bone_mm", table.Number("from crest to sinus floor", "mm", 0, mostResidualMM)),
	table.Must("length_mm", table.Number("", "mm", leastLengthMM, mostLengthMM)),
	table.Must("diameter_mm", table.Number("", "mm", leastDiameterMM, mostDiameterMM)),
	table.Must("placed", table.Word("", string(graft.WithTheGraft), string(graft.Later))),
	table.Usually("insertion_torque_ncm", table.Either("needed when placed with the graft",
		table.Number("", "Ncm", 0, mostTorqueNcm),
		table.Word("the surgery lies ahead", notYet))),
	table.Must("closure", table.Word("how the soft tissue lies, or will lie, over it", string(graft.Submerged), string(graft.ThroughTheGum))),
	table.Usually("loading", table.Word("needed when placed with the graft", "protected", "not protected")),
	table.Must("restoration", table.Text("implants of one restoration are loaded together")),
)

// notYet stands for a torque that cannot be known before the surgery.
const notYet = "not yet"

var observationShape = table.Map("",
	table.Must("day", table.Formal("", dayGrammar)),
	table.Must("what", table.Word("", "stability", "infection", "graft removed", "perforation", "image", "attended", "left out")),
	table.May("tooth", table.OneOf("stability: which implant", teeth...)),
	table.May("isq", table.Whole("stability: implant stability quotient", "", 1, mostISQ)),
	table.May("side", table.Word("infection, graft removed, perforation, image: which sinus, when there are two", "right", "left")),
	table.May("size_mm", tearSize),
	table.May("repaired", table.Bool("perforation")),
	table.May("result", table.Word("image: as the surgeon reads it", string(graft.AsExpected), string(graft.Unclear), string(graft.NotAsExpected))),
	table.May("shows", table.Text("image: what it shows")),
	table.May("step", table.Word("attended, left out: which visit", words(graft.Steps)...)),
	table.May("for", table.Text("attended, left out: which restoration, when there are several")),
	table.May("which", table.Text("attended, left out: which of a row of recalls, such as 3 months")),
)

func along(doc string) table.Shape {
	return table.Number(doc, "mm", -mostAlongMM, mostAlongMM)
}

func words[W ~string](list []W) []string {
	texts := make([]string, len(list))
	for i, w := range list {
		texts[i] = string(w)
	}
	return texts
}
