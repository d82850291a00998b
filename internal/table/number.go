package table

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"
)

var (
	numberWithUnit = regexp.MustCompile(`^(-?[0-9]+(?:[.,][0-9]+)?) *([A-Za-z]+)$`)
	plainNumber    = regexp.MustCompile(`^[-+]?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?$`)
	decimalComma   = regexp.MustCompile(`^(-?[0-9]+),([0-9]+)$`)
)

// lengths are the units of length that a slip may have used, in millimetres.
var lengths = map[string]float64{"mm": 1, "cm": 10, "m": 1000}

func (r *reading) number(n *yaml.Node, path string, s Shape) {
	if !isNumber(n) {
		r.complain(n, path, quote(n.Value), s.Allows(), s.numberHint(n))
		return
	}
	v, err := strconv.ParseFloat(n.Value, 64)
	switch {
	case err != nil || !plainNumber.MatchString(n.Value):
		r.complain(n, path, quote(n.Value), s.Allows(), "write it in plain decimal digits")
	case v < s.Min || v > s.Max:
		r.complain(n, path, s.withUnit(n.Value), s.Allows(), s.scaleHint(v))
	case len(s.Only) > 0 && !slices.Contains(s.Only, int(v)):
		r.complain(n, path, n.Value, s.Allows(), "")
	case s.Whole && v != math.Trunc(v):
		r.complain(n, path, n.Value, s.Allows(), "")
	}
}

// numberHint explains text that was meant as a number.
func (s Shape) numberHint(n *yaml.Node) string {
	text := n.Value
	if plainNumber.MatchString(text) && !isNumber(n) {
		return "write it without quotation marks: " + text
	}
	if m := decimalComma.FindStringSubmatch(text); m != nil {
		return "write a decimal point: " + m[1] + "." + m[2]
	}
	m := numberWithUnit.FindStringSubmatch(text)
	if m == nil {
		return ""
	}
	v, err := strconv.ParseFloat(strings.Replace(m[1], ",", ".", 1), 64)
	factor, length := lengths[m[2]]
	if err != nil || length && s.Unit != "mm" || !length && m[2] != s.Unit {
		return "write the number alone, without a unit"
	}
	if length {
		v *= factor
	}
	return fmt.Sprintf("write the number alone, in %s: %s", s.Unit, decimal(v))
}

// scaleHint recognises a length in millimetres that was written in centimetres
// or without its decimal point.
func (s Shape) scaleHint(v float64) string {
	if s.Unit != "mm" {
		return ""
	}
	const millimetresPerCentimetre = 10
	for _, meant := range []float64{v / millimetresPerCentimetre, v * millimetresPerCentimetre} {
		if meant >= s.Min && meant <= s.Max && meant > 0 {
			return fmt.Sprintf("did you mean %s? lengths are in millimetres", decimal(meant))
		}
	}
	return ""
}

func (s Shape) withUnit(text string) string {
	if s.Unit == "" {
		return text
	}
	return text + " " + s.Unit
}

// decimal writes a number without the noise of binary fractions: 0.57 cm is 5.7 mm.
func decimal(v float64) string {
	const places = 1e6
	return strconv.FormatFloat(math.Round(v*places)/places, 'f', -1, 64)
}
