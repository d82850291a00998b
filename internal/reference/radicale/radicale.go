// Package radicale starts Radicale, a CalDAV server made by others, for one test:
// on loopback, on a port that is free, with a password, with a storage that the
// test takes away with it. It decides how the server is set up; it refuses to know
// what is asked of it. Only tests import it.
package radicale

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"graftclock/internal/reference"
)

// What the server's one user is called and types. The server keeps the password as it
// is: a hash would be worked out anew at every request.
const (
	user     = "ida.marlow"
	password = "harbour row 7: tea & salt"
)

// patience is how long the server may take to start.
const patience = time.Minute

// serve runs Radicale and ends it when its standard input ends, which it does even
// where the test was killed. It leaves out the writing through to disk: no test
// pulls a plug. And it has what vobject works out about a zone kept by the text of its
// VTIMEZONE: most of a request's time went into doing that anew.
const serve = `
import io, os, threading
from dateutil import tz
from vobject import icalendar

os.fsync = lambda file: None

def kept(work_out):
    known = {}
    def look(*rest):
        key = tuple(r if isinstance(r, (str, int)) else id(r) for r in rest)
        if key not in known:
            known[key] = work_out(*rest), rest  # as long as the rest is there, its id is its own
        return known[key][0]
    return look

icalendar.getTransition = kept(icalendar.getTransition)
icalendar.tzinfo_eq = kept(icalendar.tzinfo_eq)
read_zone = kept(lambda text, read=tz.tzical: read(io.StringIO(text)))
tz.tzical = lambda stream: read_zone(stream.read())

def end_with_the_test():
    os.read(0, 1)
    os._exit(1)

threading.Thread(target=end_with_the_test, daemon=True).start()

%s
from radicale.__main__ import run
run()
`

// settings of the server: host and port, file of users, folder of the storage.
const settings = `[server]
hosts = %s
[auth]
type = htpasswd
htpasswd_filename = %s
htpasswd_encryption = plain
delay = 0
[storage]
filesystem_folder = %s
[logging]
level = info
`

// Server is a running Radicale.
type Server struct {
	URL            string // http://127.0.0.1:PORT/
	User, Password string // of its one user

	t              testing.TB
	python, folder string
	program        string // that runs it
	host           string // to listen on; port 0 takes a free one
	process        *process
}

// Start starts a server with an empty storage and returns when it answers. The end
// of the test stops it. It skips or fails the test by the rule of package reference
// when Radicale is absent. Lines of Python, where there are any, run in the server
// before it starts.
func Start(t testing.TB, lines ...string) *Server {
	t.Helper()
	s := &Server{
		User: user, Password: password, t: t, folder: t.TempDir(), host: "127.0.0.1:0",
		program: fmt.Sprintf(serve, strings.Join(lines, "\n")),
		python:  reference.Python(t, "radicale"),
	}
	s.write("users", user+":"+password+"\n")
	t.Cleanup(s.Stop)
	s.Restart()
	return s
}

// Stop kills the server, without a chance to finish anything. Its storage stays.
func (s *Server) Stop() {
	if s.process != nil {
		s.process.kill()
		s.process = nil
	}
}

// Restart starts the server again at the same address with what it has stored,
// and returns when it answers.
func (s *Server) Restart() {
	s.t.Helper()
	s.Stop()
	s.write("config", fmt.Sprintf(settings, s.host, s.path("users"), s.path("storage")))
	command := exec.Command(s.python, "-c", s.program, "--config", s.path("config"))
	p, err := start(command)
	if err != nil {
		s.t.Fatalf("start radicale: %v", err)
	}
	s.process = p
	if s.host, err = p.address(patience); err != nil {
		s.t.Fatalf("start radicale: %v", err)
	}
	s.URL = "http://" + s.host + "/"
}

// ForgetTokens makes the server forget every state that a client could ask for the
// changes since (RFC 6578), as time does.
func (s *Server) ForgetTokens() {
	s.t.Helper()
	tokens, err := filepath.Glob(filepath.Join(s.path("storage"), "collection-root", "*", "*", ".Radicale.cache", "sync-token", "*"))
	if err != nil || len(tokens) == 0 {
		s.t.Fatalf("radicale keeps no token: %v", err)
	}
	for _, token := range tokens {
		if err := os.Remove(token); err != nil {
			s.t.Fatal(err)
		}
	}
}

func (s *Server) path(name string) string { return filepath.Join(s.folder, name) }

func (s *Server) write(name, text string) {
	s.t.Helper()
	if err := os.WriteFile(s.path(name), []byte(text), 0o600); err != nil {
		s.t.Fatal(err)
	}
}
