package clinic

import (
	"time"

	"github.com/rickar/cal/v2"
	"github.com/rickar/cal/v2/bg"
	"github.com/rickar/cal/v2/de"
	"github.com/rickar/cal/v2/gb"
	"github.com/rickar/cal/v2/rs"
	"github.com/rickar/cal/v2/sk"
	"github.com/rickar/cal/v2/ua"
)

// europeanCorrections are those of Europe but for Switzerland.
var europeanCorrections = []correction{
	{
		code:   "BG",
		drop:   []*cal.Holiday{bg.LabourDay},
		add:    []*cal.Holiday{yearly(bg.LabourDay.Name, time.May, 1, nil), computed(bg.LabourDay.Name, bulgarianMaySubstitute)},
		reason: "1 May is kept whenever Easter falls, its substitute after Easter Monday",
		source: "Labour Code, article 154", status: statute,
	},
	{
		code:   "BG",
		drop:   []*cal.Holiday{bg.ChristmasEve},
		add:    []*cal.Holiday{yearly(bg.ChristmasEve.Name, time.December, 24, []cal.AltDay{{Day: time.Saturday, Offset: 4}, {Day: time.Sunday, Offset: 3}})},
		reason: "the substitute of 24 December falls after 26 December, not on the 25th",
		source: "Labour Code, article 154", status: statute,
	},
	{
		code:   "DE-BE",
		add:    []*cal.Holiday{once(2025, "Tag der Befreiung", time.May, 8), once(2028, "Jahrestag des Volksaufstandes", time.June, 17)},
		reason: "8 May 2025 and 17 June 2028, each once only",
		source: "Berlin law on Sundays and holidays; the day of 2025 also announced", status: fromMemory,
	},
	{
		code:   "DE-MV",
		add:    []*cal.Holiday{de.Frauentag.Clone(&cal.Holiday{StartYear: 2023})},
		reason: "8 March is a holiday since 2023",
		source: "holiday law of Mecklenburg-Vorpommern", status: fromMemory,
	},
	{code: "GB-ENG", base: "GB"},
	{code: "GB-WLS", base: "GB"},
	{
		code: "GB-SCT", base: "GB",
		drop: []*cal.Holiday{gb.EasterMonday, gb.SummerHoliday},
		add: []*cal.Holiday{
			yearly("2 January", time.January, 2, secondToTuesday),
			gb.SummerHolidayScotland,
			yearly("Saint Andrew's Day", time.November, 30, toMonday),
		},
		reason: "2 January, early August and Saint Andrew's Day instead of Easter Monday and late August",
		source: "Banking and Financial Dealings Act 1971; St Andrew's Day Bank Holiday (Scotland) Act 2007", status: fromMemory,
	},
	{
		code:   "GB-SCT",
		add:    []*cal.Holiday{once(2026, "World Cup bank holiday", time.June, 15)},
		reason: "15 June 2026, once only",
		source: "proclaimed for 2026", status: notice,
	},
	{
		code: "GB-NIR", base: "GB",
		add:    []*cal.Holiday{yearly("Saint Patrick's Day", time.March, 17, toMonday), yearly("Battle of the Boyne", time.July, 12, toMonday)},
		reason: "17 March and 12 July besides those of England",
		source: "Banking and Financial Dealings Act 1971 and yearly proclamation", status: fromMemory,
	},
	{
		code:   "LU",
		add:    []*cal.Holiday{since(2019, "Europadag", time.May, 9, nil)},
		reason: "9 May is a holiday since 2019",
		source: "Labour Code, article L. 232-2", status: fromMemory,
	},
	{
		code:   "RS",
		add:    serbianSubstitutes(rs.NovaGodina, rs.DrugiDanNoveGodine, rs.DanDrzavnosti, rs.DrugiDanDrzavnosti, rs.PraznikRada, rs.DrugiDanPraznikaRada, rs.DanPrimirja),
		reason: "a state holiday on a Sunday moves to the next working day",
		source: "law on state and other holidays, article 3a", status: fromMemory,
	},
	{
		code: "SK",
		drop: []*cal.Holiday{sk.Constitution, sk.Freedom, sk.Liberation, sk.LadyOfSorrows},
		add: []*cal.Holiday{
			sk.Constitution.Clone(&cal.Holiday{EndYear: 2023}),
			sk.Freedom.Clone(&cal.Holiday{EndYear: 2024}),
			sk.Liberation.Clone(&cal.Holiday{Except: []int{2026}}),
			sk.LadyOfSorrows.Clone(&cal.Holiday{Except: []int{2026}}),
		},
		reason: "1 September is worked from 2024, 17 November from 2025, 8 May and 15 September in 2026 only",
		source: "announced with the budget consolidation", status: notice,
	},
	{
		code: "UA",
		drop: []*cal.Holiday{ua.OrthodoxChristmas, ua.DefenderOfUkraineDay, ua.OrthodoxPentecostMonday},
		add: []*cal.Holiday{
			{Name: ua.OrthodoxPentecostMonday.Name, Type: cal.ObservancePublic, Offset: 50, Julian: true, Func: cal.CalcEasterOffset},
			since(2024, "День Української Державності", time.July, 15, toMonday),
			since(2023, "День захисників і захисниць України", time.October, 1, toMonday),
		},
		reason: "the days of the calendar reform of 2023",
		source: "Labour Code, article 73", status: fromMemory,
	},
}

// bulgarianMaySubstitute is the working day after a 1 May on a weekend; Easter
// Monday may be in the way.
func bulgarianMaySubstitute(year int) time.Time {
	first := date(year, time.May, 1)
	switch first.Weekday() {
	case time.Saturday:
		first = first.AddDate(0, 0, 2)
	case time.Sunday:
		first = first.AddDate(0, 0, 1)
	default:
		return time.Time{}
	}
	if first.Equal(orthodoxEaster(year).AddDate(0, 0, 1)) {
		return first.AddDate(0, 0, 1)
	}
	return first
}

// serbianSubstitutes returns, for each state holiday, its substitute in the years
// in which it falls on a Sunday: the first day after it that is no holiday.
func serbianSubstitutes(holidays ...*cal.Holiday) (substitutes []*cal.Holiday) {
	for _, h := range holidays {
		substitutes = append(substitutes, computed(h.Name, func(year int) time.Time {
			d := date(year, h.Month, h.Day)
			if d.Weekday() != time.Sunday {
				return time.Time{}
			}
			for d = d.AddDate(0, 0, 1); isSerbianHoliday(d, holidays); {
				d = d.AddDate(0, 0, 1)
			}
			return d
		}))
	}
	return substitutes
}

func isSerbianHoliday(d time.Time, holidays []*cal.Holiday) bool {
	for _, h := range holidays {
		if d.Equal(date(d.Year(), h.Month, h.Day)) {
			return true
		}
	}
	return d.Equal(orthodoxEaster(d.Year()).AddDate(0, 0, 1))
}
