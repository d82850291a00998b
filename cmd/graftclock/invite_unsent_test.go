package main

import (
	"net"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"graftclock/internal/ledger"
	"graftclock/internal/reference/smtpd"
)

// bookedPostDesk is a desk with one visit to tell of.
func bookedPostDesk(t *testing.T, door, more string) *postDesk {
	t.Helper()
	d := openPostDesk(t, door, more)
	d.does("book", fenwick, wound, "2027-01-26", "10:00")
	return d
}

// TestNothingReachesAServerThatCannotBeTrusted names servers to which no mail must go,
// and then the right one.
func TestNothingReachesAServerThatCannotBeTrusted(t *testing.T) {
	t.Parallel()
	d := bookedPostDesk(t, smtpd.StartTLS, "")
	login := ", user: " + smtpd.User
	d.env = []string{"GRAFTCLOCK_MAIL_PASSWORD=" + smtpd.Password}
	for _, host := range []string{"mail.harbour-row.example", "10.0.0.5", "127.0.0.1.harbour-row.example"} {
		d.mails(host, 25, "none", login)
		_, stderr := d.invite(3, fenwick)
		d.says(stderr, "clinic.yaml", "mail.security", "none is only for a server on this machine")
	}
	d.none()
	trusted := "SSL_CERT_FILE=" + d.server.Certificate
	unknown := "SSL_CERT_FILE=" + d.path("clinic.yaml") // which vouches for nobody
	for _, c := range []struct{ name, host, door, security, trust, says string }{
		{"unknown authority, STARTTLS", "127.0.0.1", smtpd.StartTLS, "starttls", unknown, "TLS: tls: failed to verify certificate: x509: certificate signed by unknown authority"},
		{"unknown authority, TLS", "127.0.0.1", smtpd.TLS, "tls", unknown, "TLS: tls: failed to verify certificate: x509: certificate signed by unknown authority"},
		{"certificate of another host", "localhost", smtpd.TLS, "tls", trusted, "TLS: tls: failed to verify certificate: x509: certificate is not valid for any names, but wanted to match localhost"},
		{"no STARTTLS", "127.0.0.1", smtpd.None, "starttls", trusted, "TLS: the server offers no STARTTLS; nothing was sent"},
		{"no TLS", "127.0.0.1", smtpd.None, "tls", trusted, "TLS: "},
		{"no TLS where login needs it", "127.0.0.1", smtpd.StartTLS, "none", trusted, "login: the server offers no login by password"},
	} {
		d.mails(c.host, d.server.Ports[c.door], c.security, login)
		d.env = []string{"GRAFTCLOCK_MAIL_PASSWORD=" + smtpd.Password, c.trust}
		stdout, stderr := d.invite(3, fenwick)
		d.says(stdout, "not sent: "+c.says)
		if stderr != "" {
			t.Errorf("%s: it says %s", c.name, stderr)
		}
	}
	d.taken(0)
	if n := d.server.Recipients(); n != 0 {
		t.Errorf("a recipient was named %d times", n)
	}
	d.mails(d.server.Host, d.server.Ports[smtpd.StartTLS], smtpd.StartTLS, login)
	d.invite(0, fenwick)
	d.taken(1)
	d.isAsKept(onceIfSent, fenwick)
}

// TestAServerThatIsNotThereIsTriedAgain finds nobody at the port of the server.
func TestAServerThatIsNotThereIsTriedAgain(t *testing.T) {
	t.Parallel()
	d := bookedPostDesk(t, smtpd.None, "")
	free, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	d.mails("127.0.0.1", free.Addr().(*net.TCPAddr).Port, "none", "")
	if err := free.Close(); err != nil {
		t.Fatal(err)
	}
	stdout, stderr := d.invite(3, fenwick)
	d.says(stdout, "not sent: connect: ", "connection refused")
	if lines := strings.Count(stdout+stderr, "\n"); lines != 2 {
		t.Errorf("it says %d lines:\n%s%s", lines, stdout, stderr)
	}
	stdout, _ = d.invite(3, fenwick, "--dry-run")
	d.says(stdout, "would go to nora.fenwick@example.org")
	d.mails(d.server.Host, d.server.Ports[smtpd.None], smtpd.None, "")
	d.invite(0, fenwick)
	d.taken(1)
	d.isAsKept(onceIfSent, fenwick)
}

// TestWhoWaitsForASilentServerIsWaitedFor runs while another run has no answer yet and
// after that one was ended by hand.
func TestWhoWaitsForASilentServerIsWaitedFor(t *testing.T) {
	t.Parallel()
	d := bookedPostDesk(t, smtpd.None, "")
	d.does("book", fenwick, "uncovering", "2027-08-24", "09:00")
	d.server.Deal(smtpd.Silent)
	c := d.program(fenwick)
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	for mails := [][]byte{}; len(mails) == 0; _, mails = d.server.Taken() {
		time.Sleep(time.Millisecond)
	}
	d.server.Deal("")
	stdout, _ := d.invite(3, fenwick)
	d.says(stdout, "wait until it is over", uncovering, "sent to nora.fenwick@example.org")
	_ = c.Process.Kill()
	_ = c.Wait()
	d.taken(2)
	d.now = d.now.Add(10 * time.Minute)
	stdout, _ = d.invite(3, fenwick)
	d.says(stdout, "ask the patient")
	d.invite(0, fenwick, "--arrived")
	d.taken(2)
	d.isAsKept(onceIfSent, fenwick)
}

