package desk_test

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/ledger"
	"graftclock/internal/letter"
	"graftclock/internal/post"
	"graftclock/internal/protocol"
	"graftclock/internal/reference/icalread"
	"graftclock/internal/sqlite"
)

// alphabets are the letters that names are made of. The Latin ones form no word of
// the trade. No backslash: python-icalendar turns some into something else.
var alphabets = []string{
	"zqxjvkaeiouéøßž", "αβγδεζηθλμνξπρσφχψω", "абвгдежзийклмнопрстуфхцчшщыэюя", "ابتثجحخدذرزسشصضطظعغفقكلمنهوي",
	"青木林森田山川石岩水火土金花鳥風月", "🦷🏥🙂🌊👵🏽",
}

func oddWord(r *rand.Rand) string {
	if r.IntN(12) == 0 {
		return "👩🏽\u200d⚕️"
	}
	from := []rune(alphabets[r.IntN(len(alphabets))])
	word := make([]rune, 2+r.IntN(8))
	for i := range word {
		word[i] = from[r.IntN(len(from))]
	}
	return string(word)
}

// oddName is one line in any script, with what calendars quote and escape.
func oddName(r *rand.Rand) string {
	name := oddWord(r)
	for range r.IntN(4) {
		name += []string{" ", ", ", "; ", ": ", " – ", "/", "'", " ^", " = ", "n", "100 % "}[r.IntN(11)] + oddWord(r)
	}
	switch r.IntN(10) {
	case 0, 1:
		name = oddWord(r) + ` "` + oddWord(r) + `" ` + name
	case 2:
		name = strings.Repeat(oddWord(r)+" ", 30) + name
	}
	return name
}

// oddLines is what a clinic file of several lines may say.
func oddLines(r *rand.Rand) string {
	text := oddName(r)
	for range r.IntN(3) {
		text += []string{"\n", "\n\n", "\nEND:VEVENT\n", "\nSTATUS:CANCELLED\n"}[r.IntN(4)] + oddName(r)
	}
	return text
}

// oddClinic is the demo clinic in another zone and under other names.
func oddClinic(t *testing.T, r *rand.Rand, zone string) casefile.Clinic {
	c := demoClinic(t)
	c.Zone, c.Name, c.ShortName, c.Phone = zone, oddLines(r), oddLines(r), oddName(r)
	c.Address = []string{oddLines(r), oddName(r)}
	c.Rooms = slices.Clone(c.Rooms)
	for i := range c.Rooms {
		c.Rooms[i].Name = fmt.Sprintf("%s %d", oddLines(r), i)
	}
	c.Mail.From = "desk@harbourrow.example"
	return c
}

// house is a clinic with its ledger, in which stories are played.
type house struct {
	t      *testing.T
	random *rand.Rand
	clinic casefile.Clinic
	store  desk.Store
	keeper *desk.Keeper
	name   func(*rand.Rand) string // of patients, cases and restorations
	demos  [][]byte                // records to begin with
	cases  int
	did    map[string]int
}

// simpleEach is how many records of one side come upon the one of both, whose every
// state takes the diary as long as ten of theirs.
const simpleEach = 6

