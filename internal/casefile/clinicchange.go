package casefile

import (
	"fmt"
	"reflect"
	"slices"

	"graftclock/internal/clinic"
	"graftclock/internal/table"
)

// ClinicChange is one change of a clinic file: any of the types of this package that
// are named for what they do, such as AddClosure.
type ClinicChange interface {
	// Tell says how what the change is about stands in a clinic, in half a line: told
	// before and after, it says what was changed.
	Tell(c Clinic) string
	// write makes the change in the file's text.
	write(text []byte, c Clinic) ([]byte, error)
	// apply makes it in the file's values.
	apply(s *Clinic)
}

// ChangeClinic makes changes, one after the other, in the text of a clinic file. What
// they do not touch stays byte for byte: comments, order, blank lines, quotation marks.
// The changed text is read anew and says exactly what was asked for and nothing else.
// The error is a change that cannot be made, such as one of a person whom the file does
// not have; the faults are those of the file, or of the changed file, and with either
// there is no text. Open is as for ReadClinic.
func ChangeClinic(name string, data []byte, changes []ClinicChange, open func(string) ([]byte, error)) ([]byte, Clinic, table.Faults, error) {
	c, faults := ReadClinic(name, data, open)
	if len(faults) > 0 {
		return nil, c, faults, nil
	}
	for _, change := range changes {
		text, err := change.write(data, c)
		if err != nil {
			return nil, c, nil, err
		}
		changed, faults := ReadClinic(name, text, open)
		if len(faults) > 0 {
			return nil, changed, faults, nil
		}
		if change.apply(&c); !sameClinic(c, changed) {
			return nil, changed, nil, fmt.Errorf("the changed file does not say what was asked for; it is left as it was")
		}
		data, c = text, changed
	}
	return data, c, nil, nil
}

// sameClinic reports whether two clinic files say the same.
func sameClinic(a, b Clinic) bool {
	a.Lines, b.Lines = nil, nil
	a.Digest, b.Digest = "", ""
	return reflect.DeepEqual(a, b)
}

// hasNo says that the file lacks what a change is about.
func hasNo(what string) error { return fmt.Errorf("the clinic file has no %s", what) }

// closureText is a run of days as a reader wants it.
func closureText(c clinic.Closure) string {
	if c.To.IsZero() || c.To == c.From {
		return fmt.Sprintf("%s (%s)", c.From, c.Name)
	}
	return fmt.Sprintf("%s to %s (%s)", c.From, c.To, c.Name)
}

// more and fewer leave the list that they are given as it is.
func more[T any](list []T, x T) []T { return append(slices.Clone(list), x) }

// fewer returns a list without one of its entries; without the last one there is none.
func fewer[T any](list []T, n int) []T {
	if len(list) == 1 {
		return nil
	}
	return slices.Delete(slices.Clone(list), n, n+1)
}
