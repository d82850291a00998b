package desk_test

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/ledger"
	"graftclock/internal/protocol"
	"graftclock/internal/sqlite"
	"graftclock/internal/table"
)

// story is one case as it goes through a clinic, by random acts.
type story struct {
	*house
	id   graft.CaseID
	on   day.Day
	at   time.Time
	feed ledger.Feed
}

func (s *story) as(name string) desk.Actor {
	p, err := s.keeper.Person(name)
	if err != nil {
		s.t.Fatal(err)
	}
	s.at = s.at.Add(time.Minute)
	return desk.Actor{Person: p, On: s.on, At: s.at}
}

func (s *story) front() desk.Actor   { return s.as("Ida Marlow") }
func (s *story) surgeon() desk.Actor { return s.as("Dr Alba Quill") }

// pass lets days go by; it is eight in the morning then.
func (s *story) pass(days int) {
	s.on = s.on.AddDays(days)
	s.at = s.on.Time().Add(8 * time.Hour)
}

func (s *story) live() desk.Live {
	live, err := s.keeper.Live(s.id, s.on)
	if err != nil {
		s.t.Fatal(err)
	}
	return live
}

// errNothing says that a case has nothing to which an act could be done.
var errNothing = errors.New("nothing to do it to")

// acts are what may happen to a case, the more often the greater the weight.
var acts = []struct {
	name   string
	weight int
	do     func(*story) error
}{
	{"booked", 30, (*story).book},
	{"moved", 15, (*story).move},
	{"cancelled", 6, (*story).cancel},
	{"attended", 20, (*story).attend},
	{"missed", 3, (*story).miss},
	{"held", 2, (*story).hold},
	{"approved", 25, func(s *story) error { _, err := s.keeper.Approve(s.surgeon(), s.id); return err }},
	{"settled", 25, func(s *story) error { _, _, err := s.keeper.Settle(s.front(), s.id, ""); return err }},
	{"patient's data set", 10, (*story).setPatient},
	{"surgery's data set", 3, (*story).setSurgery},
	{"noted", 3, (*story).note},
	{"overridden", 2, (*story).override},
}

// happens plays one act.
func (s *story) happens() {
	total := 0
	for _, a := range acts {
		total += a.weight
	}
	n := s.random.IntN(total)
	for _, a := range acts {
		if n -= a.weight; n < 0 {
			s.tell(a.name, a.do(s))
			return
		}
	}
}

// tell counts an act. A refusal is an answer too; anything else is a fault.
func (s *story) tell(name string, err error) {
	var refusal *graft.Refusal
	var faults table.Faults
	switch {
	case err == nil:
		s.did[name]++
	case errors.Is(err, errNothing):
	case errors.As(err, &refusal), errors.As(err, &faults):
		s.did["refused"]++
	default:
		s.t.Fatalf("%s on %s, %s: %v", s.id, s.on, name, err)
	}
}

func choiceOf(m graft.Milestone) desk.Choice {
	return desk.Choice{Step: m.Step, For: m.For, Which: m.Which}
}

// one picks a milestone that fits.
func (s *story) one(live desk.Live, fits func(graft.Milestone) bool) (graft.Milestone, error) {
	list := slices.DeleteFunc(slices.Clone(live.Timeline.Milestones), func(m graft.Milestone) bool { return !fits(m) })
	if len(list) == 0 {
		return graft.Milestone{}, errNothing
	}
	return list[s.random.IntN(len(list))], nil
}

func isBooked(m graft.Milestone) bool { return m.Booked && m.Attended.IsZero() }

// offer picks a slot for a milestone that lies above its gate.
func (s *story) offer(live desk.Live, m graft.Milestone) (graft.Slot, error) {
	span := day.Span{}
	if m.Overdue {
		span = day.Span{From: s.on, To: s.on.AddDays(21)}
	}
	offers, err := live.Offers(m, span, 1+s.random.IntN(4))
	if err != nil {
		return graft.Slot{}, err
	}
	for _, n := range s.random.Perm(len(offers)) {
		if o := offers[n]; !o.BeforeGate && !o.BelowFloor {
			o.Start = o.Starts[s.random.IntN(len(o.Starts))]
			return graft.Slot{Day: o.Day, Start: o.Start}, nil
		}
	}
	return graft.Slot{}, errNothing
}

