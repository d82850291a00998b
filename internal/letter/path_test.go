package letter_test

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/letter"
)

var pathRows = regexp.MustCompile(`<tr><th scope="row">(\d+)\. .*?</th><td>(.*?)</td></tr>`)

// listed is a row of the dates: its day, none if it has none, and whether it is booked.
type listed struct {
	day    day.Day
	booked bool
}

// listedIn reads the dates back from the table of a page, by their number.
func listedIn(t rapid.TB, l letter.Letter, page string) map[int]listed {
	words, err := letter.BuiltIn().WordsFor(l.Case.Patient.Language)
	if err != nil {
		t.Fatal(err)
	}
	days := map[string]day.Day{}
	for n := -400; n < 1500; n++ {
		d := l.Case.Surgery.Day.AddDays(n)
		days[words.Spell(d)] = d
	}
	rows := map[int]listed{}
	for _, row := range pathRows.FindAllStringSubmatch(page, -1) {
		n, _ := strconv.Atoi(row[1])
		strong := between(row[2], "<strong>", "</strong>")
		one := listed{booked: strings.HasPrefix(row[2], words.BookedWord()+".")}
		for spelled, d := range days {
			if strings.Contains(strong, spelled) && (one.day.IsZero() || len(spelled) > len(words.Spell(one.day))) {
				one.day = d
			}
		}
		rows[n] = one
	}
	return rows
}

func between(text, from, to string) string {
	_, text, _ = strings.Cut(text, from)
	text, _, _ = strings.Cut(text, to)
	return text
}

// wantTruePath compares the drawing of a letter with its dates.
func wantTruePath(t rapid.TB, name string, l letter.Letter) {
	f, err := letter.BuiltIn().Fill(l)
	if err != nil {
		t.Fatal(err)
	}
	var page strings.Builder
	if err := f.WriteHTML(&page); err != nil {
		t.Fatal(err)
	}
	drawn := pictureOf(t, page.String())
	rows := listedIn(t, l, page.String())
	if drawn == nil {
		for n, row := range rows {
			if !row.day.IsZero() && !row.day.Before(l.Case.Surgery.Day) && n > 1 {
				t.Errorf("%s: no drawing, and visit %d is on %s", name, n, row.day)
			}
		}
		return
	}
	from, to, end := drawn.axis(t, l)
	at := func(d day.Day) float64 {
		return from + (to-from)*float64(d.Sub(l.Case.Surgery.Day))/float64(end.Sub(l.Case.Surgery.Day))
	}
	drawn.wantMonths(t, name, l, at)
	drawn.wantVisits(t, name, rows, l.Case.Surgery.Day, end, at)
	drawn.wantRoom(t, name)
}

// axis is where the axis begins and ends, and the day at its end: as many months after the
// surgery as it has marks but the first.
func (p *picture) axis(t rapid.TB, l letter.Letter) (from, to float64, end day.Day) {
	for _, line := range p.Paths {
		if line.ID == "path-axis" {
			xs, _ := line.points(t)
			return xs[0], xs[1], l.Case.Surgery.Day.AddMonths(len(p.ticks(t)) - 1)
		}
	}
	t.Fatal("the drawing has no axis")
	return 0, 0, day.Day{}
}

// ticks are the places of the short upright lines below the axis.
func (p *picture) ticks(t rapid.TB) []float64 {
	var axis float64
	for _, line := range p.Paths {
		if line.ID == "path-axis" {
			_, ys := line.points(t)
			axis = ys[0]
		}
	}
	var places []float64
	for _, line := range p.Paths {
		if xs, ys := line.points(t); line.ID == "" && len(xs) == 2 && xs[0] == xs[1] && ys[0] == axis && ys[1] > axis {
			places = append(places, xs[0])
		}
	}
	return places
}

// fine is how far a place may be from where it belongs, in mm.
const fine = 0.001

func (p *picture) wantMonths(t rapid.TB, name string, l letter.Letter, at func(day.Day) float64) {
	ticks := p.ticks(t)
	for n, x := range ticks {
		if want := at(l.Case.Surgery.Day.AddMonths(n)); math.Abs(x-want) > fine {
			t.Errorf("%s: month %d is at %.3f, want %.3f", name, n, x, want)
		}
	}
	for _, w := range p.Words {
		n, err := strconv.Atoi(w.Text)
		if err != nil || w.Weight != "" {
			continue
		}
		if n < 0 || n >= len(ticks) || math.Abs(w.X-ticks[n]) > fine || w.Anchor != "middle" {
			t.Errorf("%s: the number of month %d is at %.3f", name, n, w.X)
		}
	}
}

