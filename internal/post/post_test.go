package post_test

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"graftclock/internal/graft"
	"graftclock/internal/post"
)

const request = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//graftclock//EN\r\nMETHOD:REQUEST\r\n" +
	"BEGIN:VEVENT\r\nUID:7f3a@harbour-row.example\r\nDTSTAMP:20260302T080000Z\r\nDTSTART:20260609T083000Z\r\n" +
	"DURATION:PT30M\r\nSEQUENCE:1\r\nSUMMARY:Συνάντηση – Harbour Row\r\n" +
	"ORGANIZER;CN=Harbour Row:mailto:desk@harbour-row.example\r\n" +
	"ATTENDEE;CN=Nora Fenwick:mailto:nora.fenwick@post.example\r\n" +
	"DESCRIPTION:METHOD:CANCEL stands in a description that is so long that it has\r\n  to go on\r\n METHOD:CANCEL\r\n" +
	"END:VEVENT\r\nEND:VCALENDAR\r\n"

// sample is a fresh valid message with everything in it.
func sample() post.Message {
	return post.Message{
		ID:       "00112233445566778899aabbccddeeff@harbour-row.example",
		Date:     time.Date(2026, 3, 2, 9, 5, 7, 0, time.FixedZone("", 3600)),
		From:     post.Party{Name: "Harbour Row", Address: "desk@harbour-row.example"},
		To:       post.Party{Name: "Nora Fenwick", Address: "nora.fenwick@post.example"},
		Subject:  "Your appointment on 9 June",
		Text:     "Dear Nora Fenwick,\n\nwe look forward to seeing you.\n.\n..\nFrom the desk – Ida Marlow\n",
		Calendar: []byte(request),
		Method:   "REQUEST",
		Letter:   []byte("Harbour Row\n\nWhat to expect: ruhe, φροντίδα, راحة.\n"),
	}
}

func with(change func(m *post.Message)) post.Message {
	m := sample()
	change(&m)
	return m
}

