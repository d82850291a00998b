package main

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"graftclock/internal/cli"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/ledger"
	"graftclock/internal/reference"
	"graftclock/internal/reference/smtpd"
	"graftclock/internal/sqlite"
)

// postDesk is a desk that mails its patients through a server that others have made.
// The program that mails is a process of its own.
type postDesk struct {
	*testing.T
	server *smtpd.Server
	folder string    // clinic file, ledger, and what is written
	now    time.Time // the desk's clock
	env    []string  // of the program, besides the test's own
}

// openPostDesk copies the demo clinic, names a door of the server in its file, and
// takes in and approves a case whose patient chose to get mail. More is what the file
// says of the mail besides.
func openPostDesk(t *testing.T, door, more string) *postDesk {
	t.Helper()
	if door != smtpd.None && (runtime.GOOS == "darwin" || runtime.GOOS == "windows") {
		t.Skip("the program asks this system, and not SSL_CERT_FILE, whom to trust")
	}
	d := &postDesk{T: t, server: smtpd.Start(t), folder: t.TempDir(), now: time.Date(2027, 1, 18, 8, 30, 0, 0, time.UTC)}
	if err := os.CopyFS(d.folder, os.DirFS(filepath.Join(reference.Root(), "testdata", "demo"))); err != nil {
		t.Fatal(err)
	}
	d.mails(d.server.Host, d.server.Ports[door], door, more)
	d.does("admit", filepath.Join(d.folder, "fenwick.yaml"))
	d.approves(fenwick)
	return d
}

// fenwick is the case of openPostDesk.
const fenwick = "HR-2041"

// mails writes into the clinic file how it sends mail.
func (d *postDesk) mails(host string, port int, security, more string) {
	d.Helper()
	data, err := os.ReadFile(d.path("clinic.yaml"))
	if err != nil {
		d.Fatal(err)
	}
	house, _, _ := strings.Cut(string(data), "mail:")
	line := fmt.Sprintf("mail: {from: desk@harbour-row.example, server: %q, port: %d, security: %s%s}\n", host, port, security, more)
	d.writes("clinic.yaml", house+line, 0o600)
}

func (d *postDesk) path(name string) string { return filepath.Join(d.folder, name) }

func (d *postDesk) writes(name, text string, mode os.FileMode) {
	d.Helper()
	if err := os.WriteFile(d.path(name), []byte(text), mode); err != nil {
		d.Fatal(err)
	}
	if err := os.Chmod(d.path(name), mode); err != nil {
		d.Fatal(err)
	}
}

// does has the desk do something else than mail, inside the test's own process.
func (d *postDesk) does(args ...string) (stdout string) { d.Helper(); return d.ends(0, args...) }

// ends is does with another end than a good one.
func (d *postDesk) ends(code int, args ...string) (stdout string) {
	d.Helper()
	var out, problems bytes.Buffer
	args = append(args, "--clinic", d.path("clinic.yaml"))
	if !slices.Contains(args, "--as") && args[0] != "history" {
		args = append(args, "--as", "Ida Marlow")
	}
	if got := cli.MainAt(func() time.Time { return d.now }, args, strings.NewReader(""), &out, &problems); got != code {
		d.Fatalf("graftclock %s: exit code %d, want %d\n%s%s", strings.Join(args, " "), got, code, &out, &problems)
	}
	return out.String()
}

func (d *postDesk) approves(id string) { d.Helper(); d.does("approve", id, "--as", "Dr Alba Quill") }

// program is graftclock invite as a process, not started yet.
func (d *postDesk) program(args ...string) *exec.Cmd {
	c := command(d, append([]string{"invite", "--clinic", d.path("clinic.yaml"), "--as", "Ida Marlow"}, args...)...)
	c.Dir = d.folder
	c.Env = append(os.Environ(), "CLOCK="+d.now.Format(time.RFC3339), "GRAFTCLOCK_MAIL_PASSWORD=", "SSL_CERT_FILE="+d.server.Certificate)
	c.Env = append(c.Env, d.env...)
	return c
}

// invite mails the patient of a case, wants an exit code and returns what was said.
func (d *postDesk) invite(code int, args ...string) (stdout, stderr string) {
	d.Helper()
	var out, problems bytes.Buffer
	c := d.program(args...)
	c.Stdout, c.Stderr = &out, &problems
	if err := c.Start(); err != nil {
		d.Fatal(err)
	}
	_ = c.Wait() // its exit code says all
	d.ended(c, code, out.String(), problems.String())
	return out.String(), problems.String()
}

// ended looks over a run of the program: its exit code, and that it keeps the password
// to itself.
func (d *postDesk) ended(c *exec.Cmd, code int, stdout, stderr string) {
	d.Helper()
	said := stdout + stderr
	if got := c.ProcessState.ExitCode(); got != code {
		d.Errorf("graftclock %s: exit code %d, want %d\n%s", strings.Join(c.Args[1:], " "), got, code, said)
	}
	d.keepsPassword("the program", said)
}

