package letter

import (
	"math"
	"regexp"
	"strconv"
	"testing"

	"graftclock/internal/drawing"
)

// enhanced is the contrast of text that WCAG 2.2, success criterion 1.4.6, asks for, and
// graphic that of lines which carry meaning, 1.4.11.
const (
	enhanced = 7.0
	graphic  = 3.0
)

// luminance is the relative luminance of an sRGB colour such as "#1b1f1e" or "#fff", by
// the definition of WCAG 2.2.
func luminance(t *testing.T, colour string) float64 {
	t.Helper()
	if len(colour) == len("#fff") {
		colour = string([]byte{'#', colour[1], colour[1], colour[2], colour[2], colour[3], colour[3]})
	}
	rgb, err := strconv.ParseUint(colour[1:], 16, 24)
	if err != nil || len(colour) != len("#ffffff") {
		t.Fatalf("%q is no colour: %v", colour, err)
	}
	linear := func(eightBits uint64) float64 {
		v := float64(eightBits&0xff) / 255
		if v <= 0.04045 {
			return v / 12.92
		}
		return math.Pow((v+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(rgb>>16) + 0.7152*linear(rgb>>8) + 0.0722*linear(rgb)
}

// contrast is the ratio of two colours, from 1 to 21.
func contrast(t *testing.T, a, b string) float64 {
	t.Helper()
	x, y := luminance(t, a), luminance(t, b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

func TestContrastIsThatOfTheGuidelines(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want float64
	}{{"#000", "#ffffff", 21}, {"#fff", "#fff", 1}, {"#777777", "#ffffff", 4.48}, {"#595959", "#fff", 7.00}} {
		if got := contrast(t, c.a, c.b); math.Abs(got-c.want) > 0.005 {
			t.Errorf("%s on %s: %.3f, want %.2f", c.a, c.b, got, c.want)
		}
	}
}

var (
	property = regexp.MustCompile(`--([a-z]+): (#[0-9a-f]{3,6});`)
	coloured = regexp.MustCompile(`(?:^|[;{ ])(color|background|background-color): ?(#[0-9a-fA-F]{3,6})`)
)

// TestWordsStandOutFromTheirGround reads the colours of the style.
func TestWordsStandOutFromTheirGround(t *testing.T) {
	style, err := layered{program()}.ReadFile(styleFile)
	if err != nil {
		t.Fatal(err)
	}
	colours := map[string]string{"white": "#ffffff"}
	for _, p := range property.FindAllStringSubmatch(string(style), -1) {
		colours[p[1]] = p[2]
	}
	watermark := regexp.MustCompile(`attr\(data-draft\)[^}]*color: (#[0-9a-f]+)`).FindStringSubmatch(string(style))
	if watermark == nil {
		t.Fatal("the style has no watermark")
	}
	colours["watermark"] = watermark[1]
	for _, words := range []string{"ink", "accent"} {
		for _, ground := range []string{"white", "wash", "watermark"} {
			if got := contrast(t, colours[words], colours[ground]); got < enhanced {
				t.Errorf("%s (%s) on %s (%s): %.2f to 1, want %.0f", words, colours[words], ground, colours[ground], got, enhanced)
			}
		}
	}
	for _, c := range coloured.FindAllStringSubmatch(string(style), -1) {
		if known := c[2] == colours["ink"] || c[2] == "#fff" || c[2] == colours["watermark"]; !known {
			t.Errorf("%s: %s is none of the colours above", c[1], c[2])
		}
	}
}

// TestDrawingsHaveTheColoursOfThePage wants the words of a drawing to stand out as well,
// and its tones to be those of the style.
func TestDrawingsHaveTheColoursOfThePage(t *testing.T) {
	style, err := layered{program()}.ReadFile(styleFile)
	if err != nil {
		t.Fatal(err)
	}
	tones := map[string]drawing.Tone{"ink": drawing.Ink, "accent": drawing.Accent, "line": drawing.Hair, "wash": drawing.Wash}
	for _, p := range property.FindAllStringSubmatch(string(style), -1) {
		if tone, ok := tones[p[1]]; ok && tone.Hex() != p[2] {
			t.Errorf("%s is %s in the style and %s in drawings", p[1], p[2], tone.Hex())
		}
		delete(tones, p[1])
	}
	if len(tones) > 0 {
		t.Errorf("the style lacks %v", tones)
	}
	for _, words := range []drawing.Tone{drawing.Ink, drawing.Accent} {
		for _, ground := range []drawing.Tone{drawing.White, drawing.Wash} {
			if got := contrast(t, words.Hex(), ground.Hex()); got < enhanced {
				t.Errorf("%s on %s: %.2f to 1", words.Hex(), ground.Hex(), got)
			}
		}
	}
	if got := contrast(t, drawing.Ink.Hex(), drawing.Hair.Hex()); got < graphic {
		t.Errorf("lines on the shaded months: %.2f to 1, want %.0f", got, graphic)
	}
}
