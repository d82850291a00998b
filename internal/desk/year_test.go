package desk_test

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/protocol"
	"graftclock/internal/reference"
	"graftclock/internal/reference/icalread"
	"graftclock/internal/sqlite"
)

const yearSeed = 20270104

// yearCases is how many cases the year has. Under the race detector it has half of
// them, which takes minutes as it is; the whole year passes it too.
func yearCases() int {
	const all = 40
	if underRace {
		return all / 2
	}
	return all
}

// year is a clinic that is played for twelve months.
type year struct {
	t      *testing.T
	random *rand.Rand
	store  desk.Store
	clinic casefile.Clinic
	keeper *desk.Keeper
	on     day.Day
	counts map[string]int

	arrivals map[day.Day][]arrival
	special  map[string]graft.CaseID // the cases to which something happens

	folder string              // of the patients' calendars at the end
	files  map[string][]string // what is booked, by calendar file
}

type arrival struct {
	record []byte
	c      casefile.Case
}

// TestAYearInTheLife plays twelve months of the demo clinic with forty invented
// cases: bookings, moves, visits missed, a weak implant, an infection, a closure
// entered in June for August, a surgeon away, an override, a surgery day typed
// wrongly. Then it holds the ledger to what must be true of it.
func TestAYearInTheLife(t *testing.T) {
	t.Parallel()
	store, err := sqlite.Open(filepath.Join(t.TempDir(), "clinic.ledger"))
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	y := &year{t: t, random: rand.New(rand.NewPCG(yearSeed, 1)), store: desk.Keep(store), counts: map[string]int{}, arrivals: map[day.Day][]arrival{}, special: map[string]graft.CaseID{}, folder: t.TempDir(), files: map[string][]string{}}
	y.clinic = demoClinic(t)
	y.opens(y.clinic)
	y.invite()
	last := day.New(2027, time.December, 31)
	if testing.Short() {
		last = day.New(2027, time.April, 30)
	}
	for y.on = day.New(2027, time.January, 4); !y.on.After(last); y.on = y.on.AddDays(1) {
		y.day()
	}
	y.on = last
	y.audit()
	var lines []string
	for what, n := range y.counts {
		lines = append(lines, fmt.Sprintf("%s: %d", what, n))
	}
	slices.Sort(lines)
	t.Logf("the year, seed %d: %s", yearSeed, strings.Join(lines, "; "))
	if !testing.Short() && !underRace {
		y.wantAll()
	}
	t.Run("calendars read by python3-icalendar", y.readByOthers)
}

// wantAll wants everything to have happened that the year is played for.
func (y *year) wantAll() {
	for _, what := range []string{"booked", "moved", "missed", "attended", "settled", "low stability", "infection", "closure hits", "absence hits", "override", "before the computed gate, with an override", "corrected", "approved"} {
		if y.counts[what] == 0 {
			y.t.Errorf("in the whole year: no %s", what)
		}
	}
}

func demoClinic(t *testing.T) casefile.Clinic {
	t.Helper()
	path := filepath.Join(reference.Root(), "testdata", "demo", "clinic.yaml")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	c, faults := casefile.ReadClinic(path, data, os.ReadFile)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return c
}

// opens starts a desk with the clinic file as it now is.
func (y *year) opens(c casefile.Clinic) {
	y.clinic = c
	y.keeper = desk.NewKeeper(desk.New(c, protocol.Default()), y.store)
}

