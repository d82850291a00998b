package desk_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/ledger"
)

// served fills a feed by its token.
func served(t *testing.T, k *desk.Keeper, token string, on day.Day, at time.Time) desk.FeedFile {
	t.Helper()
	file, err := k.ServedFeed(token, on, at)
	if err != nil {
		t.Fatal(err)
	}
	return file
}

// withCheck is a case with a booked wound check on Mon 25 January 2027, 09:00.
func withCheck(t *testing.T, k *desk.Keeper) graft.CaseID {
	t.Helper()
	ida, quill := acting(t, k, "Ida Marlow", "2027-01-18"), acting(t, k, "Dr Alba Quill", "2027-01-18")
	id := admit(t, k, ida, "fenwick")
	if _, _, err := k.Book(ida, id, wound(), at("2027-01-25", "09:00"), ""); err != nil {
		t.Fatal(err)
	}
	if _, err := k.Approve(quill, id); err != nil {
		t.Fatal(err)
	}
	return id
}

// TestAFeedStandsAtOnePlace opens feeds in a folder and served, and each in the place of
// the other.
func TestAFeedStandsAtOnePlace(t *testing.T) {
	k, store := keeping(t)
	id := withCheck(t, k)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	folder := t.TempDir()
	for _, c := range []struct{ folder, other, says, entry string }{
		{"", folder, "has its feed served by graftclock", "calendar feed served by graftclock"},
		{folder, "", "has its feed in " + folder, "calendar feed in " + folder},
	} {
		feed, err := k.OpenFeed(ida, id, c.folder, "token "+c.folder)
		if err != nil || feed.Folder != c.folder || feed.Served() != (c.folder == "") {
			t.Fatalf("%+v, %v", feed, err)
		}
		if got := lastEntry(t, store); got != "feed|Ida Marlow|desk|"+string(id)+"||"+c.entry+"|" {
			t.Errorf("history: %s", got)
		}
		if again, err := k.OpenFeed(ida, id, c.folder, "another"); err != nil || again.Token != feed.Token {
			t.Errorf("opened again: %+v, %v", again, err)
		}
		_, err = k.OpenFeed(ida, id, c.other, "another")
		refusalOf(t, err, graft.Conflict, c.says)
		refusalOf(t, err, graft.Conflict, "graftclock calendar HR-2041 --revoke ends it")
		file, err := k.ServedFeed(feed.Token, ida.On, ida.At)
		if c.folder == "" && (err != nil || !bytes.Contains(file.Data, []byte("DTSTART;TZID=Europe/Dublin:20270125T090000"))) {
			t.Errorf("%v\n%s", err, file.Data)
		} else if c.folder != "" {
			refusalOf(t, err, graft.NotFound, "no such feed") // a web server hands that one out
		}
		if _, err := k.RevokeFeed(ida, id); err != nil {
			t.Fatal(err)
		}
		_, err = k.ServedFeed(feed.Token, ida.On, ida.At)
		refusalOf(t, err, graft.NotFound, "no such feed")
	}
}

// TestAFetchThatBringsNothingNewOnlyReads fetches again and again from a ledger that
// takes no more acts.
func TestAFetchThatBringsNothingNewOnlyReads(t *testing.T) {
	k, store := keeping(t)
	id := withCheck(t, k)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	for token, open := range map[string]func() error{
		"case": func() error { _, err := k.OpenFeed(ida, id, "", "case"); return err },
		"desk": func() error { _, err := k.OpenDeskFeed(ida, "", "desk"); return err },
	} {
		if err := open(); err != nil {
			t.Fatal(err)
		}
		first := served(t, k, token, ida.On, ida.At)
		sealed := desk.NewKeeper(k.Desk, &grudging{Store: store, says: fmt.Errorf("an act")})
		again := served(t, sealed, token, ida.On, ida.At.Add(time.Hour))
		if !bytes.Equal(first.Data, again.Data) || len(first.Data) == 0 || !first.Changed.Equal(again.Changed) {
			t.Errorf("%s: changed %s, then %s\n%s", token, first.Changed, again.Changed, gocmp.Diff(string(first.Data), string(again.Data)))
		}
		if _, _, err := k.Move(ida, id, wound(), at("2027-01-26", "09:00"), ""); err != nil {
			t.Fatal(err)
		}
		if _, err := sealed.ServedFeed(token, ida.On, ida.At); err == nil {
			t.Errorf("%s: what is new is not kept", token)
		}
		moved := served(t, k, token, ida.On, ida.At.Add(2*time.Hour))
		if bytes.Equal(first.Data, moved.Data) || !moved.Changed.After(first.Changed) {
			t.Errorf("%s: as before, changed %s and before %s", token, moved.Changed, first.Changed)
		}
		if _, _, err := k.Move(ida, id, wound(), at("2027-01-25", "09:00"), ""); err != nil {
			t.Fatal(err)
		}
	}
}

