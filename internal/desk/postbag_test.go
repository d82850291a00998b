package desk_test

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/ledger"
	"graftclock/internal/post"
)

// postbag takes the mails of one case, looks each over, and says what became of it.
type postbag struct {
	*story
	fate   func(ledger.Invitation) ledger.Sending
	posted []posted
}

// posted is one mail that left the house.
type posted struct {
	ledger.Invitation // in the state that it was given
	mail              post.Message
	event             ics.Seen
	stamp             string // DTSTAMP
}

// openPostbag takes a case in, for a patient who chose to get mail. Until told
// otherwise every mail is sent.
func openPostbag(t *testing.T, changes ...string) *postbag {
	t.Helper()
	c := demoClinic(t)
	c.Mail.From = "desk@harbour-row.example"
	s := &story{house: openHouse(t, 1, c, oddName)}
	s.on = on("2027-01-18")
	s.pass(0)
	s.id = admit(t, s.keeper, s.front(), "fenwick", changes...)
	return newPostbag(s)
}

func newPostbag(s *story) *postbag {
	return &postbag{story: s, fate: func(ledger.Invitation) ledger.Sending { return ledger.Sent }}
}

// mail runs graftclock invite.
func (b *postbag) mail(again, arrived bool) ([]desk.Invited, error) {
	return b.keeper.Invite(b.front(), b.id, desk.InviteOptions{
		Name:  func() string { return post.NewID(binaryOf(b.random), "harbour-row.example") },
		Carry: b.carry, Again: again, Arrived: arrived,
	})
}

func (b *postbag) carry(i ledger.Invitation, m post.Message) (ledger.Sending, string, error) {
	b.t.Helper()
	p := posted{Invitation: i, mail: m}
	b.isKeptBeforeItLeaves(i)
	b.isOneEvent(&p)
	b.isForThePatient(p)
	b.follows(p)
	p.State = b.fate(i)
	b.posted = append(b.posted, p)
	return p.State, "so the server says", nil
}

// kept reads all messages of the case, and its calendar key.
func (b *postbag) kept() (all []ledger.Invitation, key []byte) {
	b.t.Helper()
	if err := b.store.View(func(l desk.Ledger) (err error) {
		if key, err = l.CalendarKey(); err != nil {
			return err
		}
		all, err = l.Invitations(b.id)
		return err
	}); err != nil {
		b.t.Fatal(err)
	}
	return all, key
}

// isKeptBeforeItLeaves wants another process to see the message under way already.
func (b *postbag) isKeptBeforeItLeaves(i ledger.Invitation) {
	b.t.Helper()
	all, _ := b.kept()
	if len(all) == 0 {
		b.t.Fatal("a mail leaves and the ledger knows nothing of it")
	}
	if diff := gocmp.Diff(i, all[len(all)-1]); diff != "" || i.State != ledger.UnderWay {
		b.t.Errorf("%s, %s leaves; the ledger has (-leaves +kept):\n%s", i.State, i.Milestone, diff)
	}
}

var stampLine = regexp.MustCompile(`\r\nDTSTAMP:(\w+)\r\n`)

// isOneEvent reads the calendar of a message, which must be of one event and say
// what the message says.
func (b *postbag) isOneEvent(p *posted) {
	b.t.Helper()
	if found := ics.Lint(p.mail.Calendar); len(found) > 0 {
		b.t.Errorf("%s of %s: %v", p.mail.Method, p.Milestone, found)
	}
	seen, err := ics.Read(p.mail.Calendar, b.clinic.Zone)
	stamp := stampLine.FindSubmatch(p.mail.Calendar)
	if err != nil || len(seen) != 1 || stamp == nil {
		b.t.Fatalf("%d events, %v in\n%s", len(seen), err, p.mail.Calendar)
	}
	p.event, p.stamp = seen[0], string(stamp[1])
	_, key := b.kept()
	uid := ics.UID(key, string(b.id), string(p.Milestone), string(graft.ForPatient))
	method, status := "REQUEST", ics.Confirmed
	if p.Method == ledger.Cancellation {
		method, status = "CANCEL", ics.Cancelled
	}
	if p.mail.Method != method || p.event.Status != status || p.event.UID != uid || p.event.Sequence != p.Sequence || p.event.AllDay {
		b.t.Errorf("the ledger has %s, SEQUENCE %d, of %s; the mail is %s of %+v", p.Method, p.Sequence, uid, p.mail.Method, p.event)
	}
}