func (s *story) book() error {
	live := s.live()
	m, err := s.one(live, func(m graft.Milestone) bool {
		return m.Visit != "" && !m.Placed.IsZero() && m.Attended.IsZero() && live.State(m.ID) != ledger.Booked
	})
	if err != nil {
		return err
	}
	slot, err := s.offer(live, m)
	if err != nil {
		return err
	}
	_, _, err = s.keeper.Book(s.front(), s.id, choiceOf(m), slot, "as agreed")
	return err
}

func (s *story) move() error {
	live := s.live()
	m, err := s.one(live, isBooked)
	if err != nil {
		return err
	}
	slot, err := s.offer(live, m)
	if err != nil {
		return err
	}
	_, _, err = s.keeper.Move(s.front(), s.id, choiceOf(m), slot, "patient asked")
	return err
}

func (s *story) cancel() error {
	m, err := s.one(s.live(), isBooked)
	if err == nil {
		_, _, err = s.keeper.Cancel(s.front(), s.id, choiceOf(m), "")
	}
	return err
}

func (s *story) miss() error {
	m, err := s.one(s.live(), func(m graft.Milestone) bool { return isBooked(m) && !m.Slot.Day.After(s.on) })
	if err == nil {
		_, _, err = s.keeper.Missed(s.front(), s.id, choiceOf(m), "")
	}
	return err
}

func (s *story) hold() error {
	m, err := s.one(s.live(), func(m graft.Milestone) bool { return m.Attended.IsZero() && !m.Booked })
	if err == nil {
		_, _, err = s.keeper.Hold(s.front(), s.id, choiceOf(m), "")
	}
	return err
}

// attend ticks everything that is due.
func (s *story) attend() error {
	err := errNothing
	for _, m := range s.live().Timeline.Milestones {
		due := !m.Attended.IsZero() || m.Placed.IsZero() || m.Placed.After(s.on)
		if due && !m.Overdue {
			continue
		}
		taken := day.Day{}
		if !m.Booked && !m.Window.Target.After(s.on) {
			taken = m.Window.Target
		}
		if _, _, err = s.keeper.Attended(s.front(), s.id, choiceOf(m), taken, ""); err != nil {
			return err
		}
	}
	return err
}

func (s *story) setPatient() error {
	change := []string{
		"patient.name=" + s.name(s.random),
		"patient.calendar_detail=plain",
		"patient.calendar_detail=neutral",
		fmt.Sprintf("patient.unavailable+=%s..%s", s.on.AddDays(3), s.on.AddDays(3+s.random.IntN(12))),
	}
	_, err := s.keeper.Set(s.front(), s.id, change[s.random.IntN(len(change)):][:1], "")
	return err
}

func (s *story) setSurgery() error {
	change := []string{
		"surgery.sutures=resorbable",
		"surgery.day=" + s.live().Case.Surgery.Day.AddDays(1+s.random.IntN(6)).String(),
		"sinuses[0].implants[0].restoration=" + s.name(s.random),
		"graft.material=xenograft",
		"insertion_torque_ncm=35",
	}
	_, err := s.keeper.Set(s.surgeon(), s.id, change[s.random.IntN(len(change)):][:1], "")
	return err
}

func (s *story) note() error {
	c := s.live().Case
	side := string(c.Sinuses[0].Side)
	found := []map[string]string{
		{"what": "left out", "step": "healing-review"},
		{"what": "infection", "side": side},
		{"what": "graft removed", "side": side},
		{"what": "image", "result": "as expected"},
	}
	for _, i := range c.Sinuses[0].Implants {
		found = append(found, map[string]string{"what": "stability", "tooth": fmt.Sprint(i.Tooth), "isq": fmt.Sprint(45 + s.random.IntN(35))})
	}
	fields := found[s.random.IntN(len(found))]
	fields["day"] = s.on.String()
	if len(c.Sinuses) == 1 {
		delete(fields, "side")
	}
	_, err := s.keeper.AddFinding(s.surgeon(), s.id, fields, "")
	return err
}

