package desk_test

import (
	"bytes"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"graftclock/internal/casefile"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
)

// scan looks through all that goes out of many cases.
type scan struct {
	*inventor
	desk   *desk.Desk
	counts map[string]int
	met    map[string]bool     // plain words in patients' files
	split  map[string][]string // texts into words: cases have most of them in common
	leaks  []string
}

func newScan(t *testing.T, seed uint64) *scan {
	v := newInventor(t, seed)
	return &scan{inventor: v, desk: desk.New(scanClinic(t, v.random), scanRules(t, seed)), counts: map[string]int{}, met: map[string]bool{}, split: map[string][]string{}}
}

// scanClinic is the demo clinic in several zones and under several names, some so long
// that lines are folded and the square code has no room for them.
func scanClinic(t *testing.T, r *rand.Rand) casefile.Clinic {
	c := demoClinic(t)
	c.Mail.From = "desk@harbourrow.example"
	c.Zone = zonesOfVisits[r.IntN(len(zonesOfVisits))]
	c.ShortName = []string{"Harbour Row", "Harbour Row; Upper Quay: House 7, Landing", "Ακτή 3", strings.Repeat("Harbour Row ", 8) + "1"}[r.IntN(4)]
	c.Address = [][]string{c.Address, {"4 Harbour Row, Upper Quay", "Carrick Vale 22" + strings.Repeat(" West", 12)}}[r.IntN(2)]
	return c
}

// scanRules are the default rules, for every other seed with one more step in the plan.
func scanRules(t *testing.T, seed uint64) *protocol.Rules {
	if seed%2 == 0 {
		return protocol.Default()
	}
	own := "rules: 1\nadopted_by: Dr Alba Quill\nadopted_on: 2027-01-04\nchanges: [{id: provisional-first, value: 1, reason: soft bone is common here}]\n"
	rules, faults := protocol.Default().Adopt("own.yaml", []byte(own))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return rules
}

// calendarsOf are the files of a case with what they say, by name.
func (s *scan) calendarsOf(files []desk.File) map[string][]spoken {
	all := map[string][]spoken{}
	for _, f := range files {
		all[f.Name] = []spoken{{"file name", f.Name}}
		if strings.HasSuffix(f.Name, ".ics") {
			all[f.Name] = append(all[f.Name], calendarSpeaks(f.Data)...)
		}
		if day, ours := strings.CutPrefix(f.Name, desk.VisitFile); ours {
			s.counts["files of one visit"]++
			if start := strings.ReplaceAll(day[:len("2027-01-25")], "-", ""); !bytes.Contains(f.Data, []byte(":"+start)) {
				s.leaks = append(s.leaks, f.Name+" is named for another day than it holds")
			}
		}
	}
	return all
}

// looks holds the files of one state of a case to the promise, and the clinic's own to
// its opposite.
func (s *scan) looks(of *secrets, id graft.CaseID, files []desk.File) {
	all := s.calendarsOf(files)
	for _, name := range []string{desk.DeskCalendar, desk.SurgeonCalendar} {
		if texts, written := all[name]; written {
			s.clinical(of, id, name, texts)
		}
		delete(all, name)
	}
	delete(all, desk.TimelineJSON)
	if len(all[desk.PatientCalendar]) > 0 {
		s.counts["patient's files"]++
	}
	for _, name := range slices.Sorted(maps.Keys(all)) {
		s.holds(of, id, name, all[name])
	}
}

// clinical wants a file of the clinic to tell of the operation, under the case's number:
// what is not found there would not be found in a patient's.
func (s *scan) clinical(of *secrets, id graft.CaseID, name string, texts []spoken) {
	s.counts["clinic's files"]++
	number, words := squeezed(fold(string(id))), map[string]bool{}
	inside := *of
	inside.met = map[string]bool{}
	for _, said := range texts {
		for _, word := range inside.leaks(said) {
			words[word] = true
		}
		if words[number] && len(words) > 2 {
			return
		}
	}
	s.leaks = append(s.leaks, fmt.Sprintf("%s: in %s are found only %v", id, name, words))
}

// holds wants nothing of the operation in what the patient gets.
func (s *scan) holds(of *secrets, id graft.CaseID, what string, texts []spoken) {
	s.counts["texts"] += len(texts)
	for _, l := range of.allLeaks(texts) {
		s.leaks = append(s.leaks, fmt.Sprintf("%s, %s, %s", id, what, l))
	}
}

// counted counts what a case is about.
func (s *scan) counted(p desk.Plan) {
	s.counts["cases"]++
	s.counts["calendar "+string(p.Case.Patient.CalendarDetail)]++
	for _, m := range p.Timeline.Milestones {
		s.seen["step "+string(m.Step)]++
		if m.Override != nil {
			s.seen["override"]++
		}
	}
}

// fromFile plans one record without a ledger and looks at what goes out.
func (s *scan) fromFile(name string) {
	_, c := s.record(name)
	p := planned(s.t, s.desk, c, c.Surgery.Day.AddDays(s.random.IntN(240)-40))
	out, err := s.desk.Outputs(p)
	if err == nil && s.made%3 == 0 {
		err = s.desk.VisitFiles(p, &out)
	}
	if err != nil {
		s.t.Fatal(err)
	}
	s.counted(p)
	s.looks(s.secretsOf(p, nil, nil), c.ID, out.Files)
}

