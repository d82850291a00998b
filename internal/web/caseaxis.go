package web

import (
	"html/template"
	"slices"
	"strconv"
	"strings"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/drawing"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// The axis of a case, in mm. From left to right: months, the line of time, the windows
// side by side, and the steps by their numbers in the list. It is as narrow as a phone,
// so that its words can be read there: 3 mm of 72 are 12 pixels of a page of 320.
const (
	axisWidth   = 72.0
	axisTop     = 4.0  // above the first day
	axisFoot    = 2.5  // below the last
	axisMonth   = 7.2  // height of a month
	axisYear    = 3.3  // of its year below the name of a month
	axisLine    = 10.0 // where the line of time stands
	axisTick    = 1.2  // of a month
	axisFirst   = 2.0  // from it to the first window
	axisLane    = 3.4  // from one window to the next
	axisLanes   = 15.0 // the room of all windows, at most
	axisBar     = 0.62 // width of a window, as a share of a lane
	axisLead    = 5.0  // from the last window to the names
	axisDot     = 1.1  // half the width of a booked visit's mark
	daysOfMonth = 365.25 / 12
)

// axis is the drawing of a case's time and what of it has to be said in words beside
// it.
type axis struct {
	Drawing template.HTML
	Closed  []string // closures and days the patient cannot come, in words
}

// axisDrawing is what the drawing is made of.
type axisDrawing struct {
	drawing.Drawing
	from, to day.Day
	lanes    []day.Day // the last day of the last window in each
	lane     float64   // from one to the next
	nameX    float64
	names    []axisName
}

// axisStep is one step of the drawing.
type axisStep struct {
	stepEntry
	m     graft.Milestone
	state ledger.State
	lane  int
}

// axis draws the time of a case up to the first year's recall.
func (q *request) axis(live desk.Live, entries []stepEntry) axis {
	d := &axisDrawing{from: live.Case.Surgery.Day, to: live.Case.Surgery.Day}
	steps := axisSteps(live, entries)
	for _, s := range steps {
		d.to = day.Max(d.to, s.placed, s.m.Window.Latest)
	}
	d.to = day.Max(d.to, q.on)
	if q.on.Before(d.from) {
		d.from = q.on
	}
	d.ID, d.Title = "axis", "The time of the case"
	d.Says = "The months from the surgery on, with each window, booked visits, closures and today. The list says the same in words."
	d.WidthMM = axisWidth
	closed := q.closedRuns(live, day.Span{From: d.from, To: d.to})
	d.inLanes(steps)
	d.closures(closed)
	d.today(q.on)
	d.months()
	d.windows(steps)
	d.name(axisName{at: d.y(live.Case.Surgery.Day), x: axisLine, text: "surgery", bold: true})
	d.write()
	a := axis{Drawing: d.SVG()}
	for _, c := range closed {
		a.Closed = append(a.Closed, c.whole+", "+longSpan(c.From, c.To))
	}
	return a
}

func axisSteps(live desk.Live, entries []stepEntry) []axisStep {
	var steps []axisStep
	for _, e := range entries {
		m, _ := live.Timeline.Find(graft.MilestoneID(e.ID))
		if !m.Window.Latest.IsZero() || !m.Placed.IsZero() {
			steps = append(steps, axisStep{stepEntry: e, m: m, state: live.State(m.ID)})
		}
	}
	return steps
}

// y is the height of a day.
func (d *axisDrawing) y(at day.Day) float64 {
	return axisTop + float64(at.Sub(d.from))*axisMonth/daysOfMonth
}

// open reports whether the window of a step is drawn: one that is over is not.
func (s axisStep) open() bool { return s.m.Attended.IsZero() && !s.m.Window.Latest.IsZero() }

// brief is the step in few words, with where it stands unless it only lies ahead; the
// list, under the same number, has all of them.
func (s axisStep) brief() string {
	name := strings.ReplaceAll(string(s.m.Step), "-", " ")
	if s.m.Step == graft.Recall {
		name = lowerFirst(s.Name)
	}
	if s.Stands.Short == stillPlanned || s.Stands.Short == stillToDo {
		return name
	}
	return name + ", " + s.Stands.Short
}

// inLanes puts windows that share days beside each other, and the names beside those.
func (d *axisDrawing) inLanes(steps []axisStep) {
	order := make([]*axisStep, 0, len(steps))
	for n := range steps {
		if steps[n].open() {
			order = append(order, &steps[n])
		}
	}
	slices.SortStableFunc(order, func(a, b *axisStep) int { return a.m.Window.Earliest.Sub(b.m.Window.Earliest) })
	for _, s := range order {
		lane := slices.IndexFunc(d.lanes, func(last day.Day) bool { return last.Before(s.m.Window.Earliest) })
		if lane < 0 {
			lane = len(d.lanes)
			d.lanes = append(d.lanes, day.Day{})
		}
		s.lane, d.lanes[lane] = lane, day.Max(s.m.Window.Latest, s.placed)
	}
	lanes := float64(max(1, len(d.lanes)))
	d.lane = min(axisLane, axisLanes/lanes)
	d.nameX = axisLine + axisFirst + lanes*d.lane + axisLead
}

// bar is the width of a window, and laneX its middle.
func (d *axisDrawing) bar() float64 { return axisBar * d.lane }

func (d *axisDrawing) laneX(lane int) float64 {
	return axisLine + axisFirst + float64(lane)*d.lane + d.bar()/2
}

// edge is where what is drawn ends and the leads to the names begin.
func (d *axisDrawing) edge() float64 { return d.nameX - axisLead/2 - axisLead/4 }

var (
	axisHair   = drawing.Line{Tone: drawing.Hair, WidthMM: 0.2}
	axisInk    = drawing.Line{Tone: drawing.Ink, WidthMM: 0.3}
	axisAccent = drawing.Line{Tone: drawing.Accent, WidthMM: 0.3}
	axisHeld   = drawing.Line{Tone: drawing.Accent, WidthMM: 0.6}
)

// windows draws each window, empty or, held, full, and the visit in it.
func (d *axisDrawing) windows(steps []axisStep) {
	for _, s := range steps {
		if s.open() {
			d.window(s)
		}
	}
	for _, s := range steps {
		x := axisLine
		if s.open() {
			x = d.laneX(s.lane)
		}
		at := s.placed
		if at.IsZero() {
			at = s.m.Window.Target
		}
		d.mark(s, x, d.y(at))
		d.name(axisName{at: d.y(at), x: x, number: strconv.Itoa(s.N), text: s.brief()})
	}
}

func (d *axisDrawing) window(s axisStep) {
	w := s.m.Window
	top, bottom := d.y(w.Earliest), d.y(w.Latest.AddDays(1))
	fill, line := drawing.White, axisAccent
	if s.state == ledger.WindowHeld {
		fill, line = drawing.Hair, axisHeld
	}
	d.Add(drawing.Path{Points: drawing.Rectangle(d.laneX(s.lane)-d.bar()/2, top, d.bar(), bottom-top), Closed: true, Fill: fill, Line: line})
}

// mark draws where a step stands: full where a visit is booked, open where it took
// place, a stroke where a day is only proposed.
func (d *axisDrawing) mark(s axisStep, x, y float64) {
	diamond := []drawing.Point{{X: x, Y: y - axisDot}, {X: x + axisDot, Y: y}, {X: x, Y: y + axisDot}, {X: x - axisDot, Y: y}}
	switch {
	case !s.m.Attended.IsZero():
		d.Add(drawing.Path{Points: diamond, Closed: true, Fill: drawing.White, Line: axisInk})
	case s.m.Booked:
		d.Add(drawing.Path{Points: diamond, Closed: true, Fill: drawing.Ink, Line: axisInk})
	default:
		d.Add(drawing.Path{Points: drawing.Straight(x-d.bar()/2, y, x+d.bar()/2, y), Line: axisAccent})
	}
}

// months draws the line of time with the months in words, the year below the first of
// them and below each January.
func (d *axisDrawing) months() {
	d.Add(drawing.Path{Name: "time", Points: drawing.Straight(axisLine, d.y(d.from), axisLine, d.y(d.to)+axisFoot), Line: axisInk})
	year, month, _ := d.from.Date()
	for first := true; ; first = false {
		if month++; month > time.December {
			year, month = year+1, time.January
		}
		at := day.New(year, month, 1)
		if at.After(d.to) {
			return
		}
		y := d.y(at)
		d.Add(drawing.Path{Points: drawing.Straight(axisLine-axisTick, y, axisLine, y), Line: axisInk})
		d.month(y, month.String()[:len("Jan")])
		if first || month == time.January {
			d.month(y+axisYear, strconv.Itoa(year))
		}
	}
}

func (d *axisDrawing) month(y float64, text string) {
	d.Add(drawing.Label{At: drawing.Point{X: axisLine - 1.5*axisTick, Y: y + axisSink}, Text: text, SizeMM: axisWord, Anchor: drawing.End})
}

// closures shades the days on which nobody can come.
func (d *axisDrawing) closures(runs []closedRun) {
	for _, c := range runs {
		to := c.To
		if to.After(d.to) {
			to = d.to
		}
		top, bottom := d.y(day.Max(c.From, d.from)), d.y(to.AddDays(1))
		d.Add(drawing.Path{Points: drawing.Rectangle(axisLine, top, d.edge()-axisLine, bottom-top), Closed: true, Fill: drawing.Wash, Line: axisHair})
		d.name(axisName{at: (top + bottom) / 2, x: d.edge(), text: c.says, tone: drawing.Accent})
	}
}

func (d *axisDrawing) today(on day.Day) {
	y := d.y(on)
	d.Add(drawing.Path{Name: "today", Points: drawing.Straight(axisLine-axisTick, y, d.edge(), y), Line: drawing.Line{Tone: drawing.Ink, WidthMM: 0.5}})
	d.name(axisName{at: y, x: d.edge(), text: "today, " + longDay(on), bold: true})
}