func (s *story) override() error {
	m, err := s.one(s.live(), func(m graft.Milestone) bool { return m.Surgical && m.Attended.IsZero() })
	if err == nil {
		_, err = s.keeper.Override(s.surgeon(), s.id, choiceOf(m), m.Window.NotBefore.AddDays(s.random.IntN(20)-5), "dense bone")
	}
	return err
}

// audiences are those who get a file, and its name.
var audiences = map[graft.Audience]string{graft.ForPatient: desk.PatientCalendar, graft.ForDesk: desk.DeskCalendar, graft.ForSurgeon: desk.SurgeonCalendar}

// lastShown is an event as a file last had it.
type lastShown struct {
	says     string // all properties but the stamps
	time     string
	sequence int
	stamp    string
	file     int
}

// shownIn takes the events of a file apart, by UID.
func shownIn(t *testing.T, data []byte) map[string]lastShown {
	t.Helper()
	all := map[string]lastShown{}
	text := strings.ReplaceAll(string(data), "\r\n ", "")
	for _, part := range strings.Split(text, "\r\nBEGIN:VEVENT\r\n")[1:] {
		var e lastShown
		var uid, modified string
		for line := range strings.SplitSeq(strings.Split(part, "\r\nEND:VEVENT")[0], "\r\n") {
			name, value, _ := strings.Cut(line, ":")
			switch name, _, _ = strings.Cut(name, ";"); name {
			case "DTSTAMP":
				e.stamp = value
				continue
			case "LAST-MODIFIED":
				modified = value
				continue
			case "UID":
				uid = value
			case "SEQUENCE":
				fmt.Sscan(value, &e.sequence)
			case "DTSTART", "DTEND":
				e.time += line + " "
			case "STATUS":
				if value == "CANCELLED" {
					e.time += value
				}
			}
			e.says += line + "\n"
		}
		if modified != e.stamp {
			t.Errorf("DTSTAMP %s, LAST-MODIFIED %s", e.stamp, modified)
		}
		all[uid] = e
	}
	return all
}

// watch holds each file of one kind against the one before.
type watch struct {
	files, same, moved, changed, back int
	last                              map[string]lastShown
}

func (w *watch) sees(t *testing.T, what string, now map[string]lastShown) {
	t.Helper()
	w.files++
	for uid, e := range now {
		before, known := w.last[uid]
		e.file = w.files
		w.last[uid] = e
		switch {
		case !known:
		case before.file < w.files-1: // it was away, and may have been called off
			w.back++
			if e.sequence < before.sequence || e.sequence == before.sequence && e.time != before.time || e.stamp < before.stamp {
				t.Errorf("%s, %s: back with SEQUENCE %d after %d, at %s after %s", what, uid, e.sequence, before.sequence, e.time, before.time)
			}
		default:
			w.compare(t, what+", "+uid, before, e)
		}
	}
}

// compare wants SEQUENCE to follow the time and the stamp to follow everything.
func (w *watch) compare(t *testing.T, what string, before, now lastShown) {
	t.Helper()
	rises := 0
	if before.time != now.time {
		rises = 1
		w.moved++
	}
	if got := cmp.Compare(now.sequence, before.sequence); got != rises {
		t.Errorf("%s: SEQUENCE %d after %d, from %s to %s", what, now.sequence, before.sequence, before.time, now.time)
	}
	rises = 0
	if before.says != now.says {
		rises = 1
		w.changed++
	} else {
		w.same++
	}
	if got := cmp.Compare(now.stamp, before.stamp); got != rises {
		t.Errorf("%s: stamp %s after %s\n%s", what, now.stamp, before.stamp, gocmp.Diff(before.says, now.says))
	}
}