// invite makes forty records out of the demo's six, with surgery days over the
// first seven months.
func (y *year) invite() {
	demos := []string{"fenwick", "okafor", "marsh", "lindqvist", "fenwick", "doyle", "petrov", "fenwick"}
	first := []string{"Ansel", "Bettina", "Corin", "Dagny", "Emlyn", "Fleur", "Gideon", "Hanne"}
	second := []string{"Birch", "Cray", "Dunne", "Ellwood", "Farrow"}
	open := y.calendar()
	for n := range yearCases() {
		name := demos[n%len(demos)]
		data, err := os.ReadFile(filepath.Join(reference.Root(), "testdata", "demo", name+".yaml"))
		if err != nil {
			y.t.Fatal(err)
		}
		canonical, _, faults := casefile.Canonical(name, data)
		if len(faults) > 0 {
			y.t.Fatal(faults)
		}
		surgery := day.New(2027, time.January, 11).AddDays(y.random.IntN(200))
		for fits, _ := open.Fits(surgery, "placement"); !fits; fits, _ = open.Fits(surgery, "placement") {
			surgery = surgery.AddDays(1)
		}
		id := fmt.Sprintf("HR-%d", 3001+n)
		record, c, faults, err := casefile.Change(name, canonical, []string{
			"case=" + id, "patient.name=" + first[n%len(first)] + " " + second[n/len(first)], "surgery.day=" + surgery.String(), "patient.unavailable=none",
		})
		if err != nil || len(faults) > 0 {
			y.t.Fatal(id, err, faults)
		}
		came := surgery.AddDays(-10)
		if came.Before(day.New(2027, time.January, 4)) {
			came = day.New(2027, time.January, 4)
		}
		y.arrivals[came] = append(y.arrivals[came], arrival{record, c})
		if name == "fenwick" || name == "lindqvist" {
			y.choose(c)
		}
	}
}

// choose gives the first cases that can have them the events of the year. Two need
// a surgery from which the uncovering falls into the year, and one of them also
// clear of the summer.
func (y *year) choose(c casefile.Case) {
	surgery := c.Surgery.Day
	for what, span := range map[string]day.Span{
		"override":      {From: day.New(2027, time.January, 1), To: day.New(2027, time.February, 28)},
		"low stability": {From: day.New(2027, time.March, 1), To: day.New(2027, time.April, 15)},
		"infection":     {From: day.New(2027, time.May, 1), To: day.New(2027, time.May, 31)},
		"corrected":     {From: day.New(2027, time.June, 1), To: day.New(2027, time.July, 31)},
	} {
		if _, taken := y.special[what]; !taken && span.Contains(surgery) {
			y.special[what] = c.ID
		}
	}
}

func (y *year) calendar() *clinic.Calendar {
	c, faults := y.clinic.Calendar(day.Span{From: day.New(2026, time.January, 1), To: day.New(2034, time.December, 31)})
	if len(faults) > 0 {
		y.t.Fatal(faults)
	}
	return c
}

// as is somebody of the clinic at half past seven of the day.
func (y *year) as(name string) desk.Actor {
	p, err := y.keeper.Person(name)
	if err != nil {
		y.t.Fatal(err)
	}
	return desk.Actor{Person: p, On: y.on, At: y.on.Time().Add(7*time.Hour + 30*time.Minute)}
}

func (y *year) front() desk.Actor   { return y.as("Ida Marlow") }
func (y *year) surgeon() desk.Actor { return y.as("Dr Alba Quill") }

// day plays one day: arrivals, what the clinic file says anew, the visits of the
// day, and what the desk books, moves and settles.
func (y *year) day() {
	for _, a := range y.arrivals[y.on] {
		if did := y.keeper.Admit(y.front(), a.record, a.c, ""); did.Err != nil {
			y.t.Fatalf("%s: %v", a.c.ID, did.Err)
		}
		y.counts["admitted"]++
	}
	y.clinicChanges()
	if open, _ := y.calendar().FitsAny(y.on); !open {
		return
	}
	all, err := y.keeper.All(y.on)
	if err != nil {
		y.t.Fatalf("%s: %v", y.on, err)
	}
	for _, live := range all {
		if y.visitsOf(live) || y.asksForSomething(live) {
			y.plansOf(live.Kept.Case)
		}
	}
}

// asksForSomething reports whether the desk has anything to do about a case today,
// or its patient asks to move a visit.
func (y *year) asksForSomething(live desk.Live) bool {
	return !live.Settled() || live.Approval == nil && !live.Stopped() || y.random.IntN(40) == 0 ||
		slices.ContainsFunc(live.Timeline.Milestones, func(m graft.Milestone) bool { return y.toBook(live, m) })
}

