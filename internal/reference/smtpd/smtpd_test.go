package smtpd

import (
	"errors"
	"io"
	"net"
	"net/smtp"
	"net/textproto"
	"strconv"
	"testing"
	"time"
)

const mail = "From: desk@harbour-row.example\r\nTo: nora.fenwick@post.example\r\nSubject: Your visit\r\n\r\nOn Monday.\r\n"

// hand gives the server a mail at the door that wants nothing. The code is that of the
// answer that ended it, 0 for a connection that was cut off.
func hand(t *testing.T, s *Server, to string) (code int) {
	t.Helper()
	err := smtp.SendMail(net.JoinHostPort(s.Host, strconv.Itoa(s.Ports[None])), nil, "desk@harbour-row.example", []string{to}, []byte(mail))
	var reply *textproto.Error
	var line *net.OpError
	switch {
	case err == nil:
		return 250
	case errors.As(err, &reply):
		return reply.Code
	case !errors.Is(err, io.EOF) && !errors.As(err, &line):
		t.Fatal(err)
	}
	return 0
}

func TestFateOfAMailIsAsDealt(t *testing.T) {
	s := Start(t)
	want := 0
	for _, c := range []struct {
		fate        string
		code, taken int
	}{{Refused, 550, 0}, {Later, 451, 0}, {Full, 552, 0}, {Broken, 451, 0}, {Cut, 0, 1}, {Lost, 0, 0}, {Slow, 250, 1}, {"", 250, 1}} {
		for _, byAddress := range []bool{false, true} {
			to := "nora.fenwick@post.example"
			if byAddress {
				to = c.fate + to
				s.Deal("")
			} else {
				s.Deal(c.fate)
			}
			if code := hand(t, s, to); code != c.code {
				t.Errorf("%q, by address %v: %d, want %d", c.fate, byAddress, code, c.code)
			}
			s.Settle()
			want += c.taken
			if _, mails := s.Taken(); len(mails) != want {
				t.Errorf("%q, by address %v: %d mails in all, want %d", c.fate, byAddress, len(mails), want)
			}
		}
	}
	if n := s.Recipients(); n != 16 {
		t.Errorf("%d recipients", n)
	}
}

// TestSilentServerEndsWithItsClient: a mail without an answer is taken, and nobody
// waits for the client any more once it has gone.
func TestSilentServerEndsWithItsClient(t *testing.T) {
	s := Start(t)
	s.Deal(Silent)
	conn, err := net.Dial("tcp", net.JoinHostPort(s.Host, strconv.Itoa(s.Ports[None])))
	if err != nil {
		t.Fatal(err)
	}
	client, err := smtp.NewClient(conn, s.Host)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(client.Mail("desk@harbour-row.example"), client.Rcpt("nora.fenwick@post.example")); err != nil {
		t.Fatal(err)
	}
	w, err := client.Data()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.WriteString(w, mail); err != nil {
		t.Fatal(err)
	}
	go w.Close() // waits for the answer
	for mails := [][]byte{}; len(mails) == 0; _, mails = s.Taken() {
		time.Sleep(time.Millisecond)
	}
	conn.Close()
	s.Settle()
}

func TestMailIsKeptAsItWasSent(t *testing.T) {
	s := Start(t)
	hand(t, s, "nora.fenwick@post.example")
	s.Settle()
	_, mails := s.Taken()
	if len(mails) != 1 || string(mails[0]) != mail {
		t.Fatalf("taken: %q", mails)
	}
}
