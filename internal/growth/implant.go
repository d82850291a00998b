package growth

import "fmt"

// Implant is one implant as an upright cylinder. Its crest end lies ResidualMM
// below the sinus floor, so the part above the floor needs the graft to turn
// to bone.
type Implant struct {
	AtMM         float64 // axis along the arch, mm, from the record's own origin
	OffMidlineMM float64 // axis from the sinus mid-line, mm, + towards the lateral wall; 0: on it
	ResidualMM   float64 // bone height below the floor, mm, 0 or more; 0: none
	LengthMM     float64 // crest to apex, mm, above 0
	DiameterMM   float64 // mm, above 0
}

// GraftedMM is the length of the implant above the sinus floor in mm: 0 when
// the residual bone covers it whole.
func (i Implant) GraftedMM() float64 { return max(0, i.LengthMM-i.ResidualMM) }

func (i Implant) validate() error {
	return firstError(
		place("implant along the arch", i.AtMM),
		place("implant off the mid-line", i.OffMidlineMM),
		within("residual bone", i.ResidualMM, 0),
		above("implant length", i.LengthMM, 0),
		above("implant diameter", i.DiameterMM, 0),
	)
}

// place accepts a position: any number of a measurable size.
func place(name string, mm float64) error { return within(name, mm, -longestMM) }

// within accepts lowest and more, up to the longest measurable length.
func within(name string, mm, lowest float64) error {
	if mm >= lowest && mm <= longestMM {
		return nil
	}
	return fmt.Errorf("%s: %v mm is not between %v and %v mm", name, mm, lowest, float64(longestMM))
}

// above accepts what is more than the bound, up to the longest measurable length.
func above(name string, mm, bound float64) error {
	if mm > bound && mm <= longestMM {
		return nil
	}
	return fmt.Errorf("%s: %v mm is not above %v mm and at most %v mm", name, mm, bound, float64(longestMM))
}

func firstError(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
