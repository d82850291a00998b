package sheet

import (
	"regexp"
	"slices"

	"graftclock/internal/graft"
)

// widths is how the page's table shares its width: percent for the box to tick
// and for the room to write, the rest for the columns.
type widths struct {
	Landscape   bool
	Tick, Notes int
	most        int // characters up to which a cell of words decides about its column
}

// A4 upright holds a few columns; on its side it is for more, each of them
// narrower, so that one long name does not take the page.
var (
	upright   = widths{Tick: 6, Notes: 18, most: 22}
	landscape = widths{Landscape: true, Tick: 4, Notes: 17, most: 14}
)

const mostUprightColumns = 4

// pageColumns returns the columns that are on the page, each as wide as its
// words ask for, in all sections alike. One of them names the row.
func (s Sheet) pageColumns() ([]column, widths) {
	var columns []column
	for i, c := range s.Columns {
		if !c.OffPage {
			c.Head = graft.OneLine(c.Head)
			columns = append(columns, column{Column: c, ID: len(columns) + 1, at: i})
		}
	}
	shares := upright
	if len(columns) > mostUprightColumns {
		shares = landscape
	}
	sum := 0
	for _, c := range columns {
		sum += s.asks(c, shares.most)
	}
	named := max(0, slices.IndexFunc(columns, func(c column) bool { return c.Names }))
	for i, c := range columns {
		columns[i].Percent = float64(s.asks(c, shares.most)*(100-shares.Tick-shares.Notes)) / float64(sum)
		columns[i].Names = i == named
	}
	return columns, shares
}

// asks returns how many characters wide a column should be with the gap beside
// it: its widest cell up to most characters, but never less than its head and
// the figures that must stay together.
func (s Sheet) asks(c column, most int) int {
	asks := width(c.Head)
	for _, section := range s.Sections {
		for _, row := range section.Rows {
			text := graft.OneLine(row[c.at])
			asks = max(asks, min(width(text), most))
			for _, part := range wordsOf(text) {
				if part.Whole {
					asks = max(asks, width(part.Text))
				}
			}
		}
	}
	return asks + len(gap)
}

// words is a stretch of a cell; figures that belong together are whole, never
// parted at the end of a line if the column holds them.
type words struct {
	Text  string
	Whole bool
}

// together matches telephone numbers with their spaces, days with their weekday,
// times and spans of time.
var together = regexp.MustCompile(`(?:\+|\b0)\d[\d ()-]{4,16}\d|(?:\b(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun) )?\d[\d:.-]{0,18}\d`)

// wordsOf parts a cell into stretches; an empty cell has none.
func wordsOf(text string) []words {
	var parts []words
	end := 0
	for _, found := range together.FindAllStringIndex(text, -1) {
		if end < found[0] {
			parts = append(parts, words{Text: text[end:found[0]]})
		}
		parts = append(parts, words{text[found[0]:found[1]], true})
		end = found[1]
	}
	if end < len(text) {
		parts = append(parts, words{Text: text[end:]})
	}
	return parts
}