// keepsPassword looks for a password in a text, plain and as SMTP carries it.
func (d *postDesk) keepsPassword(where, text string) {
	d.Helper()
	for _, password := range []string{smtpd.Password, wrongPassword} {
		for _, form := range []string{password, base64.StdEncoding.EncodeToString([]byte(password)), base64.StdEncoding.EncodeToString([]byte("\x00" + smtpd.User + "\x00" + password))} {
			if strings.Contains(text, form) {
				d.Errorf("%s tells the password:\n%s", where, text)
			}
		}
	}
}

const wrongPassword = "knock knock, 7 times"

// says wants texts in what was said.
func (d *postDesk) says(said string, texts ...string) {
	d.Helper()
	for _, text := range texts {
		if !strings.Contains(said, text) {
			d.Errorf("%q is not in\n%s", text, said)
		}
	}
}

// kept reads all messages of a case in the ledger, and the key of its calendars.
func (d *postDesk) kept(id string) (all []ledger.Invitation, key []byte) {
	d.Helper()
	store, err := sqlite.Open(d.path("clinic.ledger"))
	if err != nil {
		d.Fatal(err)
	}
	defer store.Close()
	if err := desk.Keep(store).View(func(l desk.Ledger) (err error) {
		if key, err = l.CalendarKey(); err != nil {
			return err
		}
		all, err = l.Invitations(graft.CaseID(id))
		return err
	}); err != nil {
		d.Fatal(err)
	}
	return all, key
}

// arrived is a mail that the server took, as a reader of mail understands it.
type arrived struct {
	smtpd.Mail
	method, letter string
	event          ics.Seen
}

// read reads what the server took, from the given mail on.
func (d *postDesk) read(from int) []arrived {
	d.Helper()
	d.server.Settle()
	_, mails := d.server.Taken()
	if len(mails) <= from {
		return nil
	}
	var all []arrived
	for _, m := range smtpd.Read(d, mails[from:]...) {
		a := arrived{Mail: m}
		for _, p := range m.Parts {
			switch {
			case p.File == "letter.txt":
				a.letter = string(p.Body)
			case p.Type == "text/calendar":
				a.method = p.Method
				seen, err := ics.Read(p.Body, "Europe/Dublin")
				if found := ics.Lint(p.Body); err != nil || len(seen) != 1 || len(found) > 0 || !bytes.Contains(p.Body, []byte("\r\nMETHOD:"+p.Method+"\r\n")) {
					d.Fatalf("method %s, %d events, %v, %v in\n%s", p.Method, len(seen), err, found, p.Body)
				}
				a.event = seen[0]
			}
		}
		if len(m.Defects) > 0 || a.method == "" {
			d.Errorf("the reader complains of %s: %v", m.ID, m.Defects)
		}
		all = append(all, a)
	}
	return all
}

// told writes a mail in one line.
func (a arrived) told() string {
	return fmt.Sprintf("%s %d %s %s, letter %v", a.method, a.event.Sequence, a.event.Status, a.event.Start.Format("2006-01-02 15:04"), a.letter != "")
}

// taken wants so many mails at the server.
func (d *postDesk) taken(want int) {
	d.Helper()
	d.server.Settle()
	if _, mails := d.server.Taken(); len(mails) != want {
		d.Errorf("the server took %d mails, want %d", len(mails), want)
	}
}

// isAsKept holds all that the server took against the ledger: each message that it has
// as sent arrived as often as the test says, with the numbers that the ledger keeps,
// and nothing else did.
func (d *postDesk) isAsKept(times func(ledger.Invitation) int, ids ...string) {
	d.Helper()
	names := map[string]int{}
	numbers := map[string]int{}
	for _, a := range d.read(0) {
		names[a.ID]++
		numbers[a.number()]++
	}
	for _, id := range ids {
		all, key := d.kept(id)
		for _, i := range all {
			method := map[ledger.Method]string{ledger.Request: "REQUEST", ledger.Cancellation: "CANCEL"}[i.Method]
			number := fmt.Sprintf("%s %d %s", ics.UID(key, id, string(i.Milestone), string(graft.ForPatient)), i.Sequence, method)
			if got, want := names["<"+i.MessageID+">"], times(i); got != want {
				d.Errorf("message %d about %s, %s, %s: arrived %d times, want %d", i.ID, i.Milestone, i.State, i.Says, got, want)
			} else if want > 0 && numbers[number] == 0 {
				d.Errorf("message %d about %s arrived under another number than %s", i.ID, i.Milestone, number)
			}
			delete(names, "<"+i.MessageID+">")
		}
	}
	if len(names) > 0 {
		d.Errorf("the ledger does not know of %v", names)
	}
	for number, n := range numbers {
		if n > 1 {
			d.Errorf("%s arrived %d times", number, n)
		}
	}
}

// number is what a calendar program tells messages apart by (RFC 5546 2.1.5).
func (a arrived) number() string {
	return fmt.Sprintf("%s %d %s", a.event.UID, a.event.Sequence, a.method)
}

// onceIfSent is how often a message arrives where nothing was cut off.
func onceIfSent(i ledger.Invitation) int {
	if i.State == ledger.Sent {
		return 1
	}
	return 0
}
