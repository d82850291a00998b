package letter

import (
	"bytes"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"graftclock/internal/graft"
)

// Presets are the after-care presets that the letter has a sentence for.
var Presets = []string{"nose_blowing", "flying", "pressure_and_wind_instruments", "exercise", "soft_diet"}

const (
	daysInWeek   = 7
	monthsInYear = 12
)

// readWords reads a words file. Every key of wording must be there and every key
// there must be of wording.
func readWords(file []byte) (*wording, error) {
	var w wording
	decoder := yaml.NewDecoder(bytes.NewReader(file))
	decoder.KnownFields(true)
	if err := decoder.Decode(&w); err != nil {
		return nil, err
	}
	faults := slices.Concat(emptyIn(reflect.ValueOf(w), ""), incomplete(&w))
	if len(faults) > 0 {
		return nil, fmt.Errorf("missing or wrong: %s", strings.Join(faults, ", "))
	}
	return &w, nil
}

// emptyIn lists the paths of what says nothing below v, which stands at path.
func emptyIn(v reflect.Value, path string) []string {
	var faults []string
	switch v.Kind() {
	case reflect.String:
		if strings.TrimSpace(v.String()) == "" {
			faults = append(faults, path)
		}
	case reflect.Struct:
		faults = emptyFields(v, path)
	case reflect.Slice:
		if v.Len() == 0 {
			faults = append(faults, path)
		}
		for i := range v.Len() {
			faults = append(faults, emptyIn(v.Index(i), fmt.Sprintf("%s[%d]", path, i))...)
		}
	case reflect.Map:
		for _, key := range v.MapKeys() {
			faults = append(faults, emptyIn(v.MapIndex(key), path+"."+key.String())...)
		}
		slices.Sort(faults)
	}
	return faults
}

func emptyFields(v reflect.Value, path string) []string {
	var faults []string
	for i := range v.NumField() {
		name, options, _ := strings.Cut(v.Type().Field(i).Tag.Get("yaml"), ",")
		if options == "omitempty" {
			continue
		}
		if name == "" {
			name = strings.ToLower(v.Type().Field(i).Name)
		}
		faults = append(faults, emptyIn(v.Field(i), strings.TrimPrefix(path+"."+name, "."))...)
	}
	return faults
}

// incomplete lists the lists of the file that do not hold what the program
// knows: each step, side, approach and preset once, and signs that ask for
// something.
func incomplete(w *wording) []string {
	faults := slices.Concat(
		notSame("steps", keysOf(w.Steps), graft.Steps),
		notSame("sides", keysOf(w.Sides), []graft.Side{graft.Right, graft.Left}),
		notSame("surgery.how", keysOf(w.Surgery.How), []graft.Approach{graft.LateralWindow, graft.Transcrestal}),
	)
	if len(w.Dates.Weekdays) != daysInWeek || len(w.Dates.Months) != monthsInYear {
		faults = append(faults, "dates.weekdays or dates.months")
	}
	var presets, ids []string
	for _, limit := range w.Limits.Dated {
		presets = append(presets, limit.Preset)
	}
	for _, s := range w.Signs {
		if s.SameDay == "" && s.Emergency == "" || slices.Contains(ids, s.ID) {
			faults = append(faults, "signs "+s.ID)
		}
		ids = append(ids, s.ID)
	}
	return append(faults, notSame("limits.dated", presets, Presets)...)
}

func keysOf[K comparable, V any](m map[K]V) []K {
	var keys []K
	for key := range m {
		keys = append(keys, key)
	}
	return keys
}

// notSame names what only one of the two lists has, or one has twice.
func notSame[T ~string](path string, got, want []T) []string {
	var faults []string
	for _, w := range want {
		if !slices.Contains(got, w) {
			faults = append(faults, path+"."+string(w))
		}
	}
	for i, g := range got {
		if !slices.Contains(want, g) || slices.Contains(got[:i], g) {
			faults = append(faults, path+"."+string(g))
		}
	}
	slices.Sort(faults)
	return faults
}