// TestAHeldFeedShowsWhatItLastDid makes a plan that a booked visit does not fit.
func TestAHeldFeedShowsWhatItLastDid(t *testing.T) {
	k, _ := keeping(t)
	id := withCheck(t, k)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	if _, err := k.OpenFeed(ida, id, "", "token"); err != nil {
		t.Fatal(err)
	}
	before := served(t, k, "token", ida.On, ida.At)
	if _, err := k.Set(ida, id, []string{"patient.unavailable+=2027-01-25"}, ""); err != nil {
		t.Fatal(err)
	}
	held := served(t, k, "token", ida.On, ida.At.Add(time.Minute))
	if held.Held == "" || before.Held != "" {
		t.Errorf("held: %q, before: %q", held.Held, before.Held)
	}
	if diff := gocmp.Diff(timesShown(shownIn(t, before.Data)), timesShown(shownIn(t, held.Data))); diff != "" {
		t.Errorf("it shows something else while it is held:\n%s", diff)
	}
	if _, _, err := k.Settle(ida, id, ""); err != nil {
		t.Fatal(err)
	}
	after := served(t, k, "token", ida.On, ida.At.Add(2*time.Minute))
	if after.Held != "" || !bytes.Contains(after.Data, []byte("SEQUENCE:1")) {
		t.Errorf("settled: %q\n%s", after.Held, after.Data)
	}
}

func TestAHeldFeedThatShowedNothingHasNothing(t *testing.T) {
	k, _ := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	id := admit(t, k, ida, "fenwick")
	if _, _, err := k.Book(ida, id, wound(), at("2027-01-25", "09:00"), ""); err != nil {
		t.Fatal(err)
	}
	if _, err := k.Set(ida, id, []string{"patient.unavailable+=2027-01-25"}, ""); err != nil {
		t.Fatal(err)
	}
	if _, err := k.OpenFeed(ida, id, "", "token"); err != nil {
		t.Fatal(err)
	}
	if file := served(t, k, "token", ida.On, ida.At); file.Data != nil || file.Held == "" {
		t.Errorf("%q\n%s", file.Held, file.Data)
	}
}

// timesShown are the times of events, with SEQUENCE and stamp.
func timesShown(events map[string]lastShown) map[string]string {
	times := map[string]string{}
	for uid, e := range events {
		times[uid] = fmt.Sprint(e.time, " ", e.sequence, " ", e.stamp)
	}
	return times
}

// TestAFeedIsNeverOlderThanItsBytes plays stories and asks of two fetches, of the case's
// feed and of the desk's: whoever compares by Last-Modified alone (RFC 9110 section
// 13.1.3) misses no change.
func TestAFeedIsNeverOlderThanItsBytes(t *testing.T) {
	t.Parallel()
	h := openHouse(t, 6, oddClinic(t, rand.New(rand.NewPCG(6, 6)), "Europe/Dublin"), oddName)
	stories, fetches := 10, 25
	if testing.Short() || underRace {
		stories, fetches = 4, 15
	}
	counts := map[string]int{}
	for range stories {
		s := h.begin()
		before := map[string]desk.FeedFile{}
		for range fetches {
			if s.random.IntN(2) == 0 {
				s.pass(1 + s.random.IntN(12))
			}
			if s.random.IntN(3) > 0 {
				s.happens()
			}
			s.at = s.at.Add(time.Minute)
			for whose, fill := range map[string]func() (desk.FeedFile, error){
				"case": func() (desk.FeedFile, error) { return h.keeper.FillFeed(s.feed, s.on, s.at) },
				"desk": func() (file desk.FeedFile, err error) {
					file.Data, file.Changed, err = h.keeper.FillDeskFeed(ledger.Feed{}, s.on, s.at)
					return file, err
				},
			} {
				now, err := fill()
				if err != nil {
					t.Fatal(err)
				}
				if now.Data == nil {
					continue
				}
				counts[whose+s.newer(before[whose], now)]++
				before[whose] = now
			}
		}
	}
	t.Logf("fetches that brought a change, and none: %v", counts)
	for _, what := range []string{"case changed", "case same", "desk changed", "desk same"} {
		if counts[what] == 0 {
			t.Errorf("never: %s", what)
		}
	}
}

// newer wants a feed that differs from the one before to be of a later second.
func (s *story) newer(before, now desk.FeedFile) string {
	s.t.Helper()
	switch {
	case now.Changed.After(s.at):
		s.t.Errorf("fetched at %s, changed at %s", s.at, now.Changed)
	case before.Data == nil || bytes.Equal(now.Data, before.Data):
		return " same"
	case !now.Changed.Truncate(time.Second).After(before.Changed):
		s.t.Errorf("it has changed, but is of %s, and was of %s:\n%s", now.Changed, before.Changed, gocmp.Diff(string(before.Data), string(now.Data)))
	}
	return " changed"
}

