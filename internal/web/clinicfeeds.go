package web

import (
	"crypto/rand"
	"slices"
	"strconv"
	"strings"

	"graftclock/internal/ledger"
)

// feedsPage lists the feeds of the desk. Those of patients stand on their cases alone.
type feedsPage struct {
	clinicHead
	Feeds []deskFeedLine
	Whose []option // for whom one can be opened
}

// deskFeedLine is one standing feed.
type deskFeedLine struct {
	ID, Person, Whose string
	feedLine
}

// whoseFeed names whose visits a feed of the desk shows.
func whoseFeed(person string) string {
	if person == "" {
		return "All visits"
	}
	return "Visits with " + person
}

func (q *request) showFeeds(status int, wrong *problem) error {
	feeds, err := q.keeper.DeskFeeds()
	if err != nil {
		return err
	}
	page := feedsPage{clinicHead: q.clinicHead("feeds", wrong)}
	for n, f := range feeds {
		page.Feeds = append(page.Feeds, deskFeedLine{"feed-" + strconv.Itoa(n+1), f.Person, whoseFeed(f.Person), feedLine{Address: q.feedAddress(f), Since: q.when(f.At), By: f.By, Served: true}})
	}
	people := []option{{Says: "All visits"}}
	for _, p := range q.personNames() {
		people = append(people, option{Value: p.Value, Says: whoseFeed(p.Value)})
	}
	for _, o := range people {
		if !slices.ContainsFunc(feeds, func(f ledger.Feed) bool { return f.Person == o.Value }) {
			page.Whose = append(page.Whose, o)
		}
	}
	return q.show(status, "clinic-feeds", "Calendar feeds", page)
}

// postDeskFeed opens a feed of the desk under an address that nobody can guess.
func (q *request) postDeskFeed() error {
	if err := q.clinicForm(); err != nil {
		return err
	}
	person := q.personNamed(q.PostForm.Get("who"))
	_, err := q.keeper.OpenDeskFeed(q.actor(), person, strings.ToLower(rand.Text()))
	return q.doneIn("/clinic/feeds", "The feed is open: "+whoseFeed(person)+". Whoever has its address reads the visits.", err, q.showFeeds)
}

// postRevokeDeskFeed ends a feed of the desk.
func (q *request) postRevokeDeskFeed() error {
	if err := q.clinicForm(); err != nil {
		return err
	}
	person := q.PostForm.Get("who")
	_, err := q.keeper.RevokeDeskFeed(q.actor(), person)
	return q.doneIn("/clinic/feeds", "The feed has ended: "+whoseFeed(person)+". What a calendar has fetched stays in it until its owner unsubscribes.", err, q.showFeeds)
}
