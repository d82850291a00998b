package letter

import (
	_ "embed"
	"slices"
	"strings"
	"sync"

	"graftclock/internal/paper"
	"graftclock/internal/table"
)

//go:embed places.yaml
var placesFile []byte

// places is what differs with the country of the clinic.
type places struct {
	usLetter  []string
	emergency map[string]string // by region
}

var readPlaces = sync.OnceValue(func() places {
	regions := table.List("", 1, table.Formal("", regionGrammar))
	v := table.Read("internal/letter/places.yaml", placesFile, table.Map("",
		table.Must("us_letter", regions),
		table.Must("emergency", table.List("", 1, table.Map("", table.Must("number", table.Text("")), table.Must("regions", regions)))),
	))
	if len(v.Faults()) > 0 {
		panic(v.Faults()) // the file is part of the program
	}
	p := places{emergency: map[string]string{}}
	for _, region := range v.Get("us_letter").Items() {
		p.usLetter = append(p.usLetter, region.Text())
	}
	for _, row := range v.Get("emergency").Items() {
		for _, region := range row.Get("regions").Items() {
			p.emergency[region.Text()] = row.Get("number").Text()
		}
	}
	return p
})

// country is the ISO 3166-1 part of a region such as DE-BY.
func country(region string) string {
	code, _, _ := strings.Cut(region, "-")
	return code
}

// PaperOf is the size of the paper in the printers of a region, ISO 3166-1 or 3166-2; A4
// for none.
func PaperOf(region string) paper.Size {
	if slices.Contains(readPlaces().usLetter, country(region)) {
		return paper.USLetter
	}
	return paper.A4
}

// emergencyOf is the public emergency number of a region; empty where none is known.
func emergencyOf(region string) string { return readPlaces().emergency[country(region)] }
