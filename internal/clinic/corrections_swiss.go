package clinic

import (
	"time"

	"github.com/rickar/cal/v2"
	"github.com/rickar/cal/v2/ch"
)

const cantonal = "cantonal list; other published lists agree"

// swissCorrections are those of Switzerland, whose holidays are the cantons' but
// for one.
var swissCorrections = []correction{
	{
		code: "CH", replace: true,
		add: []*cal.Holiday{
			ch.Neujahr, ch.Karfreitag, ch.Ostermontag, ch.Auffahrt, ch.Pfingstmontag,
			ch.Bundesfeiertag, ch.Weihnachtstag, ch.ZweiterWeihnachtsfeiertag,
		},
		reason: "a union of all cantons, cut to the days most of them keep",
		source: "Federal Constitution, article 110, for 1 August; the others by custom", status: fromMemory,
	},
	{
		code:   "CH-FR",
		add:    []*cal.Holiday{ch.MariaEmpfangnis},
		reason: "8 December (Catholic communes)", source: cantonal, status: fromMemory,
	},
	{
		code:   "CH-GE",
		drop:   []*cal.Holiday{ch.Fronleichnam},
		add:    []*cal.Holiday{nthWeekday("Jeûne genevois", 1, time.Sunday, time.September, 4), yearly("Restauration de la République", time.December, 31, nil)},
		reason: "Jeûne genevois and 31 December instead of Corpus Christi", source: cantonal, status: fromMemory,
	},
	{
		code:   "CH-GL",
		add:    []*cal.Holiday{computed("Näfelser Fahrt", naefelserFahrt)},
		reason: "Näfelser Fahrt, a week later when it would fall in Holy Week", source: cantonal, status: fromMemory,
	},
	{
		code:   "CH-JU",
		add:    []*cal.Holiday{yearly("Commémoration du plébiscite", time.June, 23, nil)},
		reason: "23 June", source: cantonal, status: fromMemory,
	},
	{
		code:   "CH-NE",
		add:    []*cal.Holiday{yearly("Instauration de la République", time.March, 1, nil), ch.Ostermontag},
		reason: "1 March, and Easter Monday by custom", source: cantonal, status: fromMemory,
	},
	{
		code:   "CH-OW",
		add:    []*cal.Holiday{yearly("Bruderklausenfest", time.September, 25, nil)},
		reason: "25 September", source: cantonal, status: fromMemory,
	},
	{
		code:   "CH-TI",
		add:    []*cal.Holiday{yearly("San Pietro e Paolo", time.June, 29, nil)},
		reason: "29 June", source: cantonal, status: fromMemory,
	},
	{
		code:   "CH-VD",
		add:    []*cal.Holiday{nthWeekday("Lundi du Jeûne", 3, time.Sunday, time.September, 1)},
		reason: "the Monday after the federal day of prayer", source: cantonal, status: fromMemory,
	},
	{
		code:   "CH-ZG",
		add:    []*cal.Holiday{ch.Fronleichnam, ch.MariaHimmelfahrt, ch.MariaEmpfangnis},
		reason: "Corpus Christi, 15 August and 8 December", source: "published by the canton", status: notice,
	},
}

// naefelserFahrt is the first Thursday of April, or the second when the first
// falls in Holy Week.
func naefelserFahrt(year int) time.Time {
	const week = 7
	thursday := cal.DayStart(cal.WeekdayN(year, time.April, time.Thursday, 1))
	easter := cal.CalcEasterOffset(&cal.Holiday{}, year)
	if thursday.Before(easter) && !thursday.Before(easter.AddDate(0, 0, 1-week)) {
		return thursday.AddDate(0, 0, week)
	}
	return thursday
}