func TestUnfitMessageIsRefused(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(m *post.Message)
		why    string
	}{
		{"no Message-ID", func(m *post.Message) { m.ID = "" }, "Message-ID"},
		{"Message-ID in brackets", func(m *post.Message) { m.ID = "<" + m.ID + ">" }, "Message-ID"},
		{"line break in the Message-ID", func(m *post.Message) { m.ID += "\r\nBcc: a@b.example" }, "Message-ID"},
		{"no date", func(m *post.Message) { m.Date = time.Time{} }, "no date"},
		{"year of five digits", func(m *post.Message) { m.Date = m.Date.AddDate(9000, 0, 0) }, "no date"},
		{"no sender", func(m *post.Message) { m.From.Address = "" }, "sender"},
		{"line break behind the sender", func(m *post.Message) { m.From.Address += "\n" }, "sender"},
		{"no recipient", func(m *post.Message) { m.To.Address = "" }, "recipient"},
		{"two recipients", func(m *post.Message) { m.To.Address += ",teni@post.example" }, "recipient"},
		{"second recipient in SMTP", func(m *post.Message) { m.To.Address += "> NOTIFY=SUCCESS" }, "recipient"},
		{"line break in the recipient", func(m *post.Message) { m.To.Address = "nora\r\n@post.example" }, "recipient"},
		{"name with the address", func(m *post.Message) { m.To.Address = "Nora <nora@post.example>" }, "recipient"},
		{"quoted local part", func(m *post.Message) { m.To.Address = `"nora fenwick"@post.example` }, "recipient"},
		{"local part in another script", func(m *post.Message) { m.To.Address = "νόρα@post.example" }, "recipient"},
		{"domain in another script", func(m *post.Message) { m.To.Address = "nora@διεύθυνση.example" }, "recipient"},
		{"domain that ends in a dot", func(m *post.Message) { m.To.Address += "." }, "recipient"},
		{"no @", func(m *post.Message) { m.To.Address = "nora.post.example" }, "recipient"},
		{"two @", func(m *post.Message) { m.To.Address = "nora@desk@post.example" }, "recipient"},
		{"local part of 65 characters", func(m *post.Message) { m.To.Address = strings.Repeat("n", 65) + "@post.example" }, "recipient"},
		{"address of 255 characters", func(m *post.Message) { m.To.Address = "n@" + strings.Repeat("a.", 126) + "a" }, "recipient"},
		{"no subject", func(m *post.Message) { m.Subject = " \r\n\u202e" }, "no subject"},
		{"no text", func(m *post.Message) { m.Text = "\n" }, "no text"},
		{"escape sequence in the text", func(m *post.Message) { m.Text += "\x1b[2J" }, "text holds control"},
		{"text not in UTF-8", func(m *post.Message) { m.Text += "\xff" }, "text holds control"},
		{"NUL in the letter", func(m *post.Message) { m.Letter = append(m.Letter, 0) }, "letter holds control"},
		{"method of another kind", func(m *post.Message) { m.Method = "PUBLISH" }, "neither REQUEST nor CANCEL"},
		{"parameter in the method", func(m *post.Message) { m.Method = "REQUEST; x=y" }, "neither REQUEST nor CANCEL"},
		{"no calendar", func(m *post.Message) { m.Calendar = nil }, "no calendar"},
		{"calendar not in UTF-8", func(m *post.Message) { m.Calendar = bytes.Replace(m.Calendar, []byte("Σ"), []byte("\xff"), 1) }, "no calendar"},
		{"two events", func(m *post.Message) {
			m.Calendar = bytes.Replace(m.Calendar, []byte("END:VEVENT\r\n"), []byte("END:VEVENT\r\nBEGIN:VEVENT\r\nEND:VEVENT\r\n"), 1)
		}, "no calendar with an event"},
		{"calendar of another method", func(m *post.Message) { m.Method = "CANCEL" }, "another method"},
		{"calendar without a method", func(m *post.Message) {
			m.Calendar = bytes.Replace(m.Calendar, []byte("METHOD:REQUEST\r\n"), nil, 1)
		}, "another method"},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := with(c.change)
			data, err := m.Bytes()
			var refused *graft.Refusal
			if !errors.As(err, &refused) || refused.Kind != graft.Invalid || !strings.Contains(refused.Message, c.why) {
				t.Errorf("got %v, want a refusal with %q", err, c.why)
			}
			if data != nil {
				t.Errorf("a refused message has %d bytes", len(data))
			}
			if err != nil && strings.Contains(err.Error(), "nora") {
				t.Errorf("%q tells the address", err)
			}
		})
	}
}

func TestAddressesThatArePossibleAreTaken(t *testing.T) {
	for _, address := range []string{
		"n@a", "nora.fenwick+clinic@post.example", "o'hara_{x}~|=?^`#$%&*/!-@a-b.c-d.example", "nora@xn--jxalpdlp.example",
		strings.Repeat("n", 64) + "@" + strings.Repeat("a.", 94) + "a", // 254 characters
	} {
		if _, err := with(func(m *post.Message) { m.To.Address, m.From.Address = address, address }).Bytes(); err != nil {
			t.Errorf("%s: %v", address, err)
		}
	}
}

func TestNewIDIsTakenAndHoldsAllItsBytes(t *testing.T) {
	for _, n := range []int{16, 32} {
		random := bytes.Repeat([]byte{0xfe}, n)
		id := post.NewID(random, "harbour-row.example")
		if want := strings.Repeat("fe", n) + "@harbour-row.example"; id != want {
			t.Errorf("got %s, want %s", id, want)
		}
		if _, err := with(func(m *post.Message) { m.ID = id }).Bytes(); err != nil {
			t.Errorf("%d bytes: %v", n, err)
		}
	}
}

// valid is a server as a clinic sets it up.
func valid() post.Server {
	return post.Server{Host: "mail.harbour-row.example", Port: 587, Security: post.StartTLS, User: "front-desk", Password: "p4ss wörd", Timeout: time.Second}
}

