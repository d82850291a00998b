package desk_test

import (
	"os"
	"path/filepath"
	"testing"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/protocol"
	"graftclock/internal/reference"
)

// demo is a file of the demo clinic.
func demo(t testing.TB, name string) (path string, data []byte) {
	t.Helper()
	path = filepath.Join(reference.Root(), "testdata", "demo", name)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return path, data
}

// demoDesk is the desk of the demo clinic.
func demoDesk(t testing.TB) *desk.Desk {
	t.Helper()
	path, data := demo(t, "clinic.yaml")
	c, faults := casefile.ReadClinic(path, data, os.ReadFile)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return desk.New(c, protocol.Default())
}

// demoCase is a record of the demo clinic.
func demoCase(t testing.TB, name string) casefile.Case {
	t.Helper()
	path, data := demo(t, name+".yaml")
	c, faults := casefile.ReadCase(path, data)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return c
}

// BenchmarkCase reads a record, plans it and fills its six files, without
// writing them. The last two show what each part takes.
func BenchmarkCase(b *testing.B) {
	d, on := demoDesk(b), day.New(2027, 1, 14)
	path, data := demo(b, "fenwick.yaml")
	b.Run("whole", func(b *testing.B) {
		for b.Loop() {
			c, _ := casefile.ReadCase(path, data)
			p, err := d.Plan(c, on)
			if err != nil {
				b.Fatal(err)
			}
			if _, err := d.Outputs(p); err != nil {
				b.Fatal(err)
			}
		}
	})
	c := demoCase(b, "fenwick")
	b.Run("plan", func(b *testing.B) {
		for b.Loop() {
			if _, err := d.Plan(c, on); err != nil {
				b.Fatal(err)
			}
		}
	})
	p, _ := d.Plan(c, on)
	b.Run("outputs", func(b *testing.B) {
		for b.Loop() {
			if _, err := d.Outputs(p); err != nil {
				b.Fatal(err)
			}
		}
	})
}
