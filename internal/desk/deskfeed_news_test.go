package desk_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// TestADeskFeedKnowsWhatOthersTake books a visit whose window follows an earlier one that is
// not booked, and then others on the day on which that one was proposed.
func TestADeskFeedKnowsWhatOthersTake(t *testing.T) {
	k, _ := keeping(t)
	quill := acting(t, k, "Dr Alba Quill", "2027-06-01")
	id := admit(t, k, quill, "fenwick", "findings=none")
	live, err := k.Live(id, quill.On)
	if err != nil {
		t.Fatal(err)
	}
	find := func(step graft.Step) graft.Milestone {
		return live.Timeline.Milestones[slices.IndexFunc(live.Timeline.Milestones, func(m graft.Milestone) bool { return m.Step == step })]
	}
	uncovering, impression := find(graft.Uncovering), find(graft.Impression)
	if _, _, err := k.Book(quill, id, desk.ChoiceOf(impression.ID), graft.Slot{Day: impression.Placed, Start: 9 * 60}, "as planned"); err != nil {
		t.Fatal(err)
	}
	fill := func(hours int, fill func(ledger.Feed, day.Day, time.Time) ([]byte, time.Time, error)) string {
		t.Helper()
		data, _, err := fill(ledger.Feed{}, quill.On, quill.At.Add(time.Duration(hours)*time.Hour))
		if err != nil {
			t.Fatal(err)
		}
		return string(data)
	}
	before := fill(1, k.FillDeskFeed)
	for n, start := range []string{"08:30", "09:15", "10:00", "10:45", "11:30", "13:30", "14:15", "15:00", "15:45"} {
		other := admit(t, k, quill, "fenwick", fmt.Sprintf("case=HR-70%02d", n), "findings=none")
		if _, _, err := k.Book(quill, other, desk.ChoiceOf(uncovering.ID), at(uncovering.Placed.String(), start), "test"); err != nil {
			t.Fatal(err)
		}
	}
	after := fill(2, k.FillDeskFeed)
	if every := fill(3, k.Afresh().EveryDeskFeed); after != every {
		t.Errorf("(- every case planned, + kept)\n%s", gocmp.Diff(every, after))
	}
	ours := func(data string) string {
		data = strings.ReplaceAll(data, "\r\n ", "")
		_, event, _ := strings.Cut(data, "SUMMARY:"+string(id))
		event, _, _ = strings.Cut(event, "END:VEVENT")
		return event
	}
	if ours(before) == "" || ours(before) == ours(after) {
		t.Errorf("nothing of the case has changed:\n%s", ours(before))
	}
}

// TestADeskFeedKnowsWhatWasGivenOut gives the event of a visit out in other words between
// two fetches, which no entry of the history tells of.
func TestADeskFeedKnowsWhatWasGivenOut(t *testing.T) {
	k, store := keeping(t)
	id := withCheck(t, k)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	fill := func(minutes int, fill func(ledger.Feed, day.Day, time.Time) ([]byte, time.Time, error)) string {
		t.Helper()
		data, _, err := fill(ledger.Feed{}, ida.On, ida.At.Add(time.Duration(minutes)*time.Minute))
		if err != nil {
			t.Fatal(err)
		}
		return string(data)
	}
	first := fill(1, k.FillDeskFeed)
	if err := store.Act(func(w desk.Writing) error {
		given, err := w.Issues(id)
		if err != nil {
			return err
		}
		other := given[slices.IndexFunc(given, func(i ledger.Issue) bool { return i.Audience == graft.ForDesk })]
		other.Event = bytes.Replace(other.Event, []byte("Nora Fenwick"), []byte("N. Fenwick"), 1)
		other.At, other.Sequence = ida.At.Add(2*time.Minute), other.Sequence+1
		return w.AddIssue(other)
	}); err != nil {
		t.Fatal(err)
	}
	second := fill(3, k.FillDeskFeed)
	if every := fill(4, k.Afresh().EveryDeskFeed); second == first || second != every {
		t.Errorf("(- every case planned, + kept)\n%s", gocmp.Diff(every, second))
	}
}

// TestADeskFeedIsLaterWhenAVisitGoes gives back the only visit of a case while another case
// has one, on a desk that goes on and on one that remembers nothing.
func TestADeskFeedIsLaterWhenAVisitGoes(t *testing.T) {
	k, _ := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	withCheck(t, k)
	id := admit(t, k, ida, "fenwick", "case=HR-7000")
	if _, _, err := k.Book(ida, id, wound(), at("2027-01-25", "10:00"), ""); err != nil {
		t.Fatal(err)
	}
	first, changed, err := k.FillDeskFeed(ledger.Feed{}, ida.On, ida.At.Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	ida.At = ida.At.Add(2 * time.Hour)
	if _, _, err := k.Cancel(ida, id, wound(), ""); err != nil {
		t.Fatal(err)
	}
	for what, k := range map[string]*desk.Keeper{"going on": k, "afresh": k.Afresh()} {
		now, later, err := k.FillDeskFeed(ledger.Feed{}, ida.On, ida.At.Add(time.Hour))
		if err != nil || bytes.Equal(first, now) || !later.Equal(ida.At) || !later.After(changed) {
			t.Errorf("%s: %v, of %s, before of %s", what, err, later, changed)
		}
	}
}

// TestManyFetchDeskFeedsAtOnce lets programs fetch while the desk books; in the end the
// feed shows all that was booked.
func TestManyFetchDeskFeedsAtOnce(t *testing.T) {
	k, _ := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	var programs sync.WaitGroup
	done := make(chan struct{})
	for _, person := range []string{"", "", "Nurse Wyn Tate", "Dr Alba Quill"} {
		programs.Go(func() {
			for n := 1; ; n++ {
				if _, _, err := k.FillDeskFeed(ledger.Feed{Person: person}, ida.On, ida.At.Add(time.Duration(n)*time.Second)); err != nil {
					t.Error(err)
				}
				select {
				case <-done:
					return
				default:
				}
			}
		})
	}
	for n := range 6 {
		id := admit(t, k, ida, "fenwick", fmt.Sprintf("case=HR-70%02d", n))
		if _, _, err := k.Book(ida, id, wound(), at("2027-01-25", fmt.Sprintf("%02d:00", 9+n%3+n/3*5)), ""); err != nil {
			t.Error(err)
		}
	}
	close(done)
	programs.Wait()
	data, _, err := k.FillDeskFeed(ledger.Feed{}, ida.On, ida.At.Add(time.Hour))
	if err != nil || len(summaries(t, data)) != 6 {
		t.Errorf("%v, %v", summaries(t, data), err)
	}
}