// scanBooked are the records that are booked too; scanRare is planned alone, and seldom:
// it has two sides, which take the diary long.
var scanBooked = []string{"fenwick", "okafor", "marsh", "lindqvist", "doyle"}

const scanRare = "petrov"

// house opens the scan's clinic with a ledger.
func (s *scan) house(seed uint64) *house {
	return openHouse(s.t, seed, s.desk.Clinic, func(r *rand.Rand) string { return s.name() + " " + oddName(r) })
}

// admit takes a made-up record in.
func (s *scan) admit(h *house, name string) *story {
	record, c := s.record(name)
	y := &story{house: h, id: c.ID, on: c.Surgery.Day}
	y.pass(s.random.IntN(30) - 10)
	if did := h.keeper.Admit(y.front(), record, c, ""); did.Err != nil {
		s.t.Fatal(did.Err)
	}
	var err error
	if y.feed, err = h.keeper.OpenFeed(y.front(), y.id, "/feeds", fmt.Sprintf("%016x%016x", h.random.Uint64(), h.random.Uint64())); err != nil {
		s.t.Fatal(err)
	}
	return y
}

// rarely are acts that chance alone would not bring about in every run, the last first.
var rarely = []struct {
	name string
	do   func(*story) error
}{{"noted", (*story).note}, {"surgery's data set", (*story).setSurgery}, {"overridden", (*story).override}, {"moved", (*story).move}, {"cancelled", (*story).cancel}}

// inLedger plays one case and looks at each of its states.
func (s *scan) inLedger(h *house, states int) {
	y := s.admit(h, scanBooked[s.random.IntN(len(scanBooked))])
	var plain []string
	for n := range states {
		y.tell("booked", y.book())
		y.happens()
		if late := states - n; late <= len(rarely) {
			y.tell(rarely[late-1].name, rarely[late-1].do(y))
		}
		if s.often(30) {
			_, err := y.keeper.Set(y.front(), y.id, []string{"patient.calendar_detail=" + s.word("patient.calendar_detail")}, "")
			y.tell("other detail", err)
		}
		_, err := y.keeper.Approve(y.surgeon(), y.id)
		y.tell("approved", err)
		g := y.handOut()
		s.handedOut(y, g, plain)
		plain = append(plain, plainTexts(g.live.Plan)...)
		y.pass(s.random.IntN(35))
	}
}

// handedOut looks at one state of a case in the ledger. Plain are the plain words of the
// states before.
func (s *scan) handedOut(y *story, g handed, plain []string) {
	s.counts["states in a ledger"]++
	s.counted(g.live.Plan)
	of := s.secretsOf(g.live.Plan, g.live.Visits, plain)
	if err := y.keeper.VisitFiles(g.live.Plan, &g.out); err != nil {
		s.t.Fatal(err)
	}
	s.looks(of, y.id, g.out.Files)
	if g.feed.Data != nil {
		s.counts["feeds"]++
		s.holds(of, y.id, "feed", append(calendarSpeaks(g.feed.Data), spoken{"feed name", g.feed.Token + ".ics"}))
	}
	if code := y.keeper.NextVisit(g.live.Plan); code != nil {
		s.counts["square codes"]++
		s.holds(of, y.id, "square code", calendarSpeaks(code))
	}
	for _, m := range g.mails {
		data, err := m.Bytes()
		if err != nil {
			s.t.Fatal(err)
		}
		texts, err := mailSpeaks(data, m.Letter)
		if err != nil {
			s.t.Fatal(err)
		}
		s.counts["mails, "+string(m.Invitation.Method)]++
		if m.Letter != nil {
			s.counts["letters by mail"]++
		}
		s.holds(of, y.id, "mail", texts)
	}
}

// TestNoClinicalWordReachesThePatient plans, books and mails thousands of made-up cases.
// In nothing that a patient gets, but for the letter, stands a word of the operation: no
// tooth, side, procedure, drug, diagnosis or case number, in no property, parameter,
// name of a file or of an event.
func TestNoClinicalWordReachesThePatient(t *testing.T) {
	t.Parallel()
	scans, files, cases := make([]*scan, 4), 750, 4
	if testing.Short() || underRace {
		files, cases = 75, 1
	}
	t.Run("scanned", func(t *testing.T) {
		for n := range scans {
			t.Run(fmt.Sprint(n), func(t *testing.T) {
				t.Parallel()
				s := newScan(t, uint64(n))
				for i := 0; s.counts["patient's files"] < files; i++ {
					name := scanBooked[i%len(scanBooked)]
					if i%150 == 0 {
						name = scanRare
					}
					s.fromFile(name)
				}
				h := s.house(uint64(n))
				for range cases {
					s.inLedger(h, statesEach)
				}
				maps.Copy(s.counts, h.did)
				scans[n] = s
			})
		}
	})
	all := newScan(t, 0)
	for _, s := range scans {
		if s == nil {
			t.Fatal("a scan did not end")
		}
		all.takesIn(s)
	}
	all.reports(files > 100)
}

func (s *scan) takesIn(other *scan) {
	for what, count := range other.counts {
		s.counts[what] += count
	}
	for what, count := range other.seen {
		s.seen[what] += count
	}
	maps.Copy(s.met, other.met)
	s.leaks = append(s.leaks, other.leaks...)
}
