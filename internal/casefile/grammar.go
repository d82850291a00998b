package casefile

import (
	"fmt"
	"regexp"
	"strings"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/table"
)

const dayPattern = `[0-9]{4}-[0-9]{2}-[0-9]{2}`

var (
	dayGrammar = &table.Grammar{Name: "a day as YYYY-MM-DD", Pattern: dayPattern, Format: "date",
		Check: parses(day.Parse)}
	spanGrammar = &table.Grammar{Name: "a day or FROM..TO", Pattern: dayPattern + `(\.\.` + dayPattern + `)?`,
		Check: parses(day.ParseSpan)}
	weekdaysGrammar = &table.Grammar{Name: "a weekday such as mon, or a run such as mon-thu", Pattern: weekdayPattern + `(-` + weekdayPattern + `)?`,
		Check: parses(day.ParseWeekdays)}
	hoursGrammar = &table.Grammar{Name: "hours as HH:MM-HH:MM", Pattern: clockPattern + `-` + clockPattern,
		Check: parses(day.ParseHours)}
	languageGrammar = &table.Grammar{Name: "a language tag such as en or pt-BR (BCP 47)", Pattern: languagePattern, Check: language}
	regionGrammar   = &table.Grammar{Name: "a region such as IE or DE-BY (ISO 3166)", Pattern: regionPattern, Check: region}
	zoneGrammar     = &table.Grammar{Name: "a time zone such as Europe/Dublin (IANA)", Pattern: zonePattern, Check: zone}
)

const (
	weekdayPattern  = `(mon|tue|wed|thu|fri|sat|sun)`
	clockPattern    = `(([01][0-9]|2[0-3]):[0-5][0-9]|24:00)`
	languagePattern = `[a-z]{2,3}(-[A-Z][a-z]{3})?(-[A-Z]{2}|-[0-9]{3})?`
	zonePattern     = `[A-Za-z_+\-0-9]+(/[A-Za-z_+\-0-9]+)*`
	regionPattern   = `[A-Z]{2}(-[A-Z0-9]{1,3})?`
)

var (
	languageForm = regexp.MustCompile("^" + languagePattern + "$")
	zoneForm     = regexp.MustCompile("^" + zonePattern + "$")
	regionForm   = regexp.MustCompile("^" + regionPattern + "$")
)

// parses turns a parser into a check.
func parses[T any](parse func(string) (T, error)) func(string) error {
	return func(text string) error {
		_, err := parse(text)
		return err
	}
}

func language(text string) error {
	if languageForm.MatchString(text) {
		return nil
	}
	return fmt.Errorf("%q is no language tag: want one such as en or pt-BR (BCP 47)", text)
}

func region(text string) error {
	switch {
	case regionForm.MatchString(text):
		return nil
	case regionForm.MatchString(strings.ToUpper(text)):
		return fmt.Errorf("%q is no region: want capital letters; did you mean %s?", text, strings.ToUpper(text))
	}
	return fmt.Errorf("%q is no region: want a code such as IE or DE-BY (ISO 3166)", text)
}

// zone accepts IANA names only: "Local" and "" would mean this machine's own,
// and Europe//Dublin is a path of its zone files.
func zone(text string) error {
	if _, err := time.LoadLocation(text); err != nil || text == "Local" || !zoneForm.MatchString(text) {
		return fmt.Errorf("%q is no time zone: want a name such as Europe/Dublin (IANA)", text)
	}
	return nil
}
