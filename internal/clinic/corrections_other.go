package clinic

import (
	"time"

	"github.com/rickar/cal/v2"
	"github.com/rickar/cal/v2/aa"
	"github.com/rickar/cal/v2/ar"
	"github.com/rickar/cal/v2/au"
	"github.com/rickar/cal/v2/mw"
	"github.com/rickar/cal/v2/mx"
	"github.com/rickar/cal/v2/nz"
)

// otherCorrections are those of the Americas, Africa, Asia and the Pacific.
var otherCorrections = []correction{
	{
		code:   "AR",
		drop:   []*cal.Holiday{ar.EasternsDay},
		add:    []*cal.Holiday{aa.GoodFriday.Clone(&cal.Holiday{Name: ar.EasternsDay.Name, Type: cal.ObservancePublic})},
		reason: "Good Friday is the Friday before Easter, not the Thursday",
		source: "Ley 27.399", status: statute,
	},
	{
		code: "AR",
		drop: []*cal.Holiday{ar.GuemesDay, ar.BelgranoDay, ar.SanMartinDay, ar.DiversityDay, ar.SovereigntyDay},
		add: []*cal.Holiday{
			yearly(ar.BelgranoDay.Name, time.June, 20, nil),
			argentineMovable(ar.GuemesDay), argentineMovable(ar.SanMartinDay),
			argentineMovable(ar.DiversityDay), argentineMovable(ar.SovereigntyDay),
		},
		reason: "movable holidays go to the nearest Monday by law; 20 June is fixed",
		source: "Ley 27.399", status: statute,
	},
	{
		code:   "AU-NSW",
		add:    []*cal.Holiday{once(2026, "ANZAC Day (additional)", time.April, 27), once(2027, "ANZAC Day (additional)", time.April, 26)},
		reason: "additional Mondays 27 April 2026 and 26 April 2027",
		source: "declared in February 2026", status: notice,
	},
	{
		code:   "AU-SA",
		drop:   []*cal.Holiday{au.AnzacDayNtQldSa},
		add:    []*cal.Holiday{au.AnzacDay, au.EasterSunday},
		reason: "Easter Sunday is a holiday, the Monday after a Sunday 25 April is not",
		source: "Public Holidays Act 2023 (SA)", status: statute,
	},
	{
		code:   "MW",
		drop:   []*cal.Holiday{mw.BoxingDay},
		add:    []*cal.Holiday{yearly(mw.BoxingDay.Name, time.December, 26, secondToTuesday)},
		reason: "the substitutes of 25 and 26 December do not share a day",
		source: "Public Holidays Act", status: fromMemory,
	},
	{
		code: "MX", replace: true,
		add: []*cal.Holiday{
			yearly(mx.NewYear.Name, time.January, 1, nil),
			nthWeekday(mx.ConstitutionDay.Name, 1, time.Monday, time.February, 0),
			nthWeekday(mx.BenitoJuarezDay.Name, 3, time.Monday, time.March, 0),
			yearly(mx.LabourDay.Name, time.May, 1, nil),
			yearly(mx.IndependenceDay.Name, time.September, 16, nil),
			computed("Change of the federal executive", mexicanInauguration),
			mx.RevolutionDay,
			yearly(mx.ChristmasDay.Name, time.December, 25, nil),
		},
		reason: "5 February and 21 March are kept on Mondays; weekend holidays have no substitute",
		source: "Ley Federal del Trabajo, article 74", status: fromMemory,
	},
	{
		code:   "NZ",
		add:    []*cal.Holiday{nz.Matariki.Clone(&cal.Holiday{StartYear: 2022, EndYear: lastMatariki})},
		reason: "Matariki is a holiday since 2022",
		source: "Te Kāhui o Matariki Public Holiday Act 2022, schedule of the days to 2052", status: statute,
	},
	{
		code: "RU",
		add: []*cal.Holiday{
			yearly(newYearHolidays, time.January, 2, nil), yearly(newYearHolidays, time.January, 3, nil),
			yearly(newYearHolidays, time.January, 4, nil), yearly(newYearHolidays, time.January, 5, nil),
			yearly(newYearHolidays, time.January, 6, nil), yearly(newYearHolidays, time.January, 8, nil),
		},
		reason: "1 to 8 January are holidays",
		source: "Labour Code, article 112", status: statute,
	},
}

const (
	newYearHolidays = "Новогодние каникулы"
	lastMatariki    = 2052 // after it the library answers with the day of 2022
)

// argentineMovable moves a Tuesday or Wednesday back to Monday and a Thursday or
// Friday on to Monday; a weekend stays.
func argentineMovable(h *cal.Holiday) *cal.Holiday {
	shift := map[time.Weekday]int{time.Tuesday: -1, time.Wednesday: -2, time.Thursday: 4, time.Friday: 3}
	return computed(h.Name, func(year int) time.Time {
		d := date(year, h.Month, h.Day)
		return d.AddDate(0, 0, shift[d.Weekday()])
	})
}

// mexicanInauguration is 1 October of every sixth year from 2024.
func mexicanInauguration(year int) time.Time {
	const first, term = 2024, 6
	if year < first || (year-first)%term != 0 {
		return time.Time{}
	}
	return date(year, time.October, 1)
}
