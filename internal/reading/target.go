package reading

import "fmt"

// Target is what a letter to patients must reach in one language.
type Target struct {
	Formula string  // name of the formula
	Limit   float64 // itself included
	Lower   bool    // whether less than Limit is easier
	Why     string  // where the limit is from
}

// Says is the target in words: "Flesch-Kincaid grade at most 6.0".
func (t Target) Says() string {
	if t.Lower {
		return fmt.Sprintf("%s at most %.1f", t.Formula, t.Limit)
	}
	return fmt.Sprintf("%s at least %.1f", t.Formula, t.Limit)
}

func (t Target) met(value float64) bool {
	if t.Lower {
		return value <= t.Limit
	}
	return value >= t.Limit
}

// Where a scale was made for school grades the limit is the grade that notices to
// patients aim at. Where it is a scale of ease the limit is where its first band
// begins that has "easy" in its name: 65 of INFLESZ, 70 of the two Flesch
// calibrations (60 to 70 is plain or medium, 70 to 80 fairly easy, 80 to 90 easy), and
// the band called easy of the Polish scale.
var (
	englishTarget = Target{"Flesch-Kincaid grade", 6.0, true, "grade 6: J Dent Hyg 2016;90:28; Am Fam Physician 2015;92:118-124"}
	spanishTarget = Target{"INFLESZ", 65, false, "fairly easy: An Sist Sanit Navar 2008;31:135-152"}
	germanTarget  = Target{"Amstad", 70, false, "fairly easy on the scale of Flesch, which the formula keeps"}
	frenchTarget  = Target{"Kandel-Moles", 70, false, "fairly easy on the scale of Flesch, which the formula keeps"}
	polishTarget  = Target{"Pisarek", 10, true, "easy on the formula's scale"}
)
