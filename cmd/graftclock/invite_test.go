package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/ledger"
	"graftclock/internal/reference/smtpd"
)

const everything = "has been told of every booked visit"

// TestMailsArriveWholeAndOnce tells of visits as they are booked, move and go, through
// every kind of door, and looks at what the patient got.
func TestMailsArriveWholeAndOnce(t *testing.T) {
	t.Parallel()
	login := ", user: " + smtpd.User
	for _, c := range []struct {
		door, more, variable, file string
		want                       smtpd.Envelope
	}{
		{door: smtpd.None},
		{door: smtpd.StartTLS, more: login, variable: smtpd.Password, want: smtpd.Envelope{LoggedIn: true, Encrypted: true}},
		{door: smtpd.TLS, more: login + ", password_file: mail.password", file: smtpd.Password + "\nnot this line\n", want: smtpd.Envelope{LoggedIn: true, Encrypted: true}},
	} {
		t.Run(c.door, func(t *testing.T) {
			d := openPostDesk(t, c.door, c.more)
			d.env = []string{"GRAFTCLOCK_MAIL_PASSWORD=" + c.variable}
			if c.file != "" {
				d.writes("mail.password", c.file, 0o600)
			}
			d.tellsOfEverything()
			c.want.Door, c.want.Hello, c.want.From, c.want.To = c.door, "[127.0.0.1]", "desk@harbour-row.example", []string{"nora.fenwick@example.org"}
			c.want.Options = []string{"BODY=8BITMIME"}
			envelopes, _ := d.server.Taken()
			for _, e := range envelopes {
				if diff := cmp.Diff(c.want, e); diff != "" {
					t.Error(diff)
				}
			}
			d.keepsPassword("the history", d.does("history", fenwick))
			for _, name := range []string{"clinic.ledger", "clinic.yaml"} {
				data, err := os.ReadFile(d.path(name))
				if err != nil {
					t.Fatal(err)
				}
				d.keepsPassword(name, string(data))
			}
		})
	}
}

// tellsOfEverything plays a story and wants each of its mails, and each once.
func (d *postDesk) tellsOfEverything() {
	d.Helper()
	told := 0
	for _, step := range []struct {
		acts []string // apart by a space; none: nothing happens
		want []string
	}{
		{[]string{"book HR-2041 wound-check 2027-01-26 10:00", "book HR-2041 uncovering 2027-08-24 09:00"},
			[]string{"REQUEST 0 confirmed 2027-01-26 10:00, letter false", "REQUEST 0 confirmed 2027-08-24 09:00, letter false"}},
		{nil, nil},
		{[]string{"set HR-2041 patient.mail.letter=true", "approve HR-2041"}, nil},
		{[]string{"move HR-2041 wound-check 2027-01-27 11:00"}, []string{"REQUEST 1 confirmed 2027-01-27 11:00, letter true"}},
		{[]string{"move HR-2041 uncovering 2027-08-26 14:00", "cancel HR-2041 wound-check"},
			[]string{"CANCEL 2 cancelled 2027-01-27 11:00, letter false", "REQUEST 1 confirmed 2027-08-26 14:00, letter true"}},
		{nil, nil},
		{[]string{"book HR-2041 wound-check 2027-01-27 11:00"}, []string{"REQUEST 3 confirmed 2027-01-27 11:00, letter true"}},
	} {
		d.now = d.now.Add(time.Hour)
		for _, act := range step.acts {
			if words := strings.Fields(act); words[0] == "approve" {
				d.approves(words[1])
			} else {
				d.does(words...)
			}
		}
		stdout, stderr := d.invite(0, fenwick)
		if lines := strings.Count(stdout, " sent to nora.fenwick@example.org\n"); lines != len(step.want) || stderr != "" {
			d.Errorf("%v: want %d mails, it says\n%s%s", step.acts, len(step.want), stdout, stderr)
		}
		if len(step.want) == 0 {
			d.says(stdout, everything)
		}
		var got []string
		for _, a := range d.read(told) {
			got = append(got, a.told())
			d.isForThePatient(a)
		}
		if diff := cmp.Diff(step.want, got); diff != "" {
			d.Errorf("%v (-want +arrived):\n%s", step.acts, diff)
		}
		told += len(step.want)
	}
	d.isAsKept(onceIfSent, fenwick)
}