func TestUnfitServerIsRefusedBeforeAnythingIsSent(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(s *post.Server)
		why    string
	}{
		{"no host", func(s *post.Server) { s.Host = "" }, "host"},
		{"host with a port", func(s *post.Server) { s.Host += ":25" }, "host"},
		{"host with a line break", func(s *post.Server) { s.Host += "\r\n" }, "host"},
		{"a file for a host", func(s *post.Server) { s.Host = "unix:///run/mail" }, "host"},
		{"no port", func(s *post.Server) { s.Port = 0 }, "port 0"},
		{"port too high", func(s *post.Server) { s.Port = 65536 }, "port 65536"},
		{"no security", func(s *post.Server) { s.Security = "" }, "security"},
		{"security of another kind", func(s *post.Server) { s.Security = "opportunistic" }, "security"},
		{"none to another machine", func(s *post.Server) { s.Security = post.None }, "this machine only"},
		{"none to another address", func(s *post.Server) { s.Security, s.Host = post.None, "192.0.2.1" }, "this machine only"},
		{"none to a name that begins like this machine", func(s *post.Server) { s.Security, s.Host = post.None, "localhost.example" }, "this machine only"},
		{"user without a password", func(s *post.Server) { s.Password = "" }, "user without a password"},
		{"password without a user", func(s *post.Server) { s.User = "" }, "password without a user"},
		{"NUL in the password", func(s *post.Server) { s.Password += "\x00" }, "control characters"},
		{"line break behind the password", func(s *post.Server) { s.Password += "\n" }, "control characters"},
		{"user not in UTF-8", func(s *post.Server) { s.User += "\xff" }, "UTF-8"},
		{"negative timeout", func(s *post.Server) { s.Timeout = -1 }, "timeout"},
		{"negative patience", func(s *post.Server) { s.Patience = -1 }, "patience"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := valid()
			c.change(&s)
			err := s.Check()
			var refused *graft.Refusal
			if !errors.As(err, &refused) || refused.Kind != graft.Invalid || !strings.Contains(refused.Message, c.why) {
				t.Fatalf("got %v, want a refusal with %q", err, c.why)
			}
			sent := s.Send(t.Context(), sample())
			var not *post.NotSent
			if !errors.As(sent, &not) || !errors.As(sent, &refused) {
				t.Errorf("Send: got %v, want the refusal, not sent", sent)
			}
			keepsSecrets(t, err, s)
			keepsSecrets(t, sent, s)
		})
	}
}

func TestFitServersAreTaken(t *testing.T) {
	for _, change := range []func(s *post.Server){
		func(*post.Server) {},
		func(s *post.Server) { s.Security, s.Port = post.TLS, 465 },
		func(s *post.Server) { s.User, s.Password = "", "" },
		func(s *post.Server) { s.Timeout = 0 },
		func(s *post.Server) { s.Host = "192.0.2.1" },
		func(s *post.Server) { s.Host = "2001:db8::1" },
		func(s *post.Server) { s.Security, s.Host = post.None, "localhost" },
		func(s *post.Server) { s.Security, s.Host = post.None, "127.0.0.2" },
		func(s *post.Server) { s.Security, s.Host = post.None, "::1" },
	} {
		s := valid()
		change(&s)
		if err := s.Check(); err != nil {
			t.Errorf("%v: %v", s, err)
		}
	}
}

func TestServerIsPrintedWithoutItsLogin(t *testing.T) {
	s := valid()
	for _, verb := range []string{"%v", "%+v", "%#v", "%s", "%q"} {
		for _, printed := range []string{fmt.Sprintf(verb, s), fmt.Sprintf(verb, &s), fmt.Sprintf(verb, []any{s})} {
			if strings.Contains(printed, s.Password) || strings.Contains(printed, s.User) {
				t.Errorf("%s prints %s", verb, printed)
			}
		}
	}
}