// TestSequenceAndStampFollowWhatTheReaderSees plays stories and holds every file
// against the one before it, and every feed.
func TestSequenceAndStampFollowWhatTheReaderSees(t *testing.T) {
	t.Parallel()
	h := openHouse(t, 4, oddClinic(t, rand.New(rand.NewPCG(4, 4)), "Europe/Dublin"), oddName)
	stories, states := 30, 10
	if testing.Short() || underRace {
		stories = 6
	}
	total := watch{}
	for range stories {
		s := h.begin()
		watches := map[string]*watch{"feed": {last: map[string]lastShown{}}}
		for _, name := range audiences {
			watches[name] = &watch{last: map[string]lastShown{}}
		}
		var before map[string]lastShown
		for range states {
			s.pass(s.random.IntN(30))
			for range 1 + s.random.IntN(3) {
				s.happens()
			}
			given := s.handOut()
			for _, f := range given.calendars() {
				now := shownIn(t, f.Data)
				watches[f.Name].sees(t, f.Name, now)
				s.readsBack(given, f)
			}
			if given.feed.Data != nil {
				now := shownIn(t, given.feed.Data)
				watches["feed"].sees(t, "feed", now)
				s.noneVanished(given, before, now)
				before = now
			}
		}
		for _, w := range watches {
			total.files, total.same, total.moved, total.changed, total.back = total.files+w.files, total.same+w.same, total.moved+w.moved, total.changed+w.changed, total.back+w.back
		}
	}
	t.Logf("%d cases, %d files: %d events as before, %d changed, %d of them moved or called off, %d back after a file without them; %s",
		stories, total.files, total.same, total.changed, total.moved, total.back, countsOf(h.did))
	if stories > 6 && (total.same == 0 || total.moved == 0 || total.changed <= total.moved || h.did["called off in a feed"] == 0) {
		t.Error("something never happened")
	}
}

// readsBack wants a file that is read again to say what the ledger keeps as given.
func (s *story) readsBack(g handed, f desk.File) {
	s.t.Helper()
	seen, err := ics.Read(f.Data, s.clinic.Zone)
	if err != nil {
		s.t.Errorf("%s %s: %v", s.id, f.Name, err)
	}
	kept := map[string]ledger.Issue{}
	for _, i := range g.issues {
		kept[ics.UID(g.key, string(s.id), string(i.Milestone), string(i.Audience))] = i
	}
	for _, e := range seen {
		i := kept[e.UID]
		want := saidIn(s.t, i)
		end := day.Max(want.Day, want.LastDay).AddDays(1).Time()
		start := want.Day.Time()
		if want.Minutes > 0 {
			start = s.instant(want.Day, want.Start)
			end = start.Add(time.Duration(want.Minutes) * time.Minute)
		}
		read := ics.Seen{UID: e.UID, Start: start, End: end, AllDay: want.Minutes == 0, Summary: strings.TrimSpace(want.Summary), Description: strings.TrimSpace(want.Description),
			Location: strings.TrimSpace(want.Location), Status: want.Status, Sequence: i.Sequence, Transparent: want.Transparent}
		for _, days := range want.AlarmDays {
			read.Extra = append(read.Extra, fmt.Sprintf("alarm %d", -days*24*60*60))
		}
		slices.Sort(read.Extra)
		if diff := gocmp.Diff(read, e); diff != "" || i.Cancelled {
			s.t.Errorf("%s %s (-kept +read), called off %v:\n%s", s.id, f.Name, i.Cancelled, diff)
		}
	}
}

// said is an event as the ledger keeps it.
type said struct {
	Day         day.Day    `json:"day"`
	LastDay     day.Day    `json:"last_day"`
	Start       day.Clock  `json:"start"`
	Minutes     int        `json:"minutes"`
	Zone        string     `json:"zone"`
	Summary     string     `json:"summary"`
	Description string     `json:"description"`
	Location    string     `json:"location"`
	Status      ics.Status `json:"status"`
	Transparent bool       `json:"transparent"`
	AlarmDays   []int      `json:"alarm_days"`
}

func saidIn(t *testing.T, i ledger.Issue) said {
	t.Helper()
	var s said
	decoder := json.NewDecoder(bytes.NewReader(i.Event))
	decoder.DisallowUnknownFields()
	if err := decoder.Decode(&s); err != nil {
		t.Fatalf("%s %s %s: %v", i.Case, i.Milestone, i.Audience, err)
	}
	return s
}

const shownCancelled = 14 * 24 * time.Hour