// toBook reports whether a visit is near enough to be booked and is not.
func (y *year) toBook(live desk.Live, m graft.Milestone) bool {
	open := m.Visit != "" && !m.Placed.IsZero() && m.Attended.IsZero() && !m.Booked
	return open && (m.Firm || booksAhead(live.Kept.Case, m, y.on)) && live.State(m.ID) != ledger.Booked
}

// clinicChanges enters a longer closure in June for August, and in September that
// the surgeon is away in October.
func (y *year) clinicChanges() {
	c := y.clinic
	switch y.on {
	case day.New(2027, time.June, 14):
		c.Closures = append(slices.Clone(c.Closures), clinic.Closure{From: day.New(2027, time.August, 21), To: day.New(2027, time.September, 3), Name: "new floor"})
		y.opens(c)
		y.hits("closure hits")
	case day.New(2027, time.September, 20):
		c.People = slices.Clone(c.People)
		c.People[0].Absent = []clinic.Closure{{From: day.New(2027, time.October, 4), To: day.New(2027, time.October, 15), Name: "course"}}
		y.opens(c)
		y.hits("absence hits")
	}
}

// hits wants every visit on the closed days listed, and none of the others.
func (y *year) hits(what string) {
	hits, err := y.keeper.Hits(y.on)
	if err != nil {
		y.t.Fatal(err)
	}
	y.counts[what] += len(hits)
	listed := map[string]bool{}
	for _, h := range hits {
		listed[string(h.Case)+string(h.ID)] = true
	}
	open := y.calendar()
	for _, v := range y.visits() {
		if v.State != ledger.Booked {
			continue
		}
		fits, _ := open.Fits(v.Day, visitKind(v.Milestone))
		if fits == listed[string(v.Case)+string(v.Milestone)] {
			y.t.Errorf("%s: %s %s on %s: the clinic can hold it: %v, listed: %v", y.on, v.Case, v.Milestone, v.Day, fits, !fits)
		}
	}
}

// visitKind is the clinic's visit for a milestone of the demo.
func visitKind(id graft.MilestoneID) string {
	step, _, _ := id.Parts()
	if step == graft.ReEntry {
		return string(graft.Placement)
	}
	return string(step)
}

func (y *year) visits() []ledger.Visit {
	var visits []ledger.Visit
	err := y.store.View(func(l desk.Ledger) (err error) {
		visits, err = l.AllVisits()
		return err
	})
	if err != nil {
		y.t.Fatal(err)
	}
	return visits
}

// visitsOf plays what the patient does today, and reports whether there was
// anything.
func (y *year) visitsOf(live desk.Live) (any bool) {
	for _, m := range live.Timeline.Milestones {
		choice := desk.Choice{Step: m.Step, For: m.For, Which: m.Which}
		switch {
		case !m.Attended.IsZero():
		case m.Visit == "" && !m.Placed.IsZero() && !m.Placed.After(y.on):
			any = true
			_, _, err := y.keeper.Attended(y.front(), live.Kept.Case, choice, day.Day{}, "")
			y.did("done at the desk", err)
		case m.Booked && !m.Placed.After(y.on): // before today: booked for the day it was booked on
			any = true
			if y.random.IntN(100) < 8 {
				_, _, err := y.keeper.Missed(y.front(), live.Kept.Case, choice, "no call")
				y.did("missed", err)
				continue
			}
			_, _, err := y.keeper.Attended(y.front(), live.Kept.Case, choice, day.Day{}, "")
			y.did("attended", err)
			y.after(live.Kept.Case, m)
		}
	}
	return any
}

