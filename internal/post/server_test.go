package post_test

import (
	"bytes"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/post"
	"graftclock/internal/reference/smtpd"
)

const user, password = smtpd.User, smtpd.Password

// server is how a clinic would set up one of the doors of the real server.
func server(r *smtpd.Server, door post.Security) post.Server {
	s := post.Server{Host: r.Host, Port: r.Ports[string(door)], Security: door, Roots: r.Roots, Timeout: 20 * time.Second}
	if door != post.None {
		s.User, s.Password = user, password
	}
	return s
}

func TestServerTakesTheMailOnce(t *testing.T) {
	r := smtpd.Start(t)
	for i, c := range []struct {
		name   string
		server post.Server
		want   smtpd.Envelope
	}{
		{"STARTTLS and login", server(r, post.StartTLS), smtpd.Envelope{Door: "starttls", LoggedIn: true, Encrypted: true}},
		{"TLS and the other kind of login", server(r, post.TLS), smtpd.Envelope{Door: "tls", LoggedIn: true, Encrypted: true}},
		{"neither, on this machine", server(r, post.None), smtpd.Envelope{Door: "none"}},
		{"login without TLS, on this machine", func() post.Server {
			s := server(r, post.None)
			s.User, s.Password = user, password
			return s
		}(), smtpd.Envelope{Door: "none", LoggedIn: true}},
		{"this machine by name", func() post.Server {
			s := server(r, post.None)
			s.Host = "localhost"
			return s
		}(), smtpd.Envelope{Door: "none"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := sample()
			if err := c.server.Send(t.Context(), m); err != nil {
				t.Fatal(err)
			}
			envelopes, mails := r.Taken()
			if len(mails) != i+1 {
				t.Fatalf("the server has %d mails, want %d", len(mails), i+1)
			}
			if want, _ := m.Bytes(); !bytes.Equal(mails[i], want) {
				t.Errorf("another mail arrived: %s", cmp.Diff(string(want), string(mails[i])))
			}
			c.want.Hello, c.want.From, c.want.To = "[127.0.0.1]", m.From.Address, []string{m.To.Address}
			c.want.Options = []string{"BODY=8BITMIME"} // and no SMTPUTF8, which not every server passes on
			if diff := cmp.Diff(c.want, envelopes[i]); diff != "" {
				t.Error(diff)
			}
			read, err := goReads(mails[i])
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(expected(m), read, sameRead); diff != "" {
				t.Error(diff)
			}
		})
	}
	_, mails := r.Taken()
	for i, read := range smtpd.Read(t, mails...) {
		if diff := cmp.Diff(expected(sample()), read, sameRead); diff != "" {
			t.Errorf("mail %d: %s", i, diff)
		}
	}
}
