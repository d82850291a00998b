package thunderbird

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

const (
	clinic  = "mailto:desk@harbour-row.example"
	patient = "nora.fenwick@mail.example"
	letter  = "Please come."
)

// visit is one state of an appointment as it is written into a file or mail.
type visit struct {
	uid, start, end, title, status string
	sequence                       int
	stamp                          string
}

// first, moved and so on are the life of one visit, each later than the last.
var (
	first    = visit{"visit-1", "20270114T083000Z", "20270114T091500Z", "Harbour Row", "CONFIRMED", 0, "20270104T080000Z"}
	moved    = visit{"visit-1", "20270121T130000Z", "20270121T134500Z", "Harbour Row", "CONFIRMED", 1, "20270105T080000Z"}
	reworded = visit{"visit-1", "20270121T130000Z", "20270121T134500Z", "Harbour Row, Dr Alba Quill", "CONFIRMED", 1, "20270106T080000Z"}
	dropped  = visit{"visit-1", "20270121T130000Z", "20270121T134500Z", "Harbour Row", "CANCELLED", 2, "20270107T080000Z"}
	again    = visit{"visit-1", "20270204T100000Z", "20270204T104500Z", "Harbour Row", "CONFIRMED", 3, "20270108T080000Z"}
	other    = visit{"visit-2", "20270701T070000Z", "20270701T080000Z", "Harbour Row", "CONFIRMED", 0, "20270104T080000Z"}
)

// event is the visit with an alarm and the lines given besides.
func (v visit) event(lines ...string) string {
	all := []string{"BEGIN:VEVENT", "UID:" + v.uid, "DTSTAMP:" + v.stamp, "DTSTART:" + v.start, "DTEND:" + v.end,
		"SUMMARY:" + v.title, "STATUS:" + v.status, fmt.Sprintf("SEQUENCE:%d", v.sequence)}
	all = append(all, lines...)
	return strings.Join(append(all, "BEGIN:VALARM", "ACTION:DISPLAY", "DESCRIPTION:Harbour Row", "TRIGGER:-P1D", "END:VALARM", "END:VEVENT"), "\r\n")
}

// calendar is a file with the events; method "" is none.
func calendar(method string, events ...string) string {
	all := []string{"BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//graftclock//test//EN"}
	if method != "" {
		all = append(all, "METHOD:"+method)
	}
	return strings.Join(append(append(all, events...), "END:VCALENDAR", ""), "\r\n")
}

// mail is an invitation or cancellation to the address to.
func (v visit) mail(method, to string) []byte {
	return envelope("multipart/alternative; boundary=part",
		"--part", "Content-Type: text/plain; charset=UTF-8", "", letter,
		"--part", "Content-Type: text/calendar; charset=UTF-8; method="+method, "",
		calendar(method, v.event("ORGANIZER;CN=Harbour Row:"+clinic, "ATTENDEE;CN=Nora Fenwick;PARTSTAT=NEEDS-ACTION;RSVP=TRUE:mailto:"+to)),
		"--part--")
}

// envelope is a mail from the clinic to the patient.
func envelope(content string, lines ...string) []byte {
	head := []string{"From: Harbour Row <desk@harbour-row.example>", "To: Nora Fenwick <" + patient + ">",
		"Subject: Your appointment", "Date: Mon, 04 Jan 2027 08:00:00 +0000", "MIME-Version: 1.0", "Content-Type: " + content, ""}
	return []byte(strings.Join(append(append(head, lines...), ""), "\r\n"))
}

// short is the items with all that these tests look at, sorted.
func short(items []Item) []string {
	all := []string{}
	for _, i := range items {
		all = append(all, fmt.Sprintf("%s %s %s %s %d %v %s: %s", i.UID, i.Start, i.End, i.Status, i.Sequence, i.Alarms, i.Answer, i.Title))
	}
	slices.Sort(all)
	return all
}

// Alarms never arrive by mail: Thunderbird takes those of an invitation out.
const (
	firstItem    = "visit-1 2027-01-14T08:30:00Z 2027-01-14T09:15:00Z CONFIRMED 0 [] ACCEPTED: Harbour Row"
	movedItem    = "visit-1 2027-01-21T13:00:00Z 2027-01-21T13:45:00Z CONFIRMED 1 [] ACCEPTED: Harbour Row"
	rewordedItem = "visit-1 2027-01-21T13:00:00Z 2027-01-21T13:45:00Z CONFIRMED 1 [] ACCEPTED: Harbour Row, Dr Alba Quill"
	againItem    = "visit-1 2027-02-04T10:00:00Z 2027-02-04T10:45:00Z CONFIRMED 3 [] ACCEPTED: Harbour Row"
	otherItem    = "visit-2 2027-07-01T07:00:00Z 2027-07-01T08:00:00Z CONFIRMED 0 [] ACCEPTED: Harbour Row"
)

const (
	deletedBefore = "You have recently deleted this item, are you sure you want to process this invitation?"
	whoAreYou     = "dialog chrome://calendar/content/calendar-itip-identity-dialog.xhtml"
)

