package letter

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"graftclock/internal/paper"
	"graftclock/internal/reference"
)

// supplemental reads a file of the supplemental data of Unicode CLDR into a value.
func supplemental(t *testing.T, name string, into any) {
	t.Helper()
	reference.Node(t, "cldr-core")
	data, err := os.ReadFile(filepath.Join(reference.Folder(), "node_modules", "cldr-core", "supplemental", name))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, into); err != nil {
		t.Fatal(err)
	}
}

// TestPaperIsThatOfCLDR compares every territory of CLDR, and every code that is none.
func TestPaperIsThatOfCLDR(t *testing.T) {
	var sizes struct {
		Supplemental struct {
			MeasurementData struct{ PaperSize map[string]string }
		}
	}
	supplemental(t, "measurementData.json", &sizes)
	paperSize := sizes.Supplemental.MeasurementData.PaperSize
	names := map[string]paper.Size{"A4": paper.A4, "US-Letter": paper.USLetter}
	compared := 0
	for _, first := range "ABCDEFGHIJKLMNOPQRSTUVWXYZ" {
		for _, second := range "ABCDEFGHIJKLMNOPQRSTUVWXYZ" {
			region := string([]rune{first, second})
			name, ok := paperSize[region]
			if !ok {
				name = paperSize["001"] // the world
			}
			want, ok := names[name]
			if !ok {
				t.Fatalf("%s: CLDR knows the paper %q", region, name)
			}
			delete(paperSize, region)
			for _, r := range []string{region, region + "-01", region + "-BY"} {
				if got := PaperOf(r); got != want {
					t.Errorf("%s: paper %d, CLDR %s", r, got, name)
				}
			}
			compared++
		}
	}
	if delete(paperSize, "001"); len(paperSize) > 0 {
		t.Errorf("not compared: %v", paperSize)
	}
	if PaperOf("") != paper.A4 || compared != 26*26 {
		t.Errorf("a clinic without a region does not print on A4, or %d regions were compared", compared)
	}
}

// TestPlacesAreTerritories wants every region of places.yaml to be one, and to stand there
// once in each list.
func TestPlacesAreTerritories(t *testing.T) {
	var info struct {
		Supplemental struct{ TerritoryInfo map[string]any }
	}
	supplemental(t, "territoryInfo.json", &info)
	territories := info.Supplemental.TerritoryInfo
	places := readPlaces()
	seen := map[string]bool{}
	for _, region := range places.usLetter {
		if seen[region] || territories[region] == nil {
			t.Errorf("us_letter: %s is no territory of CLDR, or is there twice", region)
		}
		seen[region] = true
	}
	for region, number := range places.emergency {
		if territories[region] == nil || number == "" {
			t.Errorf("emergency: %s with %q is no territory of CLDR, or has no number", region, number)
		}
	}
}