func openHouse(t *testing.T, seed uint64, c casefile.Clinic, name func(*rand.Rand) string) *house {
	t.Helper()
	store, err := sqlite.Open(filepath.Join(t.TempDir(), "clinic.ledger"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { store.Close() })
	h := &house{t: t, random: rand.New(rand.NewPCG(seed, 2027)), clinic: c, store: desk.Keep(store), name: name, did: map[string]int{}}
	h.keeper = h.again()
	simple := []string{"fenwick", "okafor", "marsh", "lindqvist"}
	for _, name := range slices.Concat(slices.Repeat(simple, simpleEach), []string{"petrov", "doyle"}) {
		_, data := demo(t, name+".yaml")
		canonical, _, faults := casefile.Canonical(name, data)
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		h.demos = append(h.demos, canonical)
	}
	return h
}

// again opens the house's desk anew, which remembers nothing.
func (h *house) again() *desk.Keeper {
	return desk.NewKeeper(desk.New(h.clinic, protocol.Default()), h.store)
}

// record makes a record out of one of the demo's.
func (h *house) record() ([]byte, casefile.Case) {
	h.cases++
	surgery := day.New(2027, time.January, 4).AddDays(h.random.IntN(700))
	changes := []string{
		fmt.Sprintf("case=%s %d", h.name(h.random), 2000+h.cases), "patient.name=" + h.name(h.random), "patient.flags=none", "patient.unavailable=none",
		"surgery.day=" + surgery.String(), "patient.calendar_detail=" + []string{"neutral", "plain"}[h.random.IntN(2)],
		"patient.language=" + []string{"en", "en", "en-IE", "en-AU", "fi"}[h.random.IntN(5)], "patient.print=" + []string{"normal", "large"}[h.random.IntN(2)],
	}
	for _, flag := range graft.Flags {
		if h.random.IntN(4) == 0 {
			changes = append(changes, "patient.flags+="+string(flag))
		}
	}
	if h.random.IntN(3) > 0 {
		changes = append(changes, "patient.mail.address=patient@fenwick.example", "patient.mail.agreed="+surgery.AddDays(-30).String(), fmt.Sprintf("patient.mail.letter=%v", h.random.IntN(2) == 0))
	}
	n := h.random.IntN(len(h.demos))
	if aborted := n == len(h.demos)-1; !aborted && h.random.IntN(2) == 0 {
		changes = append(changes, "sinuses[0].implants[0].restoration="+h.name(h.random))
	}
	record, c, faults, err := casefile.Change("record", h.demos[n], changes)
	if err != nil || len(faults) > 0 {
		h.t.Fatal(err, faults)
	}
	return record, c
}

// begin takes a new case in, some time round its surgery.
func (h *house) begin() *story {
	record, c := h.record()
	s := &story{house: h, id: c.ID, on: c.Surgery.Day}
	s.pass(h.random.IntN(60) - 20)
	if did := h.keeper.Admit(s.front(), record, c, ""); did.Err != nil {
		h.t.Fatal(did.Err)
	}
	feed, err := h.keeper.OpenFeed(s.front(), s.id, "/feeds", fmt.Sprintf("%032x", h.random.Uint64()))
	if err != nil {
		h.t.Fatal(err)
	}
	s.feed = feed
	return s
}

// instant is a time on the clocks of the clinic.
func (h *house) instant(d day.Day, start day.Clock) time.Time {
	zone, err := time.LoadLocation(h.clinic.Zone)
	if err != nil {
		h.t.Fatal(err)
	}
	year, month, date := d.Date()
	return time.Date(year, month, date, 0, int(start), 0, 0, zone)
}

// handed is all that goes out of one state of a case.
type handed struct {
	live   desk.Live
	at     time.Time
	out    desk.Outputs
	feed   desk.FeedFile
	mails  []mailed
	issues []ledger.Issue // before the mails
	key    []byte
}

type mailed struct {
	ledger.Invitation
	post.Message
	off bool // made while nothing else went out
}

func (g handed) calendars() []desk.File {
	return slices.DeleteFunc(slices.Clone(g.out.Files), func(f desk.File) bool { return !slices.Contains(slices.Collect(maps.Values(audiences)), f.Name) })
}

// handOut gives a case out in every way there is.
func (s *story) handOut() handed {
	s.t.Helper()
	s.at = s.at.Add(time.Minute)
	g := handed{at: s.at}
	var err error
	if g.live, g.out, err = s.keeper.GiveOut(s.id, s.on, s.at); err != nil {
		s.t.Fatal(err)
	}
	if g.feed, err = s.keeper.FillFeed(s.feed, s.on, s.at); err != nil {
		s.t.Fatal(err)
	}
	if err := s.store.View(func(l desk.Ledger) (err error) {
		if g.key, err = l.CalendarKey(); err != nil {
			return err
		}
		g.issues, err = l.Issues(s.id)
		return err
	}); err != nil {
		s.t.Fatal(err)
	}
	if g.live.Case.Patient.Mail.Address != "" {
		s.invite(&g)
	}
	return g
}

// invite mails what there is to tell. Some mails fail, some are lost.
func (s *story) invite(g *handed) {
	s.t.Helper()
	_, err := s.keeper.Invite(s.front(), s.id, desk.InviteOptions{
		Name: func() string { return post.NewID(binaryOf(s.random), "harbourrow.example") },
		Carry: func(i ledger.Invitation, m post.Message) (ledger.Sending, string, error) {
			g.mails = append(g.mails, mailed{i, m, g.feed.Held != "" && g.feed.Data == nil})
			return []ledger.Sending{ledger.Sent, ledger.Sent, ledger.Sent, ledger.Sent, ledger.Written, ledger.Failed, ledger.UnderWay}[s.random.IntN(7)], "so the server says", nil
		},
		Again: true,
	})
	s.tell("invited", err)
}

func binaryOf(r *rand.Rand) []byte {
	random := make([]byte, 16)
	for i := range random {
		random[i] = byte(r.IntN(256))
	}
	return random
}

// reading is what files must say to every reader.
type reading struct {
	folder string
	want   map[string][]icalread.Event // by path
	news   news
	counts map[string]int

	known map[[sha256.Size]byte]string          // the path of files by what they hold
	last  map[graft.CaseID]map[string]lastEvent // by way and UID
}

type lastEvent struct {
	icalread.Event
	file int
}

func newReading(folder string) *reading {
	return &reading{
		folder, map[string][]icalread.Event{}, news{map[[sha256.Size]byte]bool{}, map[string][]icalread.Event{}}, map[string]int{},
		map[[sha256.Size]byte]string{}, map[graft.CaseID]map[string]lastEvent{},
	}
}

// add keeps a file and what it must say. The same bytes must say the same.
func (r *reading) add(t *testing.T, data []byte, want []icalread.Event) {
	t.Helper()
	r.counts["files"]++
	r.counts["events"] += len(want)
	if complaints := ics.Lint(data); complaints != nil {
		t.Errorf("%v\n%s", complaints, data)
	}
	slices.SortFunc(want, byUID)
	sum := sha256.Sum256(data)
	if path, known := r.known[sum]; known {
		if diff := gocmp.Diff(r.want[path], want); diff != "" {
			t.Errorf("the same bytes ought to say something else:\n%s", diff)
		}
		return
	}
	path := filepath.Join(r.folder, fmt.Sprintf("%d.ics", len(r.known)))
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	r.known[sum], r.want[path] = path, want
	r.news.add(t, strings.TrimSuffix(path, ".ics")+"-news.ics", data, want)
}

func byUID(a, b icalread.Event) int { return cmp.Compare(a.UID, b.UID) }

// takes adds all that one state of a case gave out.
func (r *reading) takes(s *story, g handed) {
	s.t.Helper()
	r.counts["timelines"]++
	x := expecting{s, g, map[graft.Audience]map[graft.MilestoneID]ledger.Issue{}}
	for _, i := range g.issues {
		if x.issues[i.Audience] == nil {
			x.issues[i.Audience] = map[graft.MilestoneID]ledger.Issue{}
		}
		x.issues[i.Audience][i.Milestone] = i
	}
	for who, name := range audiences {
		var want []icalread.Event
		held := who == graft.ForPatient && (g.live.Stopped() || !g.live.Settled())
		if !held {
			want = x.file(who)
		}
		written := slices.IndexFunc(g.out.Files, func(f desk.File) bool { return f.Name == name })
		if (written >= 0) != (len(want) > 0) {
			s.t.Errorf("%s %s: written %v, held %v, %d visits", s.id, name, written >= 0, held, len(want))
		}
		if written >= 0 {
			r.add(s.t, g.out.Files[written].Data, want)
			r.follows(s, string(who), want)
		}
	}
	if g.feed.Data != nil {
		want := x.feed()
		r.add(s.t, g.feed.Data, want)
		r.follows(s, "feed", want)
	}
	for _, m := range g.mails {
		want := x.mail(m)
		r.counts["mails, "+string(m.Invitation.Method)]++
		r.add(s.t, m.Calendar, []icalread.Event{want})
		r.mailFollows(s, want, m)
	}
}

// follows wants SEQUENCE to rise for every visit that has moved or is off since the
// file before on the same way, and to stay for every other.
func (r *reading) follows(s *story, way string, now []icalread.Event) {
	s.t.Helper()
	last := r.last[s.id]
	if last == nil {
		last = map[string]lastEvent{}
		r.last[s.id] = last
	}
	file := last[way].file + 1
	last[way] = lastEvent{file: file}
	for _, e := range now {
		before, known := last[way+e.UID]
		last[way+e.UID] = lastEvent{e, file}
		switch moved := before.Start != e.Start || before.End != e.End || (before.Status == "CANCELLED") != (e.Status == "CANCELLED"); {
		case !known:
			r.counts["visits that are new"]++
		case moved && e.Sequence <= before.Sequence:
			s.t.Errorf("%s, %s: SEQUENCE %d after %d, from %s to %s", s.id, way, e.Sequence, before.Sequence, before.Start, e.Start)
		case moved:
			r.counts["visits that moved"]++
		case before.file == file-1 && e.Sequence != before.Sequence, e.Sequence < before.Sequence:
			s.t.Errorf("%s, %s: SEQUENCE %d after %d, both at %s", s.id, way, e.Sequence, before.Sequence, e.Start)
		default:
			r.counts["visits that stayed"]++
		}
	}
}

// mailFollows wants a mail to have a later SEQUENCE than the one before about the
// same visit, or to say the same once more. One that calls a visit off while no
// file goes out is what the next file follows.
func (r *reading) mailFollows(s *story, e icalread.Event, m mailed) {
	s.t.Helper()
	before, known := r.last[s.id]["mail"+e.UID]
	again := before.Start == e.Start && before.Method == e.Method
	if known && (e.Sequence < before.Sequence || e.Sequence == before.Sequence && !again) {
		s.t.Errorf("%s, %s: SEQUENCE %d after %d", s.id, e.Method, e.Sequence, before.Sequence)
	}
	if r.last[s.id] == nil {
		r.last[s.id] = map[string]lastEvent{}
	}
	r.last[s.id]["mail"+e.UID] = lastEvent{Event: e}
	for _, way := range []string{string(graft.ForPatient), "feed"} {
		if before, had := r.last[s.id][way+e.UID]; had && m.off {
			r.last[s.id][way+e.UID] = lastEvent{e, before.file}
		}
	}
}

// expecting says what files must hold, from the plan and the ledger alone.
type expecting struct {
	*story
	handed
	issues map[graft.Audience]map[graft.MilestoneID]ledger.Issue
}

func (x expecting) uid(id graft.MilestoneID, who graft.Audience) string {
	return ics.UID(x.key, string(x.id), string(id), string(who))
}

// file lists the events of one audience: what lies ahead, and for the patient
// nothing that is overdue and waits to be booked. The clinic has every visit that is
// booked, whether it fits the plan or not.
func (x expecting) file(who graft.Audience) []icalread.Event {
	var list []icalread.Event
	live := x.handed.live
	if who != graft.ForPatient {
		for _, v := range live.Gone {
			if v.State == ledger.Booked {
				list = append(list, x.event(graft.Milestone{ID: v.Milestone, Booked: true}, who))
			}
		}
	}
	for _, m := range live.Timeline.Milestones {
		misfit := slices.ContainsFunc(live.Misfits, func(f diary.Misfit) bool { return f.ID == m.ID })
		if misfit && who != graft.ForPatient {
			m.Booked, m.Placed = true, live.Timeline.On // wherever it is placed
		}
		ahead := !m.Placed.IsZero() && m.Attended.IsZero() && slices.Contains(m.SeenBy, who)
		if ahead && (m.Booked || !m.Overdue || who != graft.ForPatient) {
			list = append(list, x.event(m, who))
		}
	}
	return list
}

// event is one milestone: timed and opaque where the ledger has it booked, else
// all-day and transparent.
func (x expecting) event(m graft.Milestone, who graft.Audience) icalread.Event {
	issue, given := x.issues[who][m.ID]
	if !given || issue.Cancelled {
		x.t.Errorf("%s %s %s: the ledger keeps no issue of it (%v)", x.id, m.ID, who, given)
		return icalread.Event{}
	}
	e := icalread.Event{UID: x.uid(m.ID, who), Sequence: issue.Sequence}
	e.Summary, e.Description, e.Location = x.words(m, who, saidIn(x.t, issue).Description)
	v, _ := x.handed.live.Latest(m.ID)
	if !m.Booked {
		first, last := m.Placed, m.Placed
		if who == graft.ForPatient {
			first = day.Max(m.Window.NotBefore, m.Window.Earliest)
			last = day.Max(first, m.Window.Latest)
		}
		e.Start, e.End, e.Status, e.Transparent = first.String(), last.AddDays(1).String(), "TENTATIVE", true
		return e
	}
	if v.State != ledger.Booked {
		x.t.Errorf("%s %s: booked in the plan, %s in the ledger", x.id, m.ID, v.State)
	}
	start := x.instant(v.Day, v.Start)
	e.Start, e.End = start.UTC().Format(time.RFC3339), start.Add(time.Duration(v.Minutes)*time.Minute).UTC().Format(time.RFC3339)
	e.Status = "CONFIRMED"
	if v.Day.Sub(day.Of(v.Booked)) > 4*7 {
		e.Alarms = append(e.Alarms, -10*24*60*60)
	}
	e.Alarms = append(e.Alarms, -3*24*60*60, -24*60*60)
	return e
}

// words are the title, the text and the place. What the clinic is told of windows
// and reasons is the ledger's.
func (x expecting) words(m graft.Milestone, who graft.Audience, kept string) (title, text, place string) {
	live, c := x.handed.live, x.clinic
	if who != graft.ForPatient {
		if m.Booked {
			v, _ := live.Latest(m.ID)
			place = v.Room
		}
		return strings.TrimSpace(fmt.Sprintf("%s %s: %s", x.id, live.Case.Patient.Name, m.ID.Title())), strings.TrimSpace(kept), strings.TrimSpace(place)
	}
	words, err := letter.BuiltIn().WordsFor(live.Case.Patient.Language)
	if err != nil {
		words = letter.English()
	}
	plain, visit := live.Case.Patient.CalendarDetail == graft.Plain && err == nil, ""
	if plain {
		visit = words.Title(m.Step)
	}
	entry := words.Window(c.ShortName, c.Phone, visit)
	if m.Booked {
		entry = words.Booked(c.ShortName, c.Phone, visit)
	}
	if live.Approval == nil {
		entry.Text += " " + words.DraftNote()
	}
	if what := words.What(m.Step, live.Case.Surgery.Resorbable); plain && what != "" {
		entry.Text = what + " " + entry.Text
	}
	place = c.ShortName + ", " + strings.Join(c.Address, ", ")
	return strings.TrimSpace(entry.Title), strings.TrimSpace(entry.Text), strings.TrimSpace(place)
}

// feed lists what a feed shows: what the patient's file does, visits that were, and
// those called off in the last two weeks.
func (x expecting) feed() []icalread.Event {
	list := x.file(graft.ForPatient)
	for id, i := range x.issues[graft.ForPatient] {
		m, _ := x.handed.live.Timeline.Find(id)
		e := x.kept(saidIn(x.t, i), id, i.Sequence)
		switch {
		case i.Cancelled && x.handed.at.Sub(i.At) < shownCancelled:
			list = append(list, x.calledOff(e))
		case !i.Cancelled && !m.Attended.IsZero() && strings.Contains(e.Start, "T"):
			list = append(list, e)
		}
	}
	return list
}

// calledOff is an event that is off: it reminds of nothing and asks for nothing.
func (x expecting) calledOff(e icalread.Event) icalread.Event {
	words, err := letter.BuiltIn().WordsFor(x.handed.live.Case.Patient.Language)
	if err != nil {
		words = letter.English()
	}
	e.Status, e.Alarms, e.Description = "CANCELLED", nil, strings.TrimSpace(words.Off(x.clinic.Phone))
	return e
}

// kept is an event as the ledger keeps it.
func (x expecting) kept(s said, id graft.MilestoneID, sequence int) icalread.Event {
	e := icalread.Event{UID: x.uid(id, graft.ForPatient), Sequence: sequence, Summary: strings.TrimSpace(s.Summary), Description: strings.TrimSpace(s.Description),
		Location: strings.TrimSpace(s.Location), Status: strings.ToUpper(string(s.Status)), Transparent: s.Transparent}
	e.Start, e.End = s.Day.String(), day.Max(s.Day, s.LastDay).AddDays(1).String()
	if s.Minutes > 0 {
		start := x.instant(s.Day, s.Start)
		e.Start, e.End = start.UTC().Format(time.RFC3339), start.Add(time.Duration(s.Minutes)*time.Minute).UTC().Format(time.RFC3339)
	}
	for _, before := range s.AlarmDays {
		e.Alarms = append(e.Alarms, -before*24*60*60)
	}
	return e
}

// mail is the event of a message: of a request the visit as it stands, of a
// cancellation as the patient last had it.
func (x expecting) mail(m mailed) icalread.Event {
	e := x.kept(saidIn(x.t, ledger.Issue{Event: m.Event}), m.Milestone, m.Sequence)
	if milestone, ok := x.handed.live.Timeline.Find(m.Milestone); m.Invitation.Method == ledger.Request && ok {
		e = x.event(milestone, graft.ForPatient)
	}
	e.Method = "REQUEST"
	if m.Invitation.Method == ledger.Cancellation {
		e = x.calledOff(e)
		e.Method = "CANCEL"
	}
	e.Organizer = icalread.Party{Name: inAName(x.clinic.ShortName), Address: "mailto:desk@harbourrow.example"}
	e.Attendees = []icalread.Party{{Name: inAName(x.handed.live.Case.Patient.Name), Address: "mailto:" + x.handed.live.Case.Patient.Mail.Address}}
	return e
}

// inAName is a name as a parameter shows it, which has no line break, quote or
// circumflex.
func inAName(text string) string {
	text = strings.NewReplacer("\n", " ", "^", "ˆ", ` "`, " “", `"`, "”").Replace(strings.TrimSpace(text))
	return text
}

// twice wants the same state to give the same bytes an hour later, from a desk that
// remembers nothing.
func (s *story) twice(g handed) {
	s.t.Helper()
	_, again, err := s.house.again().GiveOut(s.id, s.on, s.at.Add(time.Hour))
	if err != nil {
		s.t.Fatal(err)
	}
	for i, f := range g.out.Files {
		if i >= len(again.Files) || f.Name != again.Files[i].Name || !bytes.Equal(f.Data, again.Files[i].Data) {
			s.t.Errorf("%s %s: not the same a second time", s.id, f.Name)
		}
	}
	feed, err := s.keeper.FillFeed(s.feed, s.on, s.at.Add(time.Hour))
	if err != nil || !bytes.Equal(feed.Data, g.feed.Data) {
		s.t.Errorf("%s: the feed is not the same a second time: %v", s.id, err)
	}
}

// statesEach is how many states of one case are given out.
const statesEach = 8

// play gives out so many states of cases.
func (h *house) play(r *reading, states int) {
	var s *story
	for n := range states {
		if n%statesEach == 0 {
			s = h.begin()
		} else {
			s.pass(h.random.IntN(35))
		}
		for range 1 + h.random.IntN(3) {
			s.happens()
		}
		g := s.handOut()
		r.takes(s, g)
		if len(g.mails) == 0 && n%3 == 0 {
			s.twice(g)
			r.counts["states given out twice"]++
		}
	}
}

// zonesOfVisits change their clocks by an hour, by half an hour, and round Ramadan.
var zonesOfVisits = []string{"Europe/Dublin", "Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Africa/Casablanca"}

// timelinesPlayed is a multiple of ten. Every fault that was planted shows within the first
// 200 timelines; what is rarer than one in a thousand takes a longer run by hand.
var timelinesPlayed = flag.Int("timelines", 2000, "how many timelines the readers of calendars get")

const fewTimelines = 200

// TestFiveReadersSeeTheSameVisits gives out the states of many cases in every way
// and has each file read by libraries made by others: they must see what ledger and
// plan say.
func TestFiveReadersSeeTheSameVisits(t *testing.T) {
	t.Parallel()
	timelines, houses := *timelinesPlayed, 2*len(zonesOfVisits)
	if testing.Short() || underRace {
		timelines, houses = fewTimelines, len(zonesOfVisits)
	}
	readings, dids := make([]*reading, houses), make([]map[string]int, houses)
	folder := t.TempDir()
	t.Run("played", func(t *testing.T) {
		for n := range houses {
			t.Run(fmt.Sprint(zonesOfVisits[n%len(zonesOfVisits)], n), func(t *testing.T) {
				t.Parallel()
				own := filepath.Join(folder, fmt.Sprint(n))
				if err := os.Mkdir(own, 0o700); err != nil {
					t.Fatal(err)
				}
				readings[n] = newReading(own)
				clinic := oddClinic(t, rand.New(rand.NewPCG(uint64(n), 5)), zonesOfVisits[n%len(zonesOfVisits)])
				h := openHouse(t, uint64(100+n), clinic, oddName)
				h.play(readings[n], timelines/houses)
				dids[n] = h.did
			})
		}
	})
	counts, did := map[string]int{}, map[string]int{}
	want, news := map[string][]icalread.Event{}, map[string][]icalread.Event{}
	for n, r := range readings {
		if r == nil || dids[n] == nil {
			t.Fatal("a house was not played")
		}
		maps.Copy(want, r.want)
		maps.Copy(news, r.news.want)
		for what, count := range r.counts {
			counts[what] += count
		}
		for what, count := range dids[n] {
			did[what] += count
		}
	}
	t.Logf("%s; %d different files, %d with an event or a head of its own", countsOf(counts), len(want), len(news))
	t.Logf("acts: %s", countsOf(did))
	if counts["timelines"] != timelines {
		t.Errorf("%d timelines, want %d", counts["timelines"], timelines)
	}
	for _, what := range []string{"visits that moved", "visits that stayed", "states given out twice", "mails, request", "mails, cancel"} {
		if counts[what] == 0 && (timelines > fewTimelines || what != "mails, cancel") {
			t.Errorf("no %s", what)
		}
	}
	readByAll(t, want, news)
}

// filesAtOnce is how many files a reader gets in one call; the slow ones are called
// several times, side by side.
const filesAtOnce = 1000

func readByAll(t *testing.T, whole, news map[string][]icalread.Event) {
	for _, reader := range []icalread.Reader{icalread.VObject, icalread.Python, icalread.ICALJS, icalread.Libical, icalread.Go} {
		want := news
		if slices.Contains(wholeReaders, reader) {
			want = whole
		}
		t.Run(string(reader), func(t *testing.T) {
			t.Parallel()
			for chunk := range slices.Chunk(slices.Sorted(maps.Keys(want)), filesAtOnce) {
				t.Run("files", func(t *testing.T) {
					t.Parallel()
					readBy(t, reader, want, chunk)
				})
			}
		})
	}
}

// readBy wants one reader to see in each file exactly the events it must hold.
func readBy(t *testing.T, reader icalread.Reader, want map[string][]icalread.Event, paths []string) {
	events, wrong := 0, 0
	for path, got := range icalread.Read(t, reader, paths...) {
		slices.SortFunc(got.Events, byUID)
		events += len(got.Events)
		if sameEvents(want[path], got.Events) && len(got.Errors) == 0 {
			continue
		}
		diff := gocmp.Diff(want[path], got.Events, cmpopts.EquateEmpty())
		if wrong++; wrong <= 3 {
			data, _ := os.ReadFile(path)
			t.Errorf("errors %q (-want +got):\n%s\n%s", got.Errors, diff, data)
		}
	}
	t.Logf("%d files, %d events, %d files wrong", len(paths), events, wrong)
	if wrong > 3 {
		t.Errorf("%d files wrong in all", wrong)
	}
}
