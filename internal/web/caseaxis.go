package web

import (
	"cmp"
	"html/template"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/drawing"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// The axis of a case, in mm. From left to right: months and closures in words, the
// line of time, the windows side by side, and the steps by their numbers in the list.
const (
	axisWidth   = 104.0
	axisTop     = 4.0  // above the first day, and below the last
	axisMonth   = 8.0  // height of a month
	axisLine    = 27.0 // where the line of time stands
	axisFirst   = 4.0  // from it to the first window
	axisLane    = 4.4  // from one window to the next
	axisBar     = 2.6  // width of a window
	axisLead    = 7.0  // from the last window to the names
	axisWord    = 3.1  // size of the names
	axisSmall   = 2.7  // size of the months
	axisApart   = 4.7  // least distance of two names
	axisDot     = 1.15 // half the width of a booked visit's mark
	axisEm      = 0.56 // width of a letter, in sizes
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
	nameX    float64
	names    []axisName
	beside   []axisName // closures, left of the line
}

// axisName is a line of words that belongs to a day. It is moved away from others.
type axisName struct {
	at   float64 // where it belongs
	x    float64 // where its lead begins; 0: none
	y    float64 // where it stands
	text string
	bold bool
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
	d.nameX = axisLine + axisFirst + float64(max(1, len(d.lanes)))*axisLane + axisLead
	d.closures(closed)
	d.today(q.on)
	d.months()
	d.windows(steps)
	d.name(d.y(live.Case.Surgery.Day), axisLine, "surgery", true)
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

// brief is the step in few words; the list, under the same number, has all of them.
func (s axisStep) brief() string {
	if s.m.Step == graft.Recall {
		return lowerFirst(s.Name)
	}
	return strings.ReplaceAll(string(s.m.Step), "-", " ")
}

// inLanes puts windows that share days beside each other.
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
}

// laneX is the middle of a lane.
func laneX(lane int) float64 { return axisLine + axisFirst + float64(lane)*axisLane + axisBar/2 }

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
			x = laneX(s.lane)
		}
		at := s.placed
		if at.IsZero() {
			at = s.m.Window.Target
		}
		d.mark(s, x, d.y(at))
		d.name(d.y(at), x, strconv.Itoa(s.N)+"  "+s.brief()+", "+s.Stands.Short, false)
	}
}

func (d *axisDrawing) window(s axisStep) {
	w := s.m.Window
	top, bottom := d.y(w.Earliest), d.y(w.Latest.AddDays(1))
	fill, line := drawing.White, axisAccent
	if s.state == ledger.WindowHeld {
		fill, line = drawing.Hair, axisHeld
	}
	d.Add(drawing.Path{Points: drawing.Rectangle(laneX(s.lane)-axisBar/2, top, axisBar, bottom-top), Closed: true, Fill: fill, Line: line})
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
		d.Add(drawing.Path{Points: drawing.Straight(x-axisBar/2, y, x+axisBar/2, y), Line: axisAccent})
	}
}

// months draws the line of time with the months in words. A name that would touch that
// of a closure is left out.
func (d *axisDrawing) months() {
	bottom := d.y(d.to) + axisTop
	d.Add(drawing.Path{Name: "time", Points: drawing.Straight(axisLine, d.y(d.from), axisLine, bottom), Line: axisInk})
	spread(d.beside, axisTop, bottom)
	year, month, _ := d.from.Date()
	for first := true; ; first = false {
		if month++; month > 12 {
			year, month = year+1, 1
		}
		at := day.New(year, month, 1)
		if at.After(d.to) {
			break
		}
		y := d.y(at)
		d.Add(drawing.Path{Points: drawing.Straight(axisLine-1.5, y, axisLine, y), Line: axisInk})
		text := month.String()
		if first || month == 1 {
			text += " " + strconv.Itoa(year)
		}
		if !slices.ContainsFunc(d.beside, func(n axisName) bool { return n.y-y < axisSmall*1.2 && y-n.y < axisSmall*1.2 }) {
			d.Add(drawing.Label{At: drawing.Point{X: axisLine - 2.5, Y: y + axisSmall/3}, Text: text, SizeMM: axisSmall, Anchor: drawing.End})
		}
	}
	for _, n := range d.beside {
		d.Add(drawing.Label{At: drawing.Point{X: axisLine - 2.5, Y: n.y + axisSmall/3}, Text: n.text, SizeMM: axisSmall, Anchor: drawing.End, Tone: drawing.Accent})
	}
}

// closures shades the days on which nobody can come.
func (d *axisDrawing) closures(runs []closedRun) {
	for _, c := range runs {
		top, bottom := d.y(day.Max(c.From, d.from)), d.y(c.To.AddDays(1))
		d.Add(drawing.Path{Points: drawing.Rectangle(axisLine, top, d.nameX-axisLead/2-axisLine, bottom-top), Closed: true, Fill: drawing.Wash, Line: axisHair})
		d.beside = append(d.beside, axisName{at: (top + bottom) / 2, text: fitting(c.says, axisLine-3, axisSmall)})
	}
}

func (d *axisDrawing) today(on day.Day) {
	y := d.y(on)
	d.Add(drawing.Path{Name: "today", Points: drawing.Straight(axisLine-1.5, y, d.nameX-axisLead/2, y), Line: drawing.Line{Tone: drawing.Ink, WidthMM: 0.5}})
	d.name(y, d.nameX-axisLead/2, "today, "+longDay(on), true)
}

func (d *axisDrawing) name(at, x float64, text string, bold bool) {
	d.names = append(d.names, axisName{at: at, x: x, text: text, bold: bold})
}

// write writes the names, each with a hairline from the day it belongs to.
func (d *axisDrawing) write() {
	slices.SortStableFunc(d.names, func(a, b axisName) int { return cmp.Compare(a.at, b.at) })
	bottom := max(d.y(d.to), axisTop+float64(len(d.names)-1)*axisApart)
	spread(d.names, axisTop, bottom)
	d.HeightMM = bottom + axisTop
	var leads []drawing.Shape
	for _, n := range d.names {
		leads = append(leads, drawing.Path{Points: []drawing.Point{{X: n.x, Y: n.at}, {X: d.nameX - axisLead/2, Y: n.at}, {X: d.nameX - 1, Y: n.y}}, Line: axisHair})
		d.Add(drawing.Label{At: drawing.Point{X: d.nameX, Y: n.y + axisWord/3}, Text: fitting(n.text, axisWidth-d.nameX, axisWord), SizeMM: axisWord, Bold: n.bold})
	}
	d.Shapes = slices.Concat(leads, d.Shapes)
}

// spread moves names apart, each as little as it can, between two heights.
func spread(names []axisName, top, bottom float64) {
	slices.SortStableFunc(names, func(a, b axisName) int { return cmp.Compare(a.at, b.at) })
	for n := range names {
		names[n].y = max(names[n].at, top)
		if n > 0 {
			names[n].y = max(names[n].y, names[n-1].y+axisApart)
		}
	}
	for n := len(names) - 1; n >= 0; n-- {
		names[n].y = min(names[n].y, bottom-float64(len(names)-1-n)*axisApart)
		if n+1 < len(names) {
			names[n].y = min(names[n].y, names[n+1].y-axisApart)
		}
	}
}

// fitting cuts a text to a width in mm; the list says it whole.
func fitting(text string, width, size float64) string {
	most := int(width / (size * axisEm))
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	return strings.TrimRight(string([]rune(text)[:max(0, most-1)]), " ,") + "…"
}
