// Package smtpd starts aiosmtpd, an SMTP server made by others, for one test: on
// loopback, on ports that are free, and has Python's email package read the mails
// that arrive. It decides how the server is set up and what becomes of a mail there;
// it refuses to know who sends what to whom. Only tests import it.
package smtpd

import (
	"bufio"
	"bytes"
	"crypto/x509"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"graftclock/internal/reference"
)

// What the server's one user is called and types.
const (
	User     = "front.desk@harbour-row.example"
	Password = "Pa55 wörd \"quoted\" \\ and long enough"
)

// The doors of the server, each on a port of its own.
const (
	StartTLS = "starttls" // wants TLS, and then a login
	TLS      = "tls"      // TLS from the first byte, and a login
	None     = "none"     // neither TLS nor STARTTLS; a login is taken, not demanded
)

// Fates of a mail at the server. That of a recipient whose address begins with one of
// these words needs no telling.
const (
	Refused = "refused" // 550 for the recipient
	Later   = "later"   // 451 for the recipient
	Full    = "full"    // 552 for the whole mail, after the final dot
	Broken  = "broken"  // 451 for the whole mail
	Cut     = "cut"     // taken, and the connection torn down instead of an answer
	Lost    = "lost"    // the same, and not taken
	Silent  = "silent"  // taken, and never answered
	Slow    = "slow"    // taken; recipient and mail are answered late
)

// Server is a running server: see testdata/reference/smtp_server.py.
type Server struct {
	// Host is the address that the server listens at; Ports are those of its doors.
	Host  string
	Ports map[string]int
	// Certificate is the file with what the server shows; Roots vouch for it.
	Certificate string
	Roots       *x509.CertPool

	t      testing.TB
	folder string
	input  io.WriteCloser
	output *bufio.Reader
}

// Start starts a server and returns when it answers. The end of the test stops it. It
// skips or fails the test by the rule of package reference when aiosmtpd is absent.
func Start(t testing.TB) *Server {
	t.Helper()
	python := reference.Python(t, "aiosmtpd")
	s := &Server{Host: "127.0.0.1", t: t, folder: t.TempDir()}
	var key string
	s.Certificate, key, s.Roots = certificate(t, t.TempDir())
	command := exec.Command(python, filepath.Join(reference.Folder(), "smtp_server.py"), s.folder, s.Certificate, key)
	command.Env = append(os.Environ(), "LOGIN_USER="+User, "LOGIN_PASSWORD="+Password, "PYTHONIOENCODING=utf-8")
	var problems bytes.Buffer
	command.Stderr = &problems
	output, err := command.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if s.input, err = command.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	if err := command.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = s.input.Close() // it ends by itself, or else by force
		overdue := time.AfterFunc(5*time.Second, func() { _ = command.Process.Kill() })
		defer overdue.Stop()
		if err := command.Wait(); err != nil {
			t.Errorf("the server: %v\n%s", err, problems.String())
		}
	})
	s.output = bufio.NewReader(output)
	if err := json.Unmarshal(s.line(), &s.Ports); err != nil {
		t.Fatal(err)
	}
	return s
}

// line is the next line that the server prints.
func (s *Server) line() []byte {
	s.t.Helper()
	line, err := s.output.ReadBytes('\n')
	if err != nil {
		s.t.Fatalf("the server said %q: %v", line, err)
	}
	return line
}

// Settle returns once nobody is connected any more: what was sent until then has
// arrived or never will.
func (s *Server) Settle() {
	s.t.Helper()
	if _, err := io.WriteString(s.input, "settled\n"); err != nil {
		s.t.Fatal(err)
	}
	s.line()
}

// Deal says what becomes of all mails from now on, whoever they are for; the empty
// fate leaves it to the recipients' addresses again.
func (s *Server) Deal(fate string) {
	s.t.Helper()
	path := filepath.Join(s.folder, "fate")
	if fate == "" {
		if err := os.Remove(path); err != nil && !os.IsNotExist(err) {
			s.t.Fatal(err)
		}
		return
	}
	if err := os.WriteFile(path, []byte(fate), 0o600); err != nil {
		s.t.Fatal(err)
	}
}

// Envelope is what the server knows of a mail besides its bytes.
type Envelope struct {
	Door, Hello, From   string
	Options, To         []string
	LoggedIn, Encrypted bool
}

// Taken returns all mails that the server took, in order.
func (s *Server) Taken() (envelopes []Envelope, mails [][]byte) {
	s.t.Helper()
	for n := 1; ; n++ {
		data, err := os.ReadFile(filepath.Join(s.folder, strconv.Itoa(n)+".eml"))
		if os.IsNotExist(err) {
			return envelopes, mails
		}
		if err != nil {
			s.t.Fatal(err)
		}
		about, err := os.ReadFile(filepath.Join(s.folder, strconv.Itoa(n)+".json"))
		if err != nil {
			s.t.Fatal(err)
		}
		var e Envelope
		if err := json.Unmarshal(about, &e); err != nil {
			s.t.Fatal(err)
		}
		envelopes, mails = append(envelopes, e), append(mails, data)
	}
}

// Recipients counts how often a recipient was named, taken or not.
func (s *Server) Recipients() int {
	s.t.Helper()
	data, err := os.ReadFile(filepath.Join(s.folder, "recipients"))
	if err != nil && !os.IsNotExist(err) {
		s.t.Fatal(err)
	}
	return strings.Count(string(data), "\n")
}