// summaries lists the events of a calendar: when, and whose.
func summaries(t *testing.T, data []byte) (lines []string) {
	t.Helper()
	if data == nil {
		return nil
	}
	events, err := ics.Read(data, "Europe/Dublin")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range events {
		lines = append(lines, e.Start.Format("2006-01-02 15:04 ")+e.Summary+", "+e.Location)
	}
	return lines
}

// TestTheDesksFeedShowsBookedVisits books, moves, attends and misses, and looks at the
// feed of all and at those of two people.
func TestTheDesksFeedShowsBookedVisits(t *testing.T) {
	k, store := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	id := withCheck(t, k)
	must := func(_ desk.Live, _ ledger.Visit, err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	review := desk.Choice{Step: graft.HealingReview}
	must(k.Book(ida, id, review, at("2027-03-15", "09:00"), "as agreed"))
	must(k.Attended(ida, id, desk.Choice{Step: graft.PhoneCall}, on("2027-01-15"), "")) // nobody came in for it
	for person, token := range map[string]string{"": "all", "Nurse Wyn Tate": "tate", "Dr Alba Quill": "quill"} {
		if feed, err := k.OpenDeskFeed(ida, person, token); err != nil || feed.Person != person || !feed.OfDesk() {
			t.Fatalf("%+v, %v", feed, err)
		}
	}
	if again, err := k.OpenDeskFeed(ida, "", "another"); err != nil || again.Token != "all" {
		t.Errorf("opened again: %+v, %v", again, err)
	}
	const check, look = "2027-01-25 09:00 HR-2041 Nora Fenwick: wound-check, Surgery 1", "2027-03-15 09:00 HR-2041 Nora Fenwick: healing-review, Surgery 1"
	shows := func(what, token string, days int, want ...string) {
		t.Helper()
		file := served(t, k, token, ida.On.AddDays(days), ida.At.AddDate(0, 0, days))
		if diff := gocmp.Diff(want, summaries(t, file.Data)); diff != "" {
			t.Errorf("%s, %s (-want +got):\n%s", what, token, diff)
		}
	}
	shows("booked", "all", 0, check, look)
	shows("booked", "tate", 0, check)
	shows("booked", "quill", 0, look)
	must(k.Attended(acting(t, k, "Ida Marlow", "2027-01-25"), id, wound(), day.Day{}, ""))
	shows("attended", "all", 7, check, look)
	shows("30 days later", "tate", 7+30, check)
	shows("31 days later", "tate", 7+31)
	must(k.Move(ida, id, review, at("2027-03-16", "09:00"), ""))
	const moved = "2027-03-16 09:00 HR-2041 Nora Fenwick: healing-review, Surgery 1"
	shows("moved", "all", 7, check, moved)
	must(k.Missed(acting(t, k, "Ida Marlow", "2027-03-16"), id, review, ""))
	shows("missed", "quill", 57)
	if _, err := k.RevokeDeskFeed(ida, "Nurse Wyn Tate"); err != nil {
		t.Fatal(err)
	}
	if got := lastEntry(t, store); got != "feed|Ida Marlow|desk||calendar feed of Nurse Wyn Tate|revoked|" {
		t.Errorf("history: %s", got)
	}
	_, err := k.ServedFeed("tate", ida.On, ida.At)
	refusalOf(t, err, graft.NotFound, "no such feed")
	feeds, err := k.DeskFeeds()
	if err != nil || len(feeds) != 2 || feeds[0].Person != "" || feeds[1].Person != "Dr Alba Quill" {
		t.Errorf("%+v, %v", feeds, err)
	}
}

// TestTheDesksFeedLooksAYearAhead books a visit and lets the first day of the feed come.
func TestTheDesksFeedLooksAYearAhead(t *testing.T) {
	k, _ := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	id := withCheck(t, k)
	if _, _, err := k.Book(ida, id, desk.Choice{Step: graft.Recall, Which: "3 months"}, at("2028-02-14", "09:00"), "as agreed"); err != nil {
		t.Fatal(err)
	}
	if _, err := k.OpenDeskFeed(ida, "", "all"); err != nil {
		t.Fatal(err)
	}
	for days, want := range map[int]bool{26: false, 27: true} {
		file := served(t, k, "all", ida.On.AddDays(days), ida.At.AddDate(0, 0, days))
		if got := strings.Contains(string(file.Data), "20280214T090000"); got != want {
			t.Errorf("on %s it is shown: %v", ida.On.AddDays(days), got)
		}
	}
}

// TestTheDesksFeedSaysWhatTheDesksCalendarSays compares the event of a visit in both:
// names, numbers and words.
func TestTheDesksFeedSaysWhatTheDesksCalendarSays(t *testing.T) {
	k, _ := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	id := withCheck(t, k)
	if _, err := k.OpenDeskFeed(ida, "", "all"); err != nil {
		t.Fatal(err)
	}
	compare := func(what string) {
		t.Helper()
		feed := shownIn(t, served(t, k, "all", ida.On, ida.At).Data)
		_, out, err := k.GiveOut(id, ida.On, ida.At)
		if err != nil {
			t.Fatal(err)
		}
		calendar := map[string]lastShown{}
		for _, f := range out.Files {
			if f.Name == desk.DeskCalendar {
				calendar = shownIn(t, f.Data)
			}
		}
		if len(feed) != 1 {
			t.Errorf("%s: %d events", what, len(feed))
		}
		for uid, e := range feed {
			if e != calendar[uid] {
				t.Errorf("%s:\n%s", what, gocmp.Diff(calendar[uid].says, e.says))
			}
		}
	}
	compare("booked")
	ida.At = ida.At.Add(time.Hour)
	if _, _, err := k.Move(ida, id, wound(), at("2027-01-26", "09:00"), ""); err != nil {
		t.Fatal(err)
	}
	compare("moved")
	ida.At = ida.At.Add(time.Hour)
	if _, err := k.Set(ida, id, []string{"patient.unavailable+=2027-01-26"}, ""); err != nil {
		t.Fatal(err)
	}
	compare("no longer fitting")
}

// TestAFeedOfNobodysVisitsIsEmpty has no data, which is no calendar file of any kind.
func TestAFeedOfNobodysVisitsIsEmpty(t *testing.T) {
	k, _ := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	if _, err := k.OpenDeskFeed(ida, "", "all"); err != nil {
		t.Fatal(err)
	}
	if file := served(t, k, "all", ida.On, ida.At); file.Data != nil {
		t.Errorf("%s", file.Data)
	}
	if entries, err := filepath.Glob("*.ics"); err != nil || len(entries) > 0 {
		t.Errorf("a file was written: %v", entries)
	}
}

// TestAFeedKnowsOfChangesThatAreNoAct changes the clinic's telephone number between two
// fetches of a day, and lets a cancelled visit go from the feed in the middle of one.
func TestAFeedKnowsOfChangesThatAreNoAct(t *testing.T) {
	k, store := keeping(t)
	id := withCheck(t, k)
	ida, quill := acting(t, k, "Ida Marlow", "2027-01-18"), acting(t, k, "Dr Alba Quill", "2027-01-18")
	if _, _, err := k.Book(ida, id, desk.Choice{Step: graft.HealingReview}, at("2027-03-15", "09:00"), ""); err != nil {
		t.Fatal(err)
	}
	if _, err := k.OpenFeed(ida, id, "", "token"); err != nil {
		t.Fatal(err)
	}
	c := demoClinic(t)
	c.Phone = "+353 1 555 0188"
	rung := desk.NewKeeper(desk.New(c, k.Rules), store)
	later := func(what string, first, second desk.FeedFile) {
		t.Helper()
		if bytes.Equal(first.Data, second.Data) || !second.Changed.After(first.Changed) || !second.Changed.After(first.Changed.Truncate(time.Second)) {
			t.Errorf("%s: changed %s, then %s; the same bytes: %v", what, first.Changed, second.Changed, bytes.Equal(first.Data, second.Data))
		}
	}
	first := served(t, k, "token", ida.On, ida.At.Add(time.Hour))
	second := served(t, rung, "token", ida.On, ida.At.Add(2*time.Hour))
	later("another number", first, second)
	if _, err := k.AddFinding(quill, id, map[string]string{"what": "left out", "step": "healing-review", "day": "2027-01-18"}, "no need"); err != nil {
		t.Fatal(err)
	}
	if _, _, err := k.Settle(ida, id, ""); err != nil {
		t.Fatal(err)
	}
	off := ida.At.Add(3 * time.Hour)
	served(t, k, "token", ida.On, off)
	before := served(t, k, "token", ida.On.AddDays(14), off.AddDate(0, 0, 14).Add(-time.Minute))
	after := served(t, k, "token", ida.On.AddDays(14), off.AddDate(0, 0, 14))
	if !bytes.Contains(before.Data, []byte("STATUS:CANCELLED")) || bytes.Contains(after.Data, []byte("STATUS:CANCELLED")) {
		t.Errorf("before\n%s\nafter\n%s", before.Data, after.Data)
	}
	later("two weeks are over", before, after)
}
