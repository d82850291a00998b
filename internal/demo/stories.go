package demo

import (
	"fmt"
	"math/rand/v2"
	"slices"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

// yearDays is how far back the demo goes.
const yearDays = 365

// finding is what the surgeon notes, by the keys of the record format; day, tooth
// and case are those of the moment.
type finding map[string]string

// story is what happens to one patient beyond the ordinary.
type story struct {
	name  string // for a reader of the table, and for tests
	age   int    // days from the surgery to today; below 0: it lies ahead
	shape shape
	paper int // taken in so many days before today, with what had been attended until then; 0: on the day of surgery

	waits      bool       // no surgeon has approved it yet
	forgets    graft.Step // the desk has not thought of it
	misses     graft.Step // the patient does not come to it
	lost       bool       // and is not booked again
	unrecorded graft.Step // nobody has noted whether the patient came
	moves      graft.Step // the patient asks for another day
	cancels    graft.Step // the patient gives the day back
	away       graft.Step // the patient tells of being away on its day
	slow       bool       // the desk books only some days ahead, and holds the window until then
	asks       bool       // the patient has told of days away lately, and no surgeon has seen the plan since

	after   graft.Step // after this step
	finds   finding    // the surgeon notes this,
	then    finding    // and a week later this,
	earlier int        // and sets the next operation so many days earlier, or, below 0, later
}

// stories are the patients to whom something happens, in the order of their cases.
var stories = []story{
	{name: "ahead, a draft", age: -13, shape: single, waits: true},
	{name: "ahead, approved", age: -6, shape: bridge},
	{name: "ahead, sinus not clear", age: -9, shape: notClear},
	{name: "ahead, both sides", age: -20, shape: twoSides, waits: true},

	{name: "call after surgery", age: 1, shape: single},
	{name: "just operated, a draft", age: 2, shape: bridge, waits: true},
	{name: "call forgotten", age: 6, shape: crestal, forgets: graft.PhoneCall},
	{name: "both sides", age: 8, shape: bar},
	{name: "stitches, first", age: 9, shape: single},
	{name: "stitches, second", age: 11, shape: staged},
	{name: "stitches, third", age: 10, shape: bridge},
	{name: "missed and lost", age: 14, shape: single, misses: graft.WoundCheck, lost: true},
	{name: "nobody noted", age: 13, shape: single, unrecorded: graft.WoundCheck},
	{name: "stitches forgotten", age: 18, shape: single, forgets: graft.WoundCheck},

	{name: "late check, first", age: 23, shape: single},
	{name: "late check, second", age: 26, shape: quick},
	{name: "late check, third", age: 25, shape: staged},
	{name: "infection stands", age: 36, shape: single, after: graft.LateCheck, finds: finding{"what": "infection"}},
	{name: "moved", age: 40, shape: crestal, moves: graft.LateCheck},
	{name: "missed and booked again", age: 48, shape: single, misses: graft.LateCheck},
	{name: "asks for other days", age: 52, shape: bridge, asks: true},

	{name: "review, first", age: 58, shape: single},
	{name: "review, second", age: 63, shape: quick},
	{name: "review, third", age: 70, shape: staged},
	{name: "away on the day", age: 82, shape: bridge, away: graft.HealingReview},
	{name: "cancelled", age: 88, shape: single, cancels: graft.HealingReview},
	{name: "aborted", age: 75, shape: aborted},
	{name: "review forgotten", age: 92, shape: single, forgets: graft.HealingReview},
	{name: "window held, first", age: 94, shape: quick, slow: true},
	{name: "window held, second", age: 102, shape: quick, slow: true},
	{name: "perforation seen late", age: 96, shape: staged, after: graft.HealingReview, finds: finding{"what": "perforation", "size_mm": "3", "repaired": "true"}},
	{name: "set earlier", age: 104, shape: single, after: graft.HealingReview, earlier: 21},
	{name: "graft removed", age: 118, shape: staged, after: graft.LateCheck, finds: finding{"what": "infection"}, then: finding{"what": "graft removed"}},
	{name: "set later", age: 126, shape: quick, after: graft.HealingReview, earlier: -28},

	{name: "medium stability", age: 168, shape: quick, after: graft.Uncovering, finds: finding{"what": "stability", "isq": "64"}},
	{name: "low stability", age: 176, shape: quick, after: graft.Uncovering, finds: finding{"what": "stability", "isq": "54"}},
	{name: "image as expected", age: 184, shape: quick, paper: 94, after: graft.ImagingDecision, finds: finding{"what": "image", "result": "as expected"}},
	{name: "image unclear", age: 190, shape: quick, paper: 100, after: graft.ImagingDecision, finds: finding{"what": "image", "result": "unclear", "shows": "a shadow at the tip"}},
	{name: "operation forgotten", age: 206, shape: quick, paper: 116, forgets: graft.Uncovering},
	{name: "good stability", age: 214, shape: quick, after: graft.Uncovering, finds: finding{"what": "stability", "isq": "75"}},
	{name: "image not as expected", age: 232, shape: single, paper: 140, after: graft.ImagingDecision, finds: finding{"what": "image", "result": "not as expected", "shows": "less height than planned"}},
	{name: "recall forgotten", age: 470, shape: single, paper: 250, forgets: graft.Recall},
	{name: "long ago", age: 560, shape: bridge, paper: 200},
}

// patient is one patient of the demo while the year is played.
type patient struct {
	story
	number  int
	id      graft.CaseID
	surgery day.Day
	surgeon string
	record  []byte
	read    casefile.Case // the record, read
	comes   day.Day       // when the desk takes the record in
	lead    int           // days ahead that the desk books this patient's visits

	live  desk.Live       // as it stood after the last act; no case: not taken in yet
	notes []note          // what the surgeon is going to find
	done  map[string]bool // what has happened once
	rests day.Day         // the desk has tried and tries again on this day
}

// note is a finding with the day from which it is to be noted.
type note struct {
	from   day.Day
	fields finding
}

// ordinary is a patient to whom nothing happens: the nth of so many, whose
// surgeries are spread over the year. Of those long ago four in five were on
// paper before the clinic began to keep a ledger.
func ordinary(n, of int) story {
	const first, last, long = 12, 340, 190
	s := story{name: "ordinary", age: first + (last-first)*n/max(1, of), shape: []shape{single, staged, bridge, quick, crestal}[n%5]}
	if s.age > long && n%5 > 0 {
		s.paper = s.age - long + 30*(n%3)
	}
	return s
}

// eventful reports whether something happens to the patient at a step.
func (s story) eventful(step graft.Step) bool {
	return slices.Contains([]graft.Step{s.misses, s.moves, s.cancels, s.away, s.after}, step)
}

// storyOf returns the story of the nth of so many patients.
func storyOf(n, of int) story {
	if n < len(stories) {
		return stories[n]
	}
	return ordinary(n-len(stories), of-len(stories))
}

// cast makes the patients and their records.
func (y *year) cast(of int) error {
	for n := range of {
		p := &patient{story: storyOf(n, of), number: n, id: graft.CaseID(fmt.Sprintf("HR-%d", 3001+n)), done: map[string]bool{}}
		if err := y.operate(p); err != nil {
			return err
		}
		switch {
		case p.age < 0:
			p.comes = y.today.AddDays(-5)
		case p.paper > 0:
			p.comes = y.today.AddDays(-p.paper)
		default:
			p.comes = p.surgery
		}
		p.comes = y.openBefore(p.comes)
		if p.lead = 16 + y.random.IntN(24); p.slow {
			p.lead = 6
		}
		y.patients = append(y.patients, p)
	}
	return nil
}

// operate gives a patient a day of surgery, the nearest that leaves every visit a
// day, and the record of it. A surgeon does not operate right before a long closure.
func (y *year) operate(p *patient) (err error) {
	seed, step := y.random.Uint64(), -1
	if p.age < 0 {
		step = 1
	}
	for d := y.today.AddDays(-p.age); ; d = d.AddDays(step) {
		if !y.houses.operates(d) {
			continue
		}
		p.surgery, p.surgeon = d, y.surgeonOn(d)
		w := writer{rand.New(rand.NewPCG(seed, 0))}
		if p.record, p.read, err = w.record(p, p.age < 0); err != nil {
			return err
		}
		if !y.houses.closesAfter(d) {
			return nil
		}
		plan, err := y.keeper.Plan(p.read, d)
		if err != nil || !slices.ContainsFunc(plan.Timeline.Findings, noDayLeft) {
			return err
		}
	}
}

// noDayLeft reports whether a finding says that the clinic's days leave none for a
// visit.
func noDayLeft(f graft.Finding) bool { return f.Rule == "no-day-left" }

// openBefore returns the last open day up to a day that is past.
func (y *year) openBefore(d day.Day) day.Day {
	for !y.houses.isOpen(d) {
		d = d.AddDays(-1)
	}
	return d
}

// surgeonOn returns a surgeon who is in on a day.
func (y *year) surgeonOn(d day.Day) string {
	list := y.houses.calendar.Opening(d, string(graft.Placement)).People
	return list[y.random.IntN(len(list))]
}