// after plays what is found at a visit.
func (y *year) after(id graft.CaseID, m graft.Milestone) {
	switch {
	case m.Step == graft.Uncovering && id == y.special["low stability"]:
		_, err := y.keeper.AddFinding(y.surgeon(), id, map[string]string{"what": "stability", "day": y.on.String(), "tooth": y.tooth(id), "isq": "54"}, "")
		y.did("low stability", err)
	case m.Step == graft.LateCheck && id == y.special["infection"]:
		_, err := y.keeper.AddFinding(y.surgeon(), id, map[string]string{"what": "infection", "day": y.on.String()}, "")
		y.did("infection", err)
	case m.Step == graft.HealingReview && id == y.special["override"]:
		live, err := y.keeper.Live(id, y.on)
		if err != nil {
			y.t.Fatal(err)
		}
		uncovering, err := live.Pick(desk.Choice{Step: graft.Uncovering})
		if err != nil {
			y.t.Fatal(err)
		}
		_, err = y.keeper.Override(y.surgeon(), id, desk.Choice{Step: graft.Uncovering}, uncovering.Window.NotBefore.AddDays(-35), "high torque, dense bone")
		y.did("override", err)
	case m.Step == graft.WoundCheck && id == y.special["corrected"]:
		live, err := y.keeper.Live(id, y.on)
		if err != nil {
			y.t.Fatal(err)
		}
		_, err = y.keeper.Set(y.surgeon(), id, []string{"surgery.day=" + live.Case.Surgery.Day.AddDays(1).String()}, "typed wrongly")
		y.did("corrected", err)
	}
}

func (y *year) tooth(id graft.CaseID) string {
	live, err := y.keeper.Live(id, y.on)
	if err != nil {
		y.t.Fatal(err)
	}
	return fmt.Sprint(live.Case.Sinuses[0].Implants[0].Tooth)
}

// did counts an act that must not fail.
func (y *year) did(what string, err error) {
	y.t.Helper()
	if err != nil {
		y.t.Fatalf("%s, %s: %v", y.on, what, err)
	}
	y.counts[what]++
}

// plansOf settles, approves, books what has come near, and now and then moves a
// visit because the patient asks.
func (y *year) plansOf(id graft.CaseID) {
	live, err := y.keeper.Live(id, y.on)
	if err != nil {
		y.t.Fatal(err)
	}
	if !live.Settled() {
		if live, _, err = y.keeper.Settle(y.front(), id, ""); err != nil {
			y.t.Fatalf("%s %s: %v", y.on, id, err)
		}
		y.counts["settled"]++
	}
	if live.Approval == nil && !live.Stopped() {
		if live, err = y.keeper.Approve(y.surgeon(), id); err != nil {
			y.t.Fatalf("%s %s: %v", y.on, id, err)
		}
		y.counts["approved"]++
	}
	for _, m := range live.Timeline.Milestones {
		choice := desk.Choice{Step: m.Step, For: m.For, Which: m.Which}
		switch {
		case m.Booked && m.Placed.After(y.on.AddDays(2)) && y.random.IntN(20) == 0:
			y.move(id, choice)
		case y.toBook(live, m):
			y.book(id, choice)
		}
	}
}

// booksAhead says of every other case that its patient wants all that lies within
// three months booked, however far ahead.
func booksAhead(id graft.CaseID, m graft.Milestone, on day.Day) bool {
	const aQuarter = 90
	return strings.ContainsAny(string(id[len(id)-1:]), "13579") && m.Placed.Sub(on) < aQuarter
}

func (y *year) book(id graft.CaseID, c desk.Choice) {
	live, m, offers := y.offers(id, c)
	if m.Booked || live.State(m.ID) == ledger.Booked || len(offers) == 0 {
		return
	}
	why := ""
	if m.Overdue || !offers[0].Inside {
		why = "first day that is free"
	}
	_, _, err := y.keeper.Book(y.front(), id, c, offers[0].Slot, why)
	y.did("booked", err)
}

func (y *year) move(id graft.CaseID, c desk.Choice) {
	_, _, offers := y.offers(id, c)
	if len(offers) < 2 {
		return
	}
	_, _, err := y.keeper.Move(y.front(), id, c, offers[len(offers)-1].Slot, "patient asked")
	y.did("moved", err)
}

