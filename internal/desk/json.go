package desk

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// timelineFormat is the version of the timeline's JSON; other programs read it.
const timelineFormat = 1

// program marks the timeline as graftclock's own, as the other files are marked.
const program = "graftclock"

// usualBytes is how much room a timeline is given.
const usualBytes = 48 << 10

// months is written with two decimals, as the clock rounds it.
type months float64

// MarshalJSON writes 6 as 6.00.
func (m months) MarshalJSON() ([]byte, error) {
	const decimals = 2
	return strconv.AppendFloat(nil, float64(m), 'f', decimals, 64), nil
}

type timelineJSON struct {
	Format       int          `json:"format"`
	MadeBy       string       `json:"made_by"`
	Case         graft.CaseID `json:"case"`
	On           day.Day      `json:"on"`
	Surgery      day.Day      `json:"surgery"`
	RulesVersion string       `json:"rules_version"`
	Caution      string       `json:"caution"`
}

type implantJSON struct {
	Tooth         int        `json:"tooth"`
	Side          graft.Side `json:"side"`
	Restoration   string     `json:"restoration"`
	ToFull        months     `json:"months_to_full_support"`
	T50           months     `json:"t50_months"`
	T90           months     `json:"t90_months"`
	ResidualShare float64    `json:"residual_share"`
	Band          [2]months  `json:"band_months"`
	LastAspect    string     `json:"last_aspect"`
	LastHeightMM  float64    `json:"last_height_mm"`
	WaitsFor      string     `json:"waits_for"`
}

type stepJSON struct {
	Step      graft.Step       `json:"step"`
	For       string           `json:"for"`
	Which     string           `json:"which,omitempty"`
	NotBefore day.Day          `json:"not_before"`
	Earliest  day.Day          `json:"earliest"`
	Target    day.Day          `json:"target"`
	Latest    day.Day          `json:"latest"`
	Placed    day.Day          `json:"placed"`
	Attended  *day.Day         `json:"attended,omitempty"`
	Booked    *slotJSON        `json:"booked,omitempty"`
	Misfit    *misfitJSON      `json:"misfit,omitempty"`
	Override  *overrideJSON    `json:"override,omitempty"`
	SeenBy    []graft.Audience `json:"seen_by"`
	Patient   string           `json:"patient_says,omitempty"`
	Reasons   []reasonJSON     `json:"reasons"`
}

type slotJSON struct {
	Start   string `json:"start"`
	Minutes int    `json:"minutes"`
	Room    string `json:"room,omitempty"`
	Person  string `json:"person,omitempty"`
}

// misfitJSON is a booked visit that does not fit the plan and waits to be settled.
type misfitJSON struct {
	Day day.Day `json:"day"`
	slotJSON
	Says string `json:"says"`
}

type overrideJSON struct {
	Day               day.Day `json:"day"`
	By                string  `json:"by"`
	On                day.Day `json:"on"`
	Why               string  `json:"why"`
	ComputedNotBefore day.Day `json:"computed_not_before"`
	ComputedTarget    day.Day `json:"computed_target"`
}

type reasonJSON struct {
	Rule    graft.RuleID `json:"rule,omitempty"`
	Says    string       `json:"says"`
	Formula string       `json:"formula,omitempty"`
	Result  string       `json:"result,omitempty"`
	Inputs  []inputJSON  `json:"inputs,omitempty"`
	Adopted string       `json:"adopted,omitempty"`
	Differ  string       `json:"sources_differ,omitempty"`
	Cites   []citeJSON   `json:"cites,omitempty"`
	Because []reasonJSON `json:"because,omitempty"`
}

type inputJSON struct {
	Name  string `json:"name"`
	Value string `json:"value"`
	Path  string `json:"path,omitempty"`
}

type citeJSON struct {
	Source graft.SourceID `json:"source"`
	At     string         `json:"at,omitempty"`
	Says   string         `json:"says"`
	Status string         `json:"status"`
}

type findingJSON struct {
	Severity graft.Severity `json:"severity"`
	Rule     graft.RuleID   `json:"rule"`
	Path     string         `json:"path"`
	Line     int            `json:"line"`
	Says     string         `json:"says"`
}

