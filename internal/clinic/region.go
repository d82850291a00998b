package clinic

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"github.com/rickar/cal/v2"
)

//go:generate go run genregions/main.go -o regions_gen.go

// regionCode is the form of an ISO 3166-1 alpha-2 or ISO 3166-2 code.
var regionCode = regexp.MustCompile(`^[A-Z]{2}(-[A-Z0-9]{1,3})?$`)

// wayOut ends every refusal of a region.
const wayOut = "leave region out and name the closed days under holidays.add or in a closure file"

// caveats are the lists that are right as far as they go, and how far that is.
var caveats = map[string]string{
	"AR":    "bridge days, and moves of holidays that fall on a weekend, are decreed year by year: name them under holidays.add",
	"CA":    "the list is a union of all provinces' holidays and closes too much: name under holidays.drop those your province works",
	"CH":    "only 1 August is federal; the list holds what most cantons keep: give the canton, such as CH-ZH",
	"CH-GL": "the day of the Näfelser Fahrt in 2027 and 2032 is not settled: ask the canton",
	"DE-BY": "Mariä Himmelfahrt (15 August) depends on the commune and is not in the list: name it under holidays.add where it is kept",
	"GB":    "the list is that of England and Wales: Scotland is GB-SCT, Northern Ireland GB-NIR",
	"KE":    "the days of Eid are set by the moon and are not in the list: name them under holidays.add",
	"MW":    "the days of Eid are set by the moon and are not in the list: name them under holidays.add",
	"NL":    "Good Friday and the yearly 5 May are in the list though many work on them: holidays.drop removes them",
	"RU":    "holidays are moved by a decree each year, which the list does not know: name them under holidays.add",
	"TH":    "the days of the Buddhist moon are not in the list: name them under holidays.add",
	"UA":    "holidays are suspended under martial law: holidays.drop removes them",
}

// regionHolidays returns the corrected holiday list of a region and what its
// users should know of it. A subdivision without a list of its own gets its
// country's, with a note; a region without any is refused.
func regionHolidays(region string) (list []*cal.Holiday, notes []string, err error) {
	if region == "" {
		return nil, []string{"no region: the only public holidays are those of holidays.add"}, nil
	}
	if !regionCode.MatchString(region) {
		return nil, nil, fmt.Errorf("%q is no region: want an ISO 3166 code in capitals, such as IE or DE-BY", region)
	}
	if list, notes, ok := corrected(region); ok {
		return list, withCaveat(region, notes), nil
	}
	country, _, _ := strings.Cut(region, "-")
	list, notes, ok := corrected(country)
	switch {
	case ok && country != region:
		missing := fmt.Sprintf("no holiday list for %s: the list of %s is used and regional days are missing; name them under holidays.add", region, country)
		return list, append([]string{missing}, withCaveat(country, notes)...), nil
	case len(subdivisions(country)) > 0:
		return nil, nil, fmt.Errorf("no holiday list for %s, but there are %s; or %s", region, strings.Join(subdivisions(country), ", "), wayOut)
	}
	return nil, nil, fmt.Errorf("no holiday list for %s; %s", region, wayOut)
}

func withCaveat(code string, notes []string) []string {
	if caveat := caveats[code]; caveat != "" {
		notes = append(notes, "holiday list "+code+": "+caveat)
	}
	return notes
}

// subdivisions lists the codes below a country that have lists of their own.
func subdivisions(country string) (codes []string) {
	for code := range lists {
		if strings.HasPrefix(code, country+"-") {
			codes = append(codes, code)
		}
	}
	slices.Sort(codes)
	return codes
}

// Regions lists every region code that has a holiday list of its own, sorted.
func Regions() []string {
	var codes []string
	for code := range lists {
		codes = append(codes, code)
	}
	for _, c := range corrections {
		if c.base != "" {
			codes = append(codes, c.code)
		}
	}
	slices.Sort(codes)
	return slices.Compact(codes)
}