// isForThePatient looks at what is the same in every mail.
func (d *postDesk) isForThePatient(a arrived) {
	d.Helper()
	want := smtpd.Mail{
		ID: a.ID, Date: d.now.Format("2006-01-02T15:04:05-07:00"), Subject: a.Subject, Auto: "auto-generated",
		From: smtpd.Party{Name: "Harbour Row", Address: "desk@harbour-row.example"}, To: smtpd.Party{Name: "Nora Fenwick", Address: "nora.fenwick@example.org"},
		Names: []string{"auto-submitted", "content-type", "date", "from", "message-id", "mime-version", "subject", "to"},
		Parts: a.Parts, Defects: a.Defects,
	}
	if diff := cmp.Diff(want, a.Mail); diff != "" {
		d.Errorf("(-want +arrived):\n%s", diff)
	}
	if a.letter != "" && (!strings.Contains(a.letter, "Nora Fenwick") || strings.Contains(a.letter, "DRAFT")) {
		d.Errorf("the letter is\n%s", a.letter)
	}
	for _, p := range a.Parts {
		if text := string(p.Body) + a.Subject; p.File == "" && (strings.Contains(text, fenwick) || strings.Contains(strings.ToLower(text), "implant")) {
			d.Errorf("%s tells of the operation:\n%s", p.Type, text)
		}
	}
}

// TestWrongPasswordIsRefusedAndNotTold logs in with a wrong one, from the environment
// and from a file, and with none.
func TestWrongPasswordIsRefusedAndNotTold(t *testing.T) {
	t.Parallel()
	d := openPostDesk(t, smtpd.StartTLS, ", user: "+smtpd.User+", password_file: mail.password")
	d.does("book", fenwick, "wound-check", "2027-01-26", "10:00")
	_, stderr := d.invite(1, fenwick)
	d.says(stderr, "read the password", "mail.password")
	d.writes("mail.password", smtpd.Password+"\n", 0o640)
	_, stderr = d.invite(1, fenwick)
	d.says(stderr, "can be read by others than its owner", "chmod 600")
	d.writes("mail.password", "\n"+smtpd.Password+"\n", 0o600)
	_, stderr = d.invite(1, fenwick)
	d.says(stderr, "the first line of", "is empty")
	if all, _ := d.kept(fenwick); len(all) > 0 {
		t.Errorf("without a password a message began: %v", all)
	}
	d.writes("mail.password", wrongPassword+"\n", 0o600)
	stdout, stderr := d.invite(3, fenwick)
	d.says(stdout, "not sent: login: 535 5.7.8")
	d.env = []string{"GRAFTCLOCK_MAIL_PASSWORD=" + smtpd.Password + "!"}
	stdout2, stderr2 := d.invite(3, fenwick)
	d.says(stdout2, "not sent: login: 535 5.7.8")
	if stderr+stderr2 != "" {
		t.Errorf("it says %q, %q", stderr, stderr2)
	}
	d.keepsPassword("the history", d.does("history", fenwick))
	if n := d.server.Recipients(); n != 0 {
		t.Errorf("a recipient was named %d times", n)
	}
	d.env = nil
	d.writes("mail.password", smtpd.Password, 0o600)
	stdout, _ = d.invite(0, fenwick)
	d.says(stdout, "sent to nora.fenwick@example.org")
	d.taken(1)
	d.isAsKept(onceIfSent, fenwick)
}

// TestWhatTheServerRefusesIsSentByTheNextRun refuses the mails of a run, for good or
// for now, before and after the final dot.
func TestWhatTheServerRefusesIsSentByTheNextRun(t *testing.T) {
	t.Parallel()
	d := openPostDesk(t, smtpd.None, "")
	d.does("book", fenwick, "uncovering", "2027-08-24", "09:00")
	for n, c := range []struct{ fate, says string }{
		{smtpd.Refused, "not sent: recipient: 550 5.1.1 <***>: recipient address rejected: *** is unknown"},
		{smtpd.Later, "not sent: recipient: 451 4.7.1 <***>: greylisted, try again later"},
		{smtpd.Full, "not sent: mail: 552 5.2.2 mailbox full"},
		{smtpd.Broken, "not sent: mail: 451 4.3.0 disk trouble"},
	} {
		d.now = d.now.Add(time.Hour)
		times := []string{"10:00", "11:00"}
		if n == 0 {
			d.does("book", fenwick, "wound-check", "2027-01-26", times[0])
		} else {
			d.does("move", fenwick, "wound-check", "2027-01-26", times[n%2])
		}
		d.server.Deal(c.fate)
		for range 2 {
			stdout, stderr := d.invite(3, fenwick)
			d.says(stdout, c.says)
			if strings.Contains(stdout, "sent to") || stderr != "" {
				t.Errorf("%s: it says\n%s%s", c.fate, stdout, stderr)
			}
		}
		d.says(d.does("history", fenwick), "failed", strings.TrimPrefix(c.says, "not sent: "))
		d.server.Deal("")
		stdout, _ := d.invite(0, fenwick)
		d.says(stdout, "2027-01-26 "+times[n%2], "sent to nora.fenwick@example.org")
		stdout, _ = d.invite(0, fenwick)
		d.says(stdout, everything)
	}
	d.taken(5)
	d.isAsKept(onceIfSent, fenwick)
}