// noneVanished wants every event of the feed before in the one that follows: as it
// stands or as CANCELLED with a later SEQUENCE, unless it is over or was called off
// two weeks ago.
func (s *story) noneVanished(g handed, before, now map[string]lastShown) {
	s.t.Helper()
	for _, i := range g.issues {
		uid := ics.UID(g.key, string(s.id), string(i.Milestone), string(graft.ForPatient))
		was, had := before[uid]
		is, has := now[uid]
		m, _ := g.live.Timeline.Find(i.Milestone)
		e := saidIn(s.t, i)
		off, wasOff := strings.HasPrefix(is.time, "CANCELLED"), strings.HasPrefix(was.time, "CANCELLED")
		switch {
		case i.Audience != graft.ForPatient || !had:
		case has && off && !wasOff:
			s.did["called off in a feed"]++
		case wasOff && has && off:
			if s.at.Sub(i.At) >= shownCancelled {
				s.t.Errorf("%s %s: still in the feed on %s, called off %s", s.id, i.Milestone, s.on, i.At)
			}
		case wasOff && !has:
			s.did["gone from a feed"]++
			if s.at.Sub(i.At) < shownCancelled {
				s.t.Errorf("%s %s: gone from the feed on %s, called off %s", s.id, i.Milestone, s.on, i.At)
			}
		case !has && m.Attended.IsZero() && !day.Max(e.Day, e.LastDay).Before(s.on):
			if s.at.Sub(i.At) < shownCancelled {
				s.t.Errorf("%s %s: vanished from the feed on %s", s.id, i.Milestone, s.on)
			}
		}
	}
}

// countsOf writes counts in the order of their names.
func countsOf(counts map[string]int) string {
	var lines []string
	for _, what := range slices.Sorted(maps.Keys(counts)) {
		lines = append(lines, fmt.Sprintf("%s %d", what, counts[what]))
	}
	return strings.Join(lines, ", ")
}

// TestAVisitThatIsOffStaysTwoWeeksInTheFeed leaves out a booked review.
func TestAVisitThatIsOffStaysTwoWeeksInTheFeed(t *testing.T) {
	k, store := keeping(t)
	ida, quill := acting(t, k, "Ida Marlow", "2027-01-18"), acting(t, k, "Dr Alba Quill", "2027-01-18")
	id := admit(t, k, ida, "fenwick")
	if _, _, err := k.Book(ida, id, desk.Choice{Step: graft.HealingReview}, at("2027-03-11", "09:00"), "as agreed"); err != nil {
		t.Fatal(err)
	}
	feed, err := k.OpenFeed(ida, id, t.TempDir(), "token")
	if err != nil {
		t.Fatal(err)
	}
	var key []byte
	if err := store.View(func(l desk.Ledger) (err error) { key, err = l.CalendarKey(); return err }); err != nil {
		t.Fatal(err)
	}
	uid := ics.UID(key, string(id), string(graft.MilestoneIDOf(graft.HealingReview, "", "")), string(graft.ForPatient))
	see := func(days int, minute time.Duration) (lastShown, bool) {
		t.Helper()
		file, err := k.FillFeed(feed, ida.On.AddDays(days), ida.At.AddDate(0, 0, days).Add(minute))
		if err != nil || file.Data == nil {
			t.Fatalf("%s, %v", file.Held, err)
		}
		e, has := shownIn(t, file.Data)[uid]
		return e, has
	}
	stands, has := see(0, 0)
	if !has || strings.HasPrefix(stands.time, "CANCELLED") {
		t.Fatalf("not in the feed as booked: %+v", stands)
	}
	if _, err := k.AddFinding(quill, id, map[string]string{"what": "left out", "step": "healing-review", "day": "2027-01-18"}, "no need"); err != nil {
		t.Fatal(err)
	}
	if _, _, err := k.Settle(ida, id, ""); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		days   int
		minute time.Duration
		shown  bool
	}{{1, 0, true}, {1, 0, true}, {10, 0, true}, {15, -time.Minute, true}, {15, 0, false}, {16, 0, false}} {
		off, has := see(c.days, c.minute)
		if has != c.shown || has && (!strings.HasPrefix(off.time, "CANCELLED") || off.sequence <= stands.sequence || off.stamp <= stands.stamp) {
			t.Errorf("after %d days, shown %v: %+v, before %+v", c.days, has, off, stands)
		}
	}
}

