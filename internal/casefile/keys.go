package casefile

import (
	"errors"
	"fmt"
	"regexp"
	"strings"

	"graftclock/internal/table"
)

var toothKey = regexp.MustCompile(`^([12][0-9])\.(.+)$`)

// expand turns a short key into the paths it stands for.
func expand(root map[string]any, key string) ([]string, error) {
	first := firstOf(key)
	if _, known := fieldOf(record, first); known {
		return []string{key}, nil
	}
	tooth := ""
	if m := toothKey.FindStringSubmatch(key); m != nil {
		tooth, key = m[1], m[2]
		first = firstOf(key)
	}
	_, ofSinus := fieldOf(sinusShape, first)
	_, ofImplant := fieldOf(implantShape, first)
	var places []string
	sinuses, _ := root["sinuses"].([]any)
	for n, s := range sinuses {
		at := fmt.Sprintf("sinuses[%d].", n)
		if ofSinus && tooth == "" {
			places = append(places, at+key)
			continue
		}
		sinus, _ := s.(map[string]any)
		implants, _ := sinus["implants"].([]any)
		for m, i := range implants {
			implant, _ := i.(map[string]any)
			if ofImplant && (tooth == "" || fmt.Sprint(implant["tooth"]) == tooth) {
				places = append(places, fmt.Sprintf("%simplants[%d].%s", at, m, key))
			}
		}
	}
	switch {
	case len(places) > 0:
		return places, nil
	case ofImplant && tooth != "":
		return nil, fmt.Errorf("the record has no implant at tooth %s", tooth)
	case ofImplant:
		return nil, fmt.Errorf("the record has no implants")
	case ofSinus && len(sinuses) > 0:
		return nil, fmt.Errorf("%q is a key of the whole sinus; leave out %s", first, tooth)
	}
	message := fmt.Sprintf("%q is no key of the record, of a sinus or of an implant", first)
	if hint := table.DidYouMean(first, allKeys()); hint != "" {
		message += "; " + hint
	}
	return nil, errors.New(message)
}

// firstOf returns the first key of a path, without its index.
func firstOf(key string) string {
	first, _, _ := strings.Cut(strings.SplitN(key, "[", 2)[0], ".")
	return first
}

func fieldOf(s table.Shape, key string) (table.Field, bool) {
	for _, f := range s.Fields {
		if f.Key == key {
			return f, true
		}
	}
	return table.Field{}, false
}

func allKeys() []string {
	var keys []string
	for _, s := range []table.Shape{record, sinusShape, implantShape} {
		for _, f := range s.Fields {
			keys = append(keys, f.Key)
		}
	}
	return keys
}