// offers asks for slots that stay above the gate.
func (y *year) offers(id graft.CaseID, c desk.Choice) (desk.Live, graft.Milestone, []diary.Offer) {
	live, err := y.keeper.Live(id, y.on)
	if err != nil {
		y.t.Fatal(err)
	}
	m, err := live.Pick(c)
	if err != nil {
		y.t.Fatal(err)
	}
	span := day.Span{}
	if m.Overdue {
		span = day.Span{From: y.on, To: y.on.AddDays(28)}
	}
	offers, err := live.Offers(m, span, 5)
	if err != nil {
		y.t.Fatal(err)
	}
	return live, m, slices.DeleteFunc(offers, func(o diary.Offer) bool { return o.BeforeGate || o.BelowFloor })
}

// audit holds the ledger at the year's end to what must be true of it.
func (y *year) audit() {
	visits := y.visits()
	y.noneOnAClosedDay(visits)
	y.noneTwiceAtOnce(visits)
	all, err := y.keeper.All(y.on)
	if err != nil {
		y.t.Fatal(err)
	}
	for _, live := range all {
		y.noneBeforeItsGate(live)
		y.calendarIsTheLedger(live)
		y.historyTellsAll(live)
	}
	y.counts["visits kept"] = len(visits)
	y.counts["cases"] = len(all)
}

func stands(v ledger.Visit) bool {
	return v.Minutes > 0 && (v.State == ledger.Booked || v.State == ledger.Attended)
}

func (y *year) noneOnAClosedDay(visits []ledger.Visit) {
	open := y.calendar()
	for _, v := range visits {
		if fits, why := open.Fits(v.Day, visitKind(v.Milestone)); stands(v) && !fits {
			y.t.Errorf("%s %s, %s on %s: %s", v.Case, v.Milestone, v.State, v.Day, why)
		}
	}
}

func (y *year) noneTwiceAtOnce(visits []ledger.Visit) {
	for i, a := range visits {
		for _, b := range visits[:i] {
			if stands(a) && stands(b) && a.Day == b.Day && a.Start < b.Start+day.Clock(b.Minutes) && b.Start < a.Start+day.Clock(a.Minutes) &&
				(a.Room == b.Room || a.Person == b.Person || a.Case == b.Case) {
				y.t.Errorf("%s %s and %s %s: %s and %s", a.Case, a.Milestone, b.Case, b.Milestone, a.Slot, b.Slot)
			}
		}
	}
}

// noneBeforeItsGate wants every visit on or after the gate that follows from the
// days of the visits before it. An override moves its gate; the window of the
// surgeon's own day is the override's, so it needs no exception here, but it must
// be in the ledger.
func (y *year) noneBeforeItsGate(live desk.Live) {
	var overrides []ledger.Override
	if err := y.store.View(func(l desk.Ledger) (err error) {
		overrides, err = l.Overrides(live.Kept.Case)
		return err
	}); err != nil {
		y.t.Fatal(err)
	}
	for _, m := range live.Timeline.Milestones {
		v, ok := live.Latest(m.ID)
		if !ok || !stands(v) {
			continue
		}
		gate := m.Window.NotBefore
		if m.Override != nil {
			gate = m.Override.Computed.NotBefore
		}
		recorded := slices.ContainsFunc(overrides, func(o ledger.Override) bool { return o.Milestone == m.ID && !v.Day.Before(o.Day) && o.Why != "" })
		if v.Day.Before(gate) && !recorded {
			y.t.Errorf("%s %s, %s on %s, before its gate %s, and no override says so", live.Kept.Case, m.ID, v.State, v.Day, gate)
		}
		if v.Day.Before(gate) {
			y.counts["before the computed gate, with an override"]++
		}
	}
}