// TestTwoDesksNeverGiveOneNumberToTwoTimes moves visits and gives files out from
// two desks at once.
func TestTwoDesksNeverGiveOneNumberToTwoTimes(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "clinic.ledger")
	rounds := 40
	if testing.Short() || underRace {
		rounds = 8
	}
	var two [2]*desk.Keeper
	for n := range two {
		store, err := sqlite.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		defer store.Close()
		two[n] = desk.NewKeeper(desk.New(demoClinic(t), protocol.Default()), desk.Keep(store))
	}
	ida := acting(t, two[0], "Ida Marlow", "2027-01-18")
	id := admit(t, two[0], ida, "fenwick")
	if _, _, err := two[0].Book(ida, id, wound(), at("2027-01-25", "08:30"), ""); err != nil {
		t.Fatal(err)
	}
	var files [2][]desk.File
	var failed [2]error
	var both sync.WaitGroup
	for n := range two {
		both.Go(func() { files[n], failed[n] = moveAndGive(two[n], ida, id, n, rounds) })
	}
	both.Wait()
	if err := errors.Join(failed[:]...); err != nil {
		t.Fatal(err)
	}
	numbered, stamped := map[string]string{}, map[string]string{}
	for _, f := range slices.Concat(files[0], files[1]) {
		for uid, e := range shownIn(t, f.Data) {
			number, stamp := fmt.Sprintf("%s %d", uid, e.sequence), uid+" "+e.stamp
			if had, known := numbered[number]; known && had != e.time {
				t.Errorf("%s: SEQUENCE %d for %s and for %s", f.Name, e.sequence, had, e.time)
			}
			if had, known := stamped[stamp]; known && had != e.says {
				t.Errorf("%s: one stamp for\n%sand for\n%s", f.Name, had, e.says)
			}
			numbered[number], stamped[stamp] = e.time, e.says
		}
	}
	t.Logf("%d files, %d numbers given", len(files[0])+len(files[1]), len(numbered))
	if len(numbered) < rounds {
		t.Error("hardly any visit was moved")
	}
}

// moveAndGive is one of the two desks. Both act at the same moment, and a move that
// the other desk was quicker with is refused.
func moveAndGive(k *desk.Keeper, a desk.Actor, id graft.CaseID, desk1 int, rounds int) (files []desk.File, err error) {
	for n := range rounds {
		slot := rushSlot((desk1 + 2*n) % slotsAtStake)
		_, _, err := k.Move(a, id, wound(), slot, "asked")
		var refusal *graft.Refusal
		if err != nil && !errors.As(err, &refusal) {
			return files, err
		}
		_, out, err := k.GiveOut(id, a.On, a.At)
		if err != nil {
			return files, err
		}
		for _, f := range out.Files {
			if strings.HasSuffix(f.Name, ".ics") {
				files = append(files, f)
			}
		}
	}
	return files, nil
}

// uidsOf gives a case out and returns the UIDs of each file, sorted.
func uidsOf(t *testing.T, k *desk.Keeper, a desk.Actor, id graft.CaseID) map[string][]string {
	t.Helper()
	_, out, err := k.GiveOut(id, a.On, a.At)
	if err != nil {
		t.Fatal(err)
	}
	uids := map[string][]string{}
	for _, f := range out.Files {
		if strings.HasSuffix(f.Name, ".ics") {
			uids[f.Name] = slices.Sorted(maps.Keys(shownIn(t, f.Data)))
		}
	}
	return uids
}

func TestUIDsStayWhateverBecomesOfTheCase(t *testing.T) {
	k, _ := keeping(t)
	ida, quill := acting(t, k, "Ida Marlow", "2027-01-18"), acting(t, k, "Dr Alba Quill", "2027-01-18")
	id := admit(t, k, ida, "fenwick")
	want := uidsOf(t, k, ida, id)
	set := func(a desk.Actor, change string) func() error {
		return func() error { _, err := k.Set(a, id, []string{change}, ""); return err }
	}
	for _, c := range []struct {
		name string
		do   func() error
	}{
		{"renamed", set(ida, "patient.name=Nora Fenwick-Birch")},
		{"plain titles", set(ida, "patient.calendar_detail=plain")},
		{"another language", set(ida, "patient.language=fi")},
		{"booked", func() error { _, _, err := k.Book(ida, id, wound(), at("2027-01-25", "09:00"), ""); return err }},
		{"moved", func() error { _, _, err := k.Move(ida, id, wound(), at("2027-01-26", "10:00"), ""); return err }},
		{"cancelled", func() error { _, _, err := k.Cancel(ida, id, wound(), ""); return err }},
		{"booked again", func() error { _, _, err := k.Book(ida, id, wound(), at("2027-01-25", "11:00"), ""); return err }},
		{"another day of surgery", set(quill, "surgery.day=2027-01-12")},
		{"settled", func() error { _, _, err := k.Settle(ida, id, ""); return ignoreRefusal(err) }},
		{"approved", func() error { _, err := k.Approve(quill, id); return err }},
	} {
		if err := c.do(); err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if diff := gocmp.Diff(want, uidsOf(t, k, ida, id)); diff != "" {
			t.Errorf("%s (-before +after):\n%s", c.name, diff)
		}
	}
}