// TestAMailIsWrittenWholeOrNotAtAll writes mails to where they cannot be, and then to
// where they can.
func TestAMailIsWrittenWholeOrNotAtAll(t *testing.T) {
	t.Parallel()
	d := bookedPostDesk(t, smtpd.None, "")
	d.does("set", fenwick, "patient.mail.letter=true")
	d.approves(fenwick)
	d.writes("taken", "a file of somebody else's", 0o600)
	stdout, stderr := d.invite(1, fenwick, "--out", "taken")
	d.says(stdout, "not sent: it could not be written")
	d.says(stderr, "make the folder taken: ", "not a directory")

	if err := os.Mkdir(d.path("mails"), 0o700); err != nil {
		t.Fatal(err)
	}
	d.writes("mails/mail-2.eml", "a file of somebody else's", 0o600)
	stdout, stderr = d.invite(1, fenwick, "--out", "mails")
	d.says(stdout, "not sent: it could not be written")
	d.says(stderr, "mails/mail-2.eml is there already, so it is left alone")
	if data, err := os.ReadFile(d.path("mails/mail-2.eml")); string(data) != "a file of somebody else's" {
		t.Errorf("it has become %q, %v", data, err)
	}
	d.says(d.does("history", fenwick), "failed", "it could not be written")

	stdout, _ = d.invite(0, fenwick, "--out", "mails")
	d.says(stdout, ": send it to nora.fenwick@example.org")
	d.holds("mails", "mail-2.eml", "mail-3.eml")
	if data, err := os.ReadFile(d.path("mails/mail-3.eml")); err != nil || !strings.Contains(smtpd.Read(t, data)[0].Subject, "26 January 2027") {
		t.Errorf("%v:\n%s", err, data)
	}
	stdout, _ = d.invite(0, fenwick)
	d.says(stdout, everything)
	d.taken(0)
	d.stateOf(ledger.Failed, ledger.Failed, ledger.Written)
}

// TestAFullDiskTakesNoHalfMail writes to disks that are full or must not be written to.
func TestAFullDiskTakesNoHalfMail(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ options, says string }{
		{"size=4k", "no space left on device"},
		{"ro", "read-only file system"},
	} {
		d := bookedPostDesk(t, smtpd.None, "")
		d.does("set", fenwick, "patient.mail.letter=true")
		d.approves(fenwick)
		d.inside(c.options, c.says)
		d.stateOf(ledger.Failed)
		stdout, _ := d.invite(3, fenwick, "--dry-run")
		d.says(stdout, "would go to nora.fenwick@example.org")
		d.invite(0, fenwick, "--out", "mails")
		d.holds("mails", "mail-2.eml")
	}
}

// inside writes the mails to a disk of its own, which only it can see, and wants it to
// stay empty.
func (d *postDesk) inside(options, says string) {
	d.Helper()
	if err := os.Mkdir(d.path("small"), 0o700); err != nil {
		d.Fatal(err)
	}
	mount := "mount -t tmpfs -o " + options + " none small"
	if out, err := exec.Command("unshare", "-rm", "sh", "-c", "cd "+d.folder+" && "+mount).CombinedOutput(); err != nil {
		d.Skipf("this machine lets nobody make a small disk: %v: %s", err, out)
	}
	c := d.program(fenwick, "--out", "small")
	script := mount + ` && { "$0" "$@"; code=$?; ls -A small; exit $code; }`
	c.Args = append([]string{"unshare", "-rm", "sh", "-c", script, c.Path}, c.Args[1:]...)
	c.Path, _ = exec.LookPath("unshare")
	out, _ := c.CombinedOutput() // its exit code says all
	d.ended(c, 1, string(out), "")
	d.says(string(out), "not sent: it could not be written", "graftclock: error: write small/mail-1.eml: ", says)
	if lines := strings.Count(string(out), "\n"); lines != 3 {
		d.Errorf("something was left on the disk:\n%s", out)
	}
}

// holds wants just these files in a folder.
func (d *postDesk) holds(folder string, want ...string) {
	d.Helper()
	entries, err := os.ReadDir(d.path(folder))
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	if err != nil || strings.Join(names, " ") != strings.Join(want, " ") {
		d.Errorf("%s holds %v, want %v: %v", folder, names, want, err)
	}
}

// stateOf wants the messages of the ledger to have ended so.
func (d *postDesk) stateOf(want ...ledger.Sending) {
	d.Helper()
	all, _ := d.kept(fenwick)
	var got []string
	for _, i := range all {
		got = append(got, string(i.State))
	}
	if len(all) != len(want) {
		d.Fatalf("messages are %v, want %v", got, want)
	}
	for n := range want {
		if all[n].State != want[n] {
			d.Errorf("messages are %v, want %v", got, want)
		}
	}
}
