package desk

import (
	"maps"
	"slices"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// keptFeeds is what a keeper remembers of the feeds of the desk from one fetch to the
// next, for planning the cases that they show takes long. What it remembers of a case is
// right for as long as nothing has changed of what it was made from: the case (its
// latest change), what the desk was given of it, the day, and what the clinic's book says
// of the days on which the plan looked for a time. It takes some times the room of the
// calendars that it hands out. The zero value remembers nothing.
type keptFeeds struct {
	on     day.Day
	head   int64 // latest entry of the history that was looked at
	issued int64 // number of the latest issue that was looked at
	book   *diary.Book
	latest time.Time                  // when any visit was last changed
	shown  map[graft.CaseID][]string  // the cases with a visit in the days that are shown, and who is with them
	cases  map[graft.CaseID]*deskCase // of those shown the ones that were planned
	filled map[string]filledFeed      // by person
}

// filledFeed is a feed as it was last handed out.
type filledFeed struct {
	data    []byte // nil: there is nothing to hand out
	changed time.Time
}

// deskCase is what a feed of the desk shows of a case.
type deskCase struct {
	seen    days // of the book
	changed time.Time
	visits  []deskVisit
	live    Live // no more of it than what the desk was given of which revision
}

// deskVisit is the event of a visit, without its numbers.
type deskVisit struct {
	id     graft.MilestoneID
	person string
	uid    string
	data   []byte // the event, as the ledger keeps it
}

func (v deskVisit) key() issueKey { return issueKey{v.id, graft.ForDesk} }

// visitsOf are the visits with a person, or all.
func (c *deskCase) visitsOf(person string) []deskVisit {
	if person == "" {
		return c.visits
	}
	return slices.DeleteFunc(slices.Clone(c.visits), func(v deskVisit) bool { return v.person != person })
}

// order lists the cases that were planned by number.
func (f *keptFeeds) order() []graft.CaseID { return slices.Sorted(maps.Keys(f.cases)) }

// news reports whether a feed shows anything that the desk was not given yet.
func (f *keptFeeds) news(person string) bool {
	for _, c := range f.cases {
		for _, v := range c.visitsOf(person) {
			if i, had := c.live.issues[v.key()]; !had || i.Cancelled || string(i.Event) != string(v.data) {
				return true
			}
		}
	}
	return false
}

// catchFeeds takes in what has happened since the last fetch, and plans what the feed of
// a person shows and is not planned.
func (k *Keeper) catchFeeds(l Ledger, person string, on day.Day) error {
	f := &k.feeds
	head, err := l.Head()
	if err != nil {
		return err
	}
	issued, err := l.IssueHead()
	if err != nil {
		return err
	}
	if f.on != on || f.book == nil || head < f.head || issued < f.issued { // lower: an older copy was put back
		*f = keptFeeds{on: on, cases: map[graft.CaseID]*deskCase{}, filled: map[string]filledFeed{}}
	}
	if f.book == nil || head != f.head {
		if err := k.catchActs(l); err != nil {
			return err
		}
	}
	if issued != f.issued {
		if err := f.catchIssues(l); err != nil {
			return err
		}
	}
	f.head, f.issued = head, issued
	return k.planShown(l, person)
}

// catchActs forgets the cases that do not stand as they did.
func (k *Keeper) catchActs(l Ledger) error {
	f := &k.feeds
	if f.book != nil {
		entries, err := l.EntriesAfter(f.head)
		if err != nil {
			return err
		}
		changed := changedBy(entries)
		if len(changed) == 0 {
			return nil
		}
		for _, id := range changed {
			delete(f.cases, id)
		}
	}
	clear(f.filled)
	book, err := k.booked(l, f.on)
	if err != nil {
		return err
	}
	if f.book != nil {
		others := unlike(f.book, book, f.on)
		maps.DeleteFunc(f.cases, func(_ graft.CaseID, c *deskCase) bool { return c.seen.meets(others) })
	}
	f.book = book
	return f.look(l)
}

// look reads which cases are shown.
func (f *keptFeeds) look(l Ledger) (err error) {
	if f.latest, err = l.VisitsChanged(); err != nil {
		return err
	}
	visits, err := l.TakenOn(shownDays(f.on))
	if err != nil {
		return err
	}
	f.shown = map[graft.CaseID][]string{}
	for _, v := range visits {
		f.shown[v.Case] = append(f.shown[v.Case], v.Person)
	}
	maps.DeleteFunc(f.cases, func(id graft.CaseID, _ *deskCase) bool { return f.shown[id] == nil })
	return nil
}

// catchIssues takes in what the desk was given since.
func (f *keptFeeds) catchIssues(l Ledger) error {
	if len(f.cases) == 0 {
		return nil
	}
	given, err := l.IssuesAfter(f.issued, graft.ForDesk)
	for _, i := range given {
		if c := f.cases[i.Case]; c != nil {
			c.live.issues[issueKey{i.Milestone, i.Audience}] = i
			clear(f.filled)
		}
	}
	return err
}

// planShown plans the cases that the feed of a person shows and that are not planned.
func (k *Keeper) planShown(l Ledger, person string) error {
	f := &k.feeds
	var lack []graft.CaseID
	for id, people := range f.shown {
		if f.cases[id] == nil && (person == "" || slices.Contains(people, person)) {
			lack = append(lack, id)
		}
	}
	slices.Sort(lack)
	made := make([]*deskCase, len(lack))
	err := eachOf(l, lack, allButOne(), func(n int, facts facts) (err error) {
		made[n], err = k.deskCaseOf(facts, f.book, f.on)
		return err
	})
	if err != nil {
		return err
	}
	for n, id := range lack {
		f.cases[id] = made[n]
	}
	return nil
}

// deskCaseOf plans a case and keeps what a feed of the desk shows of it.
func (k *Keeper) deskCaseOf(f facts, book *diary.Book, on day.Day) (*deskCase, error) {
	c := &deskCase{seen: days{first: on}}
	live, err := k.liven(f, book.Watched(c.seen.note), on)
	if err != nil {
		return nil, err
	}
	c.seen.bits = slices.Clip(c.seen.bits)
	c.changed = live.Changed()
	given := issues{}
	for key, i := range live.issues {
		if key.audience == graft.ForDesk {
			given[key] = i
		}
	}
	c.live = Live{Standing: &Standing{Kept: live.Kept, issues: given}}
	for _, m := range live.deskVisits() {
		data, err := encoded(givenOf(k.event(live.Plan, m, graft.ForDesk), k.Clinic.Zone))
		if err != nil {
			return nil, err
		}
		c.visits = append(c.visits, deskVisit{m.ID, m.Slot.Person, k.uid(live.Plan, m.ID, graft.ForDesk), data})
	}
	return c, nil
}