func ignoreRefusal(err error) error {
	var refusal *graft.Refusal
	if errors.As(err, &refusal) {
		return nil
	}
	return err
}

// TestUIDsCannotBeWorkedOut admits one record into two ledgers: nothing but the key
// of the ledger, which the record does not hold, tells them apart, and none is the
// name that somebody without the key would make.
func TestUIDsCannotBeWorkedOut(t *testing.T) {
	seen := map[string]bool{}
	for range 2 {
		k, _ := keeping(t)
		ida := acting(t, k, "Ida Marlow", "2027-01-18")
		id := admit(t, k, ida, "fenwick")
		live, err := k.Live(id, ida.On)
		if err != nil {
			t.Fatal(err)
		}
		guessed := map[string]bool{}
		for _, m := range live.Timeline.Milestones {
			for who := range audiences {
				guessed[ics.UID(nil, string(id), string(m.ID), string(who))] = true
				guessed[ics.UID(nil, k.Clinic.Name, string(id), live.Case.Patient.Name, string(m.ID), string(who))] = true
			}
		}
		count := 0
		for name, uids := range uidsOf(t, k, ida, id) {
			for _, uid := range uids {
				count++
				if seen[uid] || guessed[uid] {
					t.Errorf("%s: %s is in the other ledger (%v) or can be guessed (%v)", name, uid, seen[uid], guessed[uid])
				}
				seen[uid] = true
			}
		}
		if count < 20 {
			t.Errorf("%d UIDs", count)
		}
	}
}

// TestARestoredLedgerGivesTheSameNames goes back to a copy of yesterday.
func TestARestoredLedgerGivesTheSameNames(t *testing.T) {
	path := filepath.Join(t.TempDir(), "clinic.ledger")
	backup := filepath.Join(t.TempDir(), "copy.ledger")
	with := func(do func(*sqlite.Store, *desk.Keeper)) (key []byte) {
		store, err := sqlite.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		defer store.Close()
		kept := desk.Keep(store)
		do(store, desk.NewKeeper(desk.New(demoClinic(t), protocol.Default()), kept))
		if err := kept.View(func(l desk.Ledger) (err error) { key, err = l.CalendarKey(); return err }); err != nil {
			t.Fatal(err)
		}
		return key
	}
	var id graft.CaseID
	var want map[string][]string
	before := with(func(store *sqlite.Store, k *desk.Keeper) {
		ida := acting(t, k, "Ida Marlow", "2027-01-18")
		id = admit(t, k, ida, "fenwick")
		want = uidsOf(t, k, ida, id)
		if err := store.Backup(backup); err != nil {
			t.Fatal(err)
		}
		if _, _, err := k.Book(ida, id, wound(), at("2027-01-25", "09:00"), ""); err != nil {
			t.Fatal(err)
		}
	})
	if _, err := sqlite.Restore(backup, path); err != nil {
		t.Fatal(err)
	}
	after := with(func(_ *sqlite.Store, k *desk.Keeper) {
		if diff := gocmp.Diff(want, uidsOf(t, k, acting(t, k, "Ida Marlow", "2027-01-19"), id)); diff != "" {
			t.Errorf("(-before +restored):\n%s", diff)
		}
	})
	if !bytes.Equal(before, after) || len(after) != 32 {
		t.Errorf("another key: %d and %d bytes", len(before), len(after))
	}
}