// isForThePatient wants the mail to go from the clinic to the chosen address, with
// the letter only where it was chosen too and the visit stands.
func (b *postbag) isForThePatient(p posted) {
	b.t.Helper()
	patient := b.live().Case.Patient
	text := strings.ReplaceAll(string(p.mail.Calendar), "\r\n ", "")
	organizer, attendee := ":mailto:"+b.clinic.Mail.From+"\r\n", ":mailto:"+p.To+"\r\n"
	if p.To != patient.Mail.Address || p.mail.To.Address != p.To || p.mail.From.Address != b.clinic.Mail.From || !strings.Contains(text, organizer) || !strings.Contains(text, attendee) {
		b.t.Errorf("to %s, from %s, of a patient of %s:\n%s", p.mail.To, p.mail.From, patient.Mail.Address, text)
	}
	if chosen := patient.Mail.Letter && p.mail.Method == "REQUEST"; chosen != (p.mail.Letter != nil) {
		b.t.Errorf("%s, letter chosen %v: the mail has %q", p.mail.Method, patient.Mail.Letter, p.mail.Letter)
	}
	if says := string(p.mail.Letter); strings.Contains(says, "DRAFT") || strings.Contains(says, desk.PatientCalendar) {
		b.t.Errorf("a draft is sent, or one that names a file which is not in the mail:\n%s", says)
	}
	if _, err := p.mail.Bytes(); err != nil || !p.mail.Date.Equal(p.At) {
		b.t.Errorf("of %s, dated %s: %v", p.At, p.mail.Date, err)
	}
}

// follows wants the SEQUENCE to rise over what the patient may have got before about
// the same visit, and no name twice.
func (b *postbag) follows(p posted) {
	b.t.Helper()
	if p.mail.ID != p.MessageID {
		b.t.Errorf("the mail is named %s, in the ledger %s", p.mail.ID, p.MessageID)
	}
	for _, before := range b.posted {
		if before.MessageID == p.MessageID {
			b.t.Errorf("two mails are named %s", p.MessageID)
		}
		if before.Milestone != p.Milestone {
			continue
		}
		same := before.Method == p.Method && before.event.Start.Equal(p.event.Start)
		repeats := same && (before.State == ledger.Failed || before.State == ledger.UnderWay || before.To != p.To)
		if p.Sequence < before.Sequence || p.Sequence == before.Sequence && !repeats {
			b.t.Errorf("%s: SEQUENCE %d of %s after %d of %s, %s", p.Milestone, p.Sequence, p.event.Start, before.Sequence, before.event.Start, before.State)
		}
	}
}

// plays does the acts of a line such as "book 2027-01-25 09:00; mail; cancel" and
// returns what each run told, runs apart by " | ".
func (b *postbag) plays(line string) string {
	b.t.Helper()
	var told []string
	for _, act := range strings.Split(line, "; ") {
		words := strings.Fields(act)
		if words[0] == "mail" {
			list, err := b.mail(slices.Contains(words, "again"), slices.Contains(words, "arrived"))
			told = append(told, inWords(list, err))
			continue
		}
		if err := b.does(words[0], words[1:]); err != nil {
			b.t.Fatalf("%s: %v", act, err)
		}
	}
	return strings.Join(told, " | ")
}

