package post_test

import (
	"bufio"
	"io"
	"net"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"graftclock/internal/post"
)

// What a fake server can do instead of an answer.
const (
	cut    = "cut"    // closes the connection in order
	reset  = "reset"  // tears it down
	silent = "silent" // says nothing until the client goes
	late   = "late"   // answers as usual, after the time for handing over
)

// fake is a server that answers as it is told, for what no real one does on demand.
type fake struct {
	answers map[string]string // by verb; "greeting" and ".", the answer to the whole mail, too
	half    bool              // go away in the middle of the mail
	quiet   func()            // called when it falls silent; nil: nobody wants to know

	listener net.Listener
	done     sync.WaitGroup
	mutex    sync.Mutex
	heard    []string // verbs in order, "." for a whole mail
	mails    [][]byte // whole ones
	lines    int      // of connections
}

// listen starts the fake until the test ends.
func (f *fake) listen(t *testing.T) post.Server {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	f.listener = listener
	f.done.Go(func() {
		for {
			conn, err := listener.Accept()
			if err != nil {
				return
			}
			f.mutex.Lock()
			f.lines++
			f.mutex.Unlock()
			f.done.Go(func() { f.serve(conn) })
		}
	})
	t.Cleanup(f.stop)
	return post.Server{Host: "127.0.0.1", Port: listener.Addr().(*net.TCPAddr).Port, Security: post.None, Timeout: 20 * time.Second}
}

// stop waits for all connections to end.
func (f *fake) stop() {
	_ = f.listener.Close()
	f.done.Wait()
}

func (f *fake) serve(conn net.Conn) {
	defer func() { _ = conn.Close() }()
	in := bufio.NewReader(conn)
	if !f.answer(conn, "greeting", "220 mail.invalid") {
		return
	}
	usual := map[string]string{"EHLO": "250-mail.invalid\r\n250 AUTH PLAIN LOGIN", "AUTH": "235 welcome", "DATA": "354 go on", "QUIT": "221 bye"}
	for {
		line, err := in.ReadString('\n')
		if err != nil {
			return
		}
		verb, _, _ := strings.Cut(strings.TrimSpace(line), " ")
		f.hear(verb)
		answer, known := usual[verb]
		if !known {
			answer = "250 fine"
		}
		if !f.answer(conn, verb, answer) {
			return
		}
		if verb == "DATA" && !f.takes(conn, in) {
			return
		}
	}
}

// takes reads a mail and answers it; false says that the connection is over.
func (f *fake) takes(conn net.Conn, in *bufio.Reader) bool {
	if told := f.answers["DATA"]; told != "" && !strings.HasPrefix(told, "354") {
		return true
	}
	if f.half {
		_, _ = io.CopyN(io.Discard, in, 100)
		_ = conn.(*net.TCPConn).SetLinger(0)
		return false
	}
	var mail []byte
	for {
		line, err := in.ReadBytes('\n')
		if err != nil {
			return false
		}
		if string(line) == ".\r\n" {
			break
		}
		mail = append(mail, strings.TrimPrefix(string(line), ".")...)
	}
	f.hear(".")
	f.mutex.Lock()
	f.mails = append(f.mails, mail)
	f.mutex.Unlock()
	return f.answer(conn, ".", "250 taken")
}

func (f *fake) answer(conn net.Conn, verb, usual string) bool {
	answer := f.answers[verb]
	switch answer {
	case "":
		answer = usual
	case cut:
		return false
	case reset:
		_ = conn.(*net.TCPConn).SetLinger(0)
		return false
	case late:
		time.Sleep(impatience + impatience/2)
		answer = usual
	case silent:
		if f.quiet != nil {
			f.quiet()
		}
		_, _ = io.Copy(io.Discard, conn)
		return false
	}
	_, err := conn.Write([]byte(answer + "\r\n"))
	return err == nil
}

func (f *fake) hear(verb string) {
	f.mutex.Lock()
	defer f.mutex.Unlock()
	f.heard = append(f.heard, verb)
}

// verbs is all the fake was told, in order, once everybody has gone.
func (f *fake) verbs() []string {
	f.stop()
	return slices.Clone(f.heard)
}
