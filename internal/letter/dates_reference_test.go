package letter

import (
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/reference"
)

// The days that are compared hold 29 February 2028 and the ends of two years.
const comparedDays = 400

var (
	firstCompared = day.New(2027, 12, 1)
	comparedTimes = []string{"00:05", "00:30", "01:00", "08:00", "09:05", "11:59", "12:00", "12:30", "14:05", "23:59"}
)

// spelledLike is the locale whose dates a tag without a region follows, where Intl takes
// the tag for another: English alone is American to it, and Irish here.
var spelledLike = map[string]string{"en": "en-IE"}

// onlyTheComma are the locales that put a comma after the weekday in a day with its year
// and none in a day without, or the other way round. A sentence of the letter may hold
// both, and keeps to the one of the day with its year.
var onlyTheComma = []string{"en-AU", "en-GB", "en-IE"}

// otherTimes are the locales whose time at 14:05 is in a form that the letter does not
// use: it prints the same time in one of its two, 14:05 or 2:05 PM.
var otherTimes = map[string]string{
	"en-AU": "2:05 pm", "en-NZ": "2:05 pm", "en-CA": "2:05 p.m.",
	"es-MX": "2:05 p.m.", "es-US": "2:05 p.m.",
	"es-AR": "2:05 p. m.", "es-CL": "2:05 p. m.", "es-CO": "2:05 p. m.", "es-PE": "2:05 p. m.",
	"fr-CA": "14 h 05",
}

// shortHours are the locales that print 9:05 where the letter prints 09:05.
var shortHours = []string{"es", "es-ES"}

// spelled are the texts of Intl: by locale, kind and ISO day or time.
type spelled map[[3]string]string

func intl(t *testing.T, locales []string) spelled {
	t.Helper()
	arguments := append([]string{filepath.Join(reference.Folder(), "dates_intl.mjs"), firstCompared.String(), strconv.Itoa(comparedDays), strings.Join(comparedTimes, ",")}, locales...)
	out, err := exec.CommandContext(t.Context(), reference.Node(t), arguments...).Output()
	if err != nil {
		t.Fatal(err)
	}
	all := spelled{}
	for line := range strings.Lines(string(out)) {
		fields := strings.Split(strings.TrimSuffix(line, "\n"), "\t")
		if len(fields) != 4 {
			t.Fatalf("%d fields in %q", len(fields), line)
		}
		all[[3]string(fields)] = fields[3]
	}
	return all
}

func localeOf(tag string) string {
	if like, ok := spelledLike[tag]; ok {
		return like
	}
	return tag
}

// TestDatesAreThoseOfIntl compares with the Unicode CLDR data in Node's Intl.
func TestDatesAreThoseOfIntl(t *testing.T) {
	tags := BuiltIn().Tags()
	var locales []string
	for _, tag := range tags {
		locales = append(locales, localeOf(tag))
	}
	slices.Sort(locales)
	reference := intl(t, slices.Compact(locales))
	for _, tag := range tags {
		_, words, err := BuiltIn().formsFor(tag)
		if err != nil {
			t.Fatal(err)
		}
		t.Run(tag, func(t *testing.T) {
			compareDays(t, words, localeOf(tag), reference)
			compareTimes(t, words, localeOf(tag), reference)
		})
	}
}

func compareDays(t *testing.T, words *wording, locale string, want spelled) {
	compared := 0
	differ := func(d day.Day, kind, got, want string) {
		if compared++; got != want {
			t.Errorf("%s, %s: %q, Intl %q", d, kind, got, want)
		}
	}
	for n := 0; n < comparedDays && !t.Failed(); n++ {
		d := firstCompared.AddDays(n)
		differ(d, "day", words.day(d), want[[3]string{locale, "day", d.String()}])
		got, short := words.spell(words.Dates.NoYear, d), want[[3]string{locale, "day without year", d.String()}]
		if slices.Contains(onlyTheComma, locale) {
			got, short = strings.ReplaceAll(got, ",", ""), strings.ReplaceAll(short, ",", "")
		}
		differ(d, "day without year", got, short)
	}
	if !t.Failed() && compared != 2*comparedDays {
		t.Errorf("%d texts compared", compared)
	}
}

func compareTimes(t *testing.T, words *wording, locale string, want spelled) {
	if other, ok := otherTimes[locale]; ok {
		if got := want[[3]string{locale, "time", "14:05"}]; got != other {
			t.Errorf("Intl prints 14:05 as %q, and no longer as %q", got, other)
		}
	}
	for _, text := range comparedTimes {
		clock, err := day.ParseClock(text)
		if err != nil {
			t.Fatal(err)
		}
		got, there := words.time(clock), want[[3]string{locale, "time", text}]
		if _, other := otherTimes[locale]; other {
			if minutesOf(t, got) != int(clock) || minutesOf(t, there) != int(clock) || !oneOfTwoForms.MatchString(got) {
				t.Errorf("%s: %q, Intl %q", text, got, there)
			}
			continue
		}
		if slices.Contains(shortHours, locale) {
			got = strings.TrimPrefix(got, "0")
		}
		if got != there {
			t.Errorf("%s: %q, Intl %q", text, got, there)
		}
	}
}

var (
	oneOfTwoForms = regexp.MustCompile(`^(\d\d:\d\d|\d{1,2}:\d\d [AP]M)$`)
	anyTime       = regexp.MustCompile(`^(\d{1,2})(?::| h )(\d\d)(?: ([ap])\.? ?m\.?)?$`)
)

// minutesOf reads a time in any of the forms above.
func minutesOf(t *testing.T, text string) int {
	t.Helper()
	parts := anyTime.FindStringSubmatch(strings.ToLower(text))
	if parts == nil {
		t.Fatalf("%q is no time", text)
	}
	hour, _ := strconv.Atoi(parts[1])
	minute, _ := strconv.Atoi(parts[2])
	switch parts[3] {
	case "a":
		hour %= 12
	case "p":
		hour = hour%12 + 12
	}
	return hour*60 + minute
}

// TestExceptionsOfDatesAreOfLanguagesThereAre keeps the lists above from outliving a language.
func TestExceptionsOfDatesAreOfLanguagesThereAre(t *testing.T) {
	tags := BuiltIn().Tags()
	listed := slices.Concat(onlyTheComma, shortHours)
	for tag := range otherTimes {
		listed = append(listed, tag)
	}
	for tag, like := range spelledLike {
		listed = append(listed, tag, like)
	}
	for _, tag := range listed {
		if !slices.Contains(tags, tag) {
			t.Errorf("%s is an exception, and no language of the letters", tag)
		}
	}
}