// does one act; about the wound check where no other step is named.
func (b *postbag) does(act string, words []string) (err error) {
	step := wound()
	if n := len(words) - 1; n >= 0 && slices.Contains(graft.Steps, graft.Step(words[n])) {
		step, words = desk.Choice{Step: graft.Step(words[n])}, words[:n]
	}
	switch act {
	case "approve":
		_, err = b.keeper.Approve(b.surgeon(), b.id)
	case "book":
		_, _, err = b.keeper.Book(b.front(), b.id, step, at(words[0], words[1]), "as agreed")
	case "move":
		_, _, err = b.keeper.Move(b.front(), b.id, step, at(words[0], words[1]), "as agreed")
	case "cancel":
		_, _, err = b.keeper.Cancel(b.front(), b.id, step, "")
	case "attended":
		_, _, err = b.keeper.Attended(b.front(), b.id, step, b.on, "")
	case "missed":
		_, _, err = b.keeper.Missed(b.front(), b.id, step, "")
	case "settle":
		_, _, err = b.keeper.Settle(b.front(), b.id, "")
	case "set":
		_, err = b.keeper.Set(b.surgeon(), b.id, words, "")
	case "note":
		fields := map[string]string{"day": b.on.String(), "what": strings.ReplaceAll(words[0], "_", " ")}
		if fields["what"] == "left out" || fields["what"] == "attended" {
			fields["step"] = string(step.Step)
		}
		_, err = b.keeper.AddFinding(b.surgeon(), b.id, fields, "")
	case "give": // to the patient on paper
		_, _, err = b.keeper.GiveOut(b.id, b.on, b.front().At)
	case "fate":
		b.next(ledger.Sending(strings.Join(words, " ")))
	case "minutes":
		n, _ := strconv.Atoi(words[0])
		b.at = b.at.Add(time.Duration(n) * time.Minute)
	case "day":
		b.pass(on(words[0]).Sub(b.on))
	default:
		err = fmt.Errorf("nobody knows how to %s", act)
	}
	return err
}

// next says what becomes of the next mail.
func (b *postbag) next(fate ledger.Sending) {
	sent := b.fate
	b.fate = func(i ledger.Invitation) ledger.Sending {
		b.fate = sent
		return fate
	}
}

var sinceWhen = regexp.MustCompile(` since .*, by Ida Marlow`)

// inWords writes what a run told: "request 1 2027-01-26 10:00 > 2027-01-27 10:15 sent".
func inWords(list []desk.Invited, err error) string {
	var lines []string
	for _, i := range list {
		line := string(i.Method)
		if i.Waits == "" || i.ID > 0 {
			line += " " + strconv.Itoa(i.Sequence)
		}
		if i.Was.Minutes > 0 {
			line += " " + i.Was.Day.String() + " " + i.Was.Start.String() + " >"
		}
		if i.Slot.Minutes > 0 {
			line += " " + i.Slot.Day.String() + " " + i.Slot.Start.String()
		}
		if i.Waits == "" {
			line += " " + string(i.State)
		} else {
			line += " waits, " + sinceWhen.ReplaceAllString(i.Waits, "")
		}
		lines = append(lines, line)
	}
	if err != nil {
		lines = append(lines, err.Error())
	}
	if lines == nil {
		return "nothing"
	}
	return strings.Join(lines, ", ")
}

// everyMessageHasItsEntry wants an entry of the history for every message that has
// ended, in the order in which they began, and none for any other.
func (b *postbag) everyMessageHasItsEntry() {
	b.t.Helper()
	entries, err := b.keeper.History(b.id)
	if err != nil {
		b.t.Fatal(err)
	}
	var told []string
	for _, e := range entries {
		if e.What != "invite" {
			continue
		}
		if strings.HasPrefix(e.Now, "off: ") {
			e.Now = e.Was + " " + e.Now
		}
		told = append(told, fmt.Sprintf("%s %s, %s, because %s, by %s", e.At.UTC(), e.Milestone, e.Now, e.Why, e.By.Name))
	}
	var want []string
	all, _ := b.kept()
	for _, i := range all {
		p := b.posted[slices.IndexFunc(b.posted, func(p posted) bool { return p.ID == i.ID })]
		text := graft.Slot{Day: day.Of(p.event.Start), Start: day.Clock(p.event.Start.Hour()*60 + p.event.Start.Minute()), Minutes: int(p.event.End.Sub(p.event.Start).Minutes())}.String()
		if i.Method == ledger.Cancellation {
			text += " off"
		}
		if i.State != ledger.UnderWay {
			want = append(want, fmt.Sprintf("%s %s, %s: %s, because %s, by %s", i.At.UTC(), i.Milestone, text, i.State, i.Says, i.By))
		}
	}
	if diff := gocmp.Diff(want, told, sorted); diff != "" {
		b.t.Errorf("(-messages +entries):\n%s", diff)
	}
}

// sorted compares lists without their order: messages begin in another than they end.
var sorted = cmpopts.SortSlices(strings.Compare)