// TestACutOffMailIsAskedFor cuts the line after the final dot, of mails that arrive and
// of mails that do not. Until ten minutes have passed nobody can say what became of it.
func TestACutOffMailIsAskedFor(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		fate, decides string
		arrives       int // in all
		state         ledger.Sending
	}{
		{smtpd.Cut, "--arrived", 1, ledger.Sent},
		{smtpd.Lost, "--again", 1, ledger.Failed},
		{smtpd.Cut, "--again", 2, ledger.Failed},
		{smtpd.Lost, "--arrived", 0, ledger.Sent},
	} {
		t.Run(c.fate+c.decides, func(t *testing.T) {
			t.Parallel()
			d := openPostDesk(t, smtpd.None, "")
			d.does("book", fenwick, "wound-check", "2027-01-26", "10:00")
			d.server.Deal(c.fate)
			stdout, _ := d.invite(3, fenwick)
			d.says(stdout, "it may have arrived and may not: answer: ")
			d.server.Deal("")
			_, mails := d.server.Taken()
			began := d.now
			for _, minutes := range []time.Duration{0, 9} {
				d.now = began.Add(minutes*time.Minute + 59*time.Second)
				for _, args := range [][]string{{}, {"--again"}, {"--arrived"}, {"--dry-run"}} {
					stdout, _ = d.invite(3, append(args, fenwick)...)
					d.says(stdout, "a message has been under way since 2027-01-18 08:30 UTC, by Ida Marlow: wait until it is over")
				}
			}
			d.now = began.Add(10 * time.Minute)
			for _, args := range [][]string{{}, {"--dry-run"}} {
				stdout, _ = d.invite(3, append(args, fenwick)...)
				d.says(stdout, "it may have arrived; ask the patient, then --arrived or --again")
			}
			d.invite(2, fenwick, "--again", "--arrived")
			d.taken(len(mails))
			d.invite(0, fenwick, c.decides)
			d.taken(c.arrives)
			stdout, _ = d.invite(0, fenwick)
			d.says(stdout, everything)
			d.taken(c.arrives)
			d.cutOffIsKept(c.state, c.arrives)
		})
	}
}

// cutOffIsKept wants what was decided of the first message in the ledger, and every
// copy that arrived to be the same to a calendar program.
func (d *postDesk) cutOffIsKept(state ledger.Sending, copies int) {
	d.Helper()
	all, _ := d.kept(fenwick)
	if all[0].State != state || all[len(all)-1].State != ledger.Sent {
		d.Errorf("kept are %+v", all)
	}
	if says := map[ledger.Sending]string{ledger.Sent: "the patient has it", ledger.Failed: "counted as lost"}[state]; all[0].Says != says {
		d.Errorf("of the first it says %q, want %q", all[0].Says, says)
	}
	var numbers []string
	for _, a := range d.read(0) {
		numbers = append(numbers, a.number())
	}
	if len(numbers) != copies || len(slices.Compact(numbers)) > 1 {
		d.Errorf("arrived are %v", numbers)
	}
}

// none wants no message in the ledger and none at the server.
func (d *postDesk) none() {
	d.Helper()
	d.taken(0)
	if all, _ := d.kept(fenwick); len(all) > 0 {
		d.Errorf("the ledger has %v", all)
	}
	if found, _ := filepath.Glob(d.path("*.eml")); len(found) > 0 {
		d.Errorf("written are %v", found)
	}
}
