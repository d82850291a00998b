package drawing_test

import (
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"graftclock/internal/drawing"
)

// TestTextThatXMLForbidsIsReplaced wants a well-formed picture whatever a label says.
func TestTextThatXMLForbidsIsReplaced(t *testing.T) {
	nasty := "a\x00b\x1b\xff￾c\tÄ"
	d := drawing.Drawing{ID: "d", Title: nasty, Says: nasty, WidthMM: 1, HeightMM: 1}
	d.Add(drawing.Label{Text: nasty, SizeMM: 1})
	reader := xml.NewDecoder(strings.NewReader(string(d.SVG())))
	for {
		_, err := reader.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if got := string(d.SVG()); strings.Count(got, "c\tÄ") != 3 {
		t.Errorf("text that may stand was lost:\n%s", got)
	}
}
