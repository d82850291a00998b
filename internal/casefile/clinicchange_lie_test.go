package casefile

import (
	"os"
	"strings"
	"testing"

	"graftclock/internal/clinic"
	"graftclock/internal/day"
)

// slip is a change whose text says something else than what was asked for.
type slip struct{ AddClosure }

func (x slip) write(text []byte, c Clinic) ([]byte, error) {
	text, err := x.AddClosure.write(text, c)
	return []byte(strings.Replace(string(text), "grid_minutes: 15", "grid_minutes: 30", 1)), err
}

// TestATextThatSaysMoreThanWasAskedForIsNotKept has the program itself go wrong.
func TestATextThatSaysMoreThanWasAskedForIsNotKept(t *testing.T) {
	data, err := os.ReadFile("testdata/clinic.yaml")
	if err != nil {
		t.Fatal(err)
	}
	run := clinic.Closure{From: day.New(2027, 10, 4), To: day.New(2027, 10, 4), Name: "burst pipe"}
	text, _, faults, err := ChangeClinic("clinic.yaml", data, []ClinicChange{slip{AddClosure{run}}}, nil)
	if text != nil || len(faults) > 0 || err == nil || !strings.Contains(err.Error(), "does not say what was asked for") {
		t.Errorf("%v %v\n%s", faults, err, text)
	}
}