// JSON writes the timeline for other programs: one implant, one step, one finding
// a line, so that two timelines can be compared by eye; the steps in the order of
// their days, no step without a day.
func JSON(p Plan) ([]byte, error) {
	t := p.Timeline
	w := &lines{}
	w.buffer.Grow(usualBytes)
	w.head(timelineJSON{timelineFormat, program, t.Case, t.On, p.Case.Surgery.Day, t.RulesVersion, Caution})
	var implants, steps, findings []any
	for _, i := range t.Implants {
		implants = append(implants, implantJSON{i.Tooth, i.Side, i.Restoration, months(i.ToFull), months(i.T50), months(i.T90), i.ResidualShare,
			[2]months{months(i.BandLow), months(i.BandHigh)}, i.LastAspect, i.LastHeightMM, i.WaitsFor})
	}
	for _, m := range ByDay(t.Milestones) {
		steps = append(steps, stepOf(p, m))
	}
	for _, f := range t.Findings {
		findings = append(findings, findingJSON(f))
	}
	w.list("implants", implants)
	w.list("steps", steps)
	w.list("findings", findings)
	w.buffer.WriteString("\n}\n")
	return w.buffer.Bytes(), w.err
}

// lines writes one JSON object whose lists have an entry a line.
type lines struct {
	buffer bytes.Buffer
	err    error
}

// head writes the object's plain members and leaves it open.
func (l *lines) head(v any) {
	l.value(v)
	l.buffer.Truncate(l.buffer.Len() - len("}"))
}

func (l *lines) list(name string, entries []any) {
	fmt.Fprintf(&l.buffer, ",\n%q:[", name)
	for i, e := range entries {
		if i > 0 {
			l.buffer.WriteByte(',')
		}
		l.buffer.WriteByte('\n')
		l.value(e)
	}
	l.buffer.WriteByte(']')
}

// value writes one value on the current line.
func (l *lines) value(v any) {
	encoder := json.NewEncoder(&l.buffer)
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(v); err != nil && l.err == nil {
		l.err = fmt.Errorf("write the timeline: %w", err)
		return
	}
	l.buffer.Truncate(l.buffer.Len() - len("\n"))
}

func stepOf(p Plan, m graft.Milestone) stepJSON {
	s := stepJSON{
		Step: m.Step, For: m.For, Which: m.Which, SeenBy: m.SeenBy, Placed: m.Placed, Reasons: reasonsOf(m.Reasons),
		Patient: m.PatientSays, NotBefore: m.Window.NotBefore, Earliest: m.Window.Earliest, Target: m.Window.Target, Latest: m.Window.Latest,
	}
	if !m.Attended.IsZero() {
		s.Attended = &m.Attended
	}
	if m.Booked {
		s.Booked = &slotJSON{m.Slot.Start.String(), m.Slot.Minutes, m.Slot.Room, m.Slot.Person}
	}
	if why := p.Misfit(m.ID); why != "" {
		b := p.asBooked(m).Slot
		s.Misfit = &misfitJSON{b.Day, slotJSON{b.Start.String(), b.Minutes, b.Room, b.Person}, why}
	}
	if o := m.Override; o != nil {
		s.Override = &overrideJSON{o.Day, o.By, o.On, o.Why, o.Computed.NotBefore, o.Computed.Target}
	}
	return s
}

func reasonsOf(reasons []graft.Reason) []reasonJSON {
	var list []reasonJSON
	for _, r := range reasons {
		j := reasonJSON{Rule: r.Rule, Says: r.Says, Formula: r.Formula, Result: r.Result, Adopted: r.Adopted, Differ: r.Differ, Because: reasonsOf(r.Because)}
		for _, i := range r.Inputs {
			j.Inputs = append(j.Inputs, inputJSON(i))
		}
		for _, c := range r.Cites {
			j.Cites = append(j.Cites, citeJSON(c))
		}
		list = append(list, j)
	}
	return list
}

// ByDay returns the milestones that have a day, in the order of their days.
func ByDay(milestones []graft.Milestone) []graft.Milestone {
	var dated []graft.Milestone
	for _, m := range milestones {
		if !m.Placed.IsZero() {
			dated = append(dated, m)
		}
	}
	slices.SortStableFunc(dated, func(a, b graft.Milestone) int { return a.Placed.Sub(b.Placed) })
	return dated
}