func (p *picture) wantVisits(t rapid.TB, name string, rows map[int]listed, surgery, end day.Day, at func(day.Day) float64) {
	drawn := map[int]bool{}
	for _, line := range p.Paths {
		number, ok := strings.CutPrefix(line.ID, "path-visit-")
		if !ok {
			continue
		}
		n, _ := strconv.Atoi(number)
		row, there := rows[n]
		if drawn[n] || !there || row.day.IsZero() {
			t.Errorf("%s: visit %d is drawn and has no day in the list, or is drawn twice", name, n)
			continue
		}
		drawn[n] = true
		xs, _ := line.points(t)
		if middle := (slices.Min(xs) + slices.Max(xs)) / 2; math.Abs(middle-at(row.day)) > fine {
			t.Errorf("%s: visit %d is at %.3f, want %.3f for %s", name, n, middle, at(row.day), row.day)
		}
		if want := map[bool]string{true: "#1b1f1e", false: "#ffffff"}[row.booked]; line.Fill != want || line.Stroke != "#1b1f1e" {
			t.Errorf("%s: visit %d is booked: %v, and its mark is %s in %s", name, n, row.booked, line.Fill, line.Stroke)
		}
		if !slices.ContainsFunc(p.Words, func(w pictureWord) bool {
			return w.Text == number && w.Weight == "700" && math.Abs(w.X-at(row.day)) <= fine
		}) {
			t.Errorf("%s: the mark of visit %d has no number over it", name, n)
		}
	}
	for n, row := range rows {
		if inside := !row.day.IsZero() && !row.day.Before(surgery) && !row.day.After(end); inside != drawn[n] {
			t.Errorf("%s: visit %d on %s is drawn: %v; the axis ends on %s", name, n, row.day, drawn[n], end)
		}
	}
}

func TestThePathIsThatOfTheDates(t *testing.T) {
	for _, tag := range languages(t) {
		for name, sample := range allSamples() {
			for _, large := range []bool{false, true} {
				wantTruePath(t, fmt.Sprintf("%s, %s, large %v", tag, name, large), inLanguage(sample(), tag, large))
			}
		}
	}
	if page := htmlOf(t, simultaneous()); strings.Count(page, `id="path-visit-`) != 7 {
		t.Error("not all visits up to the first teeth are drawn")
	}
}

func TestRandomPathsAreThoseOfTheDates(t *testing.T) {
	tags := languages(t)
	rapid.Check(t, func(t *rapid.T) {
		l := inLanguage(simultaneous(), rapid.SampledFrom(tags).Draw(t, "language"), rapid.Bool().Draw(t, "large"))
		surgery := on("2027-01-01").AddDays(rapid.IntRange(0, 800).Draw(t, "surgery"))
		l.Case.Surgery.Day = surgery
		l.Timeline.On = surgery.AddDays(rapid.IntRange(-30, 300).Draw(t, "today"))
		l.Timeline.Milestones, l.Booked = nil, map[graft.MilestoneID]letter.Booking{}
		steps := []graft.Step{graft.WoundCheck, graft.HealingReview, graft.Recall, graft.Uncovering, graft.FirstLoading}
		longest := rapid.SampledFrom([]int{20, 200, 1100}).Draw(t, "longest")
		for i := range rapid.IntRange(0, 14).Draw(t, "visits") {
			at := rapid.IntRange(1, longest).Draw(t, "day")
			m := visit(rapid.SampledFrom(steps).Draw(t, "step"), surgery, at-1, at-1, at, at+5)
			m.ID = graft.MilestoneID(fmt.Sprintf("visit %d", i))
			if rapid.Bool().Draw(t, "booked") {
				l.Booked[m.ID] = letter.Booking{Day: m.Placed.AddDays(1), Start: 9 * 60}
			}
			l.Timeline.Milestones = append(l.Timeline.Milestones, m)
		}
		wantTruePath(t, "random", l)
	})
}