// TestMailsReachTheCalendar plays the life of a visit in one Thunderbird; every
// step starts from what the steps before it left.
func TestMailsReachTheCalendar(t *testing.T) {
	t.Parallel()
	steps := []struct {
		name           string
		mail           []byte
		proposed, done string
		asked          string
		answered       bool
		items          []string
	}{
		{"somebody else's invitation asks who the reader is", other.mail("REQUEST", "teni.okafor@mail.example"), "REQUEST", "", whoAreYou, false, []string{}},
		{"a new visit is added", first.mail("REQUEST", patient), "REQUEST", "added", "", true, []string{firstItem}},
		{"the same mail again does nothing", first.mail("REQUEST", patient), "", "", "", false, []string{firstItem}},
		{"a higher SEQUENCE moves it", moved.mail("REQUEST", patient), "REQUEST:UPDATE", "changed", "", true, []string{movedItem}},
		{"the older mail opened late does nothing", first.mail("REQUEST", patient), "", "", "", false, []string{movedItem}},
		{"a later DTSTAMP alone changes the text, and nobody is answered", reworded.mail("REQUEST", patient), "REQUEST:UPDATE-MINOR", "changed", "", false, []string{rewordedItem}},
		{"another visit comes beside it", other.mail("REQUEST", patient), "REQUEST", "added", "", true, []string{rewordedItem, otherItem}},
		{"a CANCEL deletes the one visit", dropped.mail("CANCEL", patient), "CANCEL", "deleted", "", false, []string{otherItem}},
		{"the same CANCEL again does nothing", dropped.mail("CANCEL", patient), "", "", "", false, []string{otherItem}},
		{"a REQUEST after the CANCEL comes back, after a question", again.mail("REQUEST", patient), "REQUEST", "added", deletedBefore, true, []string{againItem, otherItem}},
		{"an older CANCEL opened late deletes all the same", dropped.mail("CANCEL", patient), "CANCEL", "deleted", "", false, []string{otherItem}},
		{"an older REQUEST opened after a CANCEL comes back, after a question", first.mail("REQUEST", patient), "REQUEST", "added", deletedBefore, true, []string{firstItem, otherItem}},
	}
	var mails [][]byte
	for _, step := range steps {
		mails = append(mails, step.mail)
	}
	for i, got := range Play(t, patient, mails...) {
		step := steps[i]
		if got.Proposed != step.proposed || got.Done != step.done {
			t.Errorf("%s: proposed %q, done %q, want %q, %q; it said %q", step.name, got.Proposed, got.Done, step.proposed, step.done, got.Label)
		}
		if asked := strings.Join(got.Asked, "; "); asked != step.asked {
			t.Errorf("%s: asked %q, want %q", step.name, asked, step.asked)
		}
		var answers []Answer
		if step.answered {
			answers = []Answer{{To: clinic, Method: "REPLY", Status: "ACCEPTED"}}
		}
		if diff := cmp.Diff(answers, append([]Answer(nil), got.Answers...)); diff != "" {
			t.Errorf("%s: answers (-want +got):\n%s", step.name, diff)
		}
		if diff := cmp.Diff(step.items, short(got.Items)); diff != "" {
			t.Errorf("%s: items (-want +got):\n%s", step.name, diff)
		}
	}
}

// TestLetterBesideTheInvitation shows which mails let the patient read the letter:
// of alternatives Thunderbird shows the last that it knows.
func TestLetterBesideTheInvitation(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name              string
		mail              []byte
		invitation, shown bool
	}{
		{"a letter alone is read and offers nothing", envelope("text/plain; charset=UTF-8", letter), false, true},
		{"as an alternative of the invitation it is not shown", first.mail("REQUEST", patient), true, false},
		{"before the invitation in one mail it is shown", bytes.Replace(other.mail("REQUEST", patient), []byte("alternative"), []byte("mixed"), 1), true, true},
	}
	var mails [][]byte
	for _, c := range cases {
		mails = append(mails, c.mail)
	}
	for i, got := range Play(t, patient, mails...) {
		c := cases[i]
		if invitation := got.Method != "" && got.Pressed != ""; invitation != c.invitation {
			t.Errorf("%s: method %q, pressed %q", c.name, got.Method, got.Pressed)
		}
		if shown := strings.Contains(got.Text, letter); shown != c.shown {
			t.Errorf("%s: shown is %q", c.name, got.Text)
		}
	}
}

// TestSecondFileChangesNothing is why a calendar file given out again neither
// moves nor cancels what the first one brought.
func TestSecondFileChangesNothing(t *testing.T) {
	t.Parallel()
	const once = "visit-1 2027-01-14T08:30:00Z 2027-01-14T09:15:00Z CONFIRMED 0 [-86400] : Harbour Row"
	steps := []struct {
		name, file, err string
	}{
		{"the first file is taken", calendar("", first.event()), ""},
		{"the same file again is refused", calendar("", first.event()), "duplicate id"},
		{"the moved visit is refused", calendar("", moved.event()), "duplicate id"},
		{"the cancelled visit is refused", calendar("", dropped.event()), "duplicate id"},
		{"a CANCEL is refused", calendar("CANCEL", dropped.event("ORGANIZER:"+clinic, "ATTENDEE:mailto:"+patient)), "duplicate id"},
		{"a new visit after a known one is lost", calendar("", first.event(), other.event()), "duplicate id"},
	}
	var files [][]byte
	for _, step := range steps {
		files = append(files, []byte(step.file))
	}
	for i, got := range Import(t, files...) {
		if got.Error != steps[i].err {
			t.Errorf("%s: error %q, want %q", steps[i].name, got.Error, steps[i].err)
		}
		if diff := cmp.Diff([]string{once}, short(got.Items)); diff != "" {
			t.Errorf("%s: items (-want +got):\n%s", steps[i].name, diff)
		}
	}
}