// keep writes a patient's calendar for others to read, with what is booked.
func (y *year) keep(live desk.Live, data []byte) {
	path := filepath.Join(y.folder, string(live.Kept.Case)+".ics")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		y.t.Fatal(err)
	}
	zone, err := time.LoadLocation(y.clinic.Zone)
	if err != nil {
		y.t.Fatal(err)
	}
	y.files[path] = nil
	for _, v := range live.Visits {
		if v.State == ledger.Booked {
			of, month, date := v.Day.Date()
			start := time.Date(of, month, date, 0, int(v.Start), 0, 0, zone)
			y.files[path] = append(y.files[path], start.UTC().Format(time.RFC3339))
		}
	}
	slices.Sort(y.files[path])
}

// readByOthers wants python3-icalendar to see in each patient's calendar the
// instants that the ledger has booked.
func (y *year) readByOthers(t *testing.T) {
	read := icalread.Read(t, icalread.Python, slices.Sorted(maps.Keys(y.files))...)
	timed := 0
	for path, want := range y.files {
		var got []string
		for _, e := range read[path].Events {
			if strings.Contains(e.Start, "T") {
				got = append(got, e.Start)
			}
		}
		slices.Sort(got)
		timed += len(got)
		if !slices.Equal(got, want) || len(read[path].Errors) > 0 {
			t.Errorf("%s: %v, the ledger has %v; %v", filepath.Base(path), got, want, read[path].Errors)
		}
	}
	t.Logf("%d files, %d visits with a time", len(y.files), timed)
	if timed == 0 {
		t.Error("no visit with a time in any file")
	}
}

var startLine = regexp.MustCompile(`(?m)^DTSTART;TZID=[^:]+:(\d{8})T(\d{4})00\r$`)

// calendarIsTheLedger wants the times of the patient's calendar to be what is
// booked, no more and no less.
func (y *year) calendarIsTheLedger(live desk.Live) {
	outputs, err := y.keeper.Outputs(live.Plan)
	if err != nil {
		y.t.Fatal(err)
	}
	var want, got []string
	for _, v := range live.Visits {
		if v.State == ledger.Booked {
			want = append(want, strings.ReplaceAll(v.Day.String(), "-", "")+" "+strings.ReplaceAll(v.Start.String(), ":", ""))
		}
	}
	for _, f := range outputs.Files {
		if f.Name == desk.PatientCalendar {
			y.counts["patient calendars"]++
			for _, m := range startLine.FindAllSubmatch(f.Data, -1) {
				got = append(got, string(m[1])+" "+string(m[2]))
			}
			y.keep(live, f.Data)
		}
	}
	slices.Sort(want)
	slices.Sort(got)
	if live.Stopped() {
		want = nil // nothing goes out while a stop stands
		y.counts["held back by a stop"]++
	}
	if !slices.Equal(got, want) {
		y.t.Errorf("%s: the patient's calendar has %v, the ledger %v", live.Kept.Case, got, want)
	}
}

// historyTellsAll replays the entries of a case: they must lead to the visits,
// revisions and approvals that the ledger holds.
func (y *year) historyTellsAll(live desk.Live) {
	entries, err := y.keeper.History(live.Kept.Case)
	if err != nil {
		y.t.Fatal(err)
	}
	y.counts["entries of history"] += len(entries)
	last := map[graft.MilestoneID]string{}
	made := 0
	for _, e := range entries {
		if e.By.Name == "" || e.At.IsZero() {
			y.t.Errorf("%s: entry %d says not who or when", live.Kept.Case, e.Seq)
		}
		switch e.What {
		case "admit", "set", "note", "revision", "rules":
			made++
		case "approve", "override", "contact":
		default:
			last[e.Milestone] = e.Now
		}
	}
	if made != live.Kept.Revision {
		y.t.Errorf("%s: %d entries made %d revisions", live.Kept.Case, made, live.Kept.Revision)
	}
	for id, now := range last {
		v, ok := live.Latest(id)
		if !ok || !strings.HasPrefix(now, string(v.State)) || !v.Day.IsZero() && !strings.Contains(now, v.Slot.String()) {
			y.t.Errorf("%s %s: the history ends with %q, the ledger has %s %s", live.Kept.Case, id, now, v.State, v.Slot)
		}
	}
}
