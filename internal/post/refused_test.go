package post_test

import (
	"crypto/x509"
	"errors"
	"strings"
	"testing"

	"graftclock/internal/graft"
	"graftclock/internal/post"
	"graftclock/internal/reference/smtpd"
)

// TestServerRefuses sends mails that a real server does not take, or must not get.
func TestServerRefuses(t *testing.T) {
	r := smtpd.Start(t)
	const nobody = 0
	to := func(local string) func(*post.Server, *post.Message) {
		return func(_ *post.Server, m *post.Message) { m.To.Address = local + "@post.example" }
	}
	for _, c := range []struct {
		name   string
		door   post.Security
		change func(s *post.Server, m *post.Message)
		code   int
		says   string
		named  int // how often the server heard of the recipient
	}{
		{"recipient refused", post.StartTLS, to("refused.nora"), 550, "recipient: 550 5.1.1 <***>: recipient address rejected: *** is unknown", 1},
		{"recipient refused for now", post.TLS, to("later.nora"), 451, "recipient: 451 4.7.1 <***>: greylisted", 1},
		{"whole mail refused", post.StartTLS, to("full.nora"), 552, "mail: 552 5.2.2 mailbox full", 1},
		{"whole mail refused for now", post.None, to("broken.nora"), 451, "mail: 451 4.3.0 disk trouble", 1},
		{"wrong password, PLAIN", post.StartTLS, func(s *post.Server, _ *post.Message) { s.Password += "!" }, 535, "login: 535 5.7.8", nobody},
		{"wrong password, LOGIN", post.TLS, func(s *post.Server, _ *post.Message) { s.Password = "other" }, 535, "login: 535 5.7.8", nobody},
		{"wrong user", post.StartTLS, func(s *post.Server, _ *post.Message) { s.User = "somebody.else" }, 535, "login: 535 5.7.8", nobody},
		{"no login where one is wanted", post.StartTLS, func(s *post.Server, _ *post.Message) { s.User, s.Password = "", "" }, 530, "sender: 530", nobody},
		{"no STARTTLS offered", post.None, func(s *post.Server, _ *post.Message) { s.Security = post.StartTLS }, 0, "TLS: the server offers no STARTTLS", nobody},
		{"no STARTTLS offered, with a login", post.None, func(s *post.Server, _ *post.Message) {
			s.Security, s.User, s.Password = post.StartTLS, user, password
		}, 0, "TLS: the server offers no STARTTLS", nobody},
		{"TLS to a door without", post.None, func(s *post.Server, _ *post.Message) { s.Security = post.TLS }, 0, "TLS: ", nobody},
		{"no TLS where it is wanted", post.StartTLS, func(s *post.Server, _ *post.Message) {
			s.Security, s.User, s.Password = post.None, "", ""
		}, 530, "sender: 530", nobody},
		{"no TLS where login needs it", post.StartTLS, func(s *post.Server, _ *post.Message) { s.Security = post.None }, 0, "login: the server offers no login by password", nobody},
		{"unknown certificate, STARTTLS", post.StartTLS, func(s *post.Server, _ *post.Message) { s.Roots = x509.NewCertPool() }, 0, "TLS: tls: failed to verify certificate: x509: certificate signed by unknown authority", nobody},
		{"unknown certificate, TLS", post.TLS, func(s *post.Server, _ *post.Message) { s.Roots = x509.NewCertPool() }, 0, "TLS: tls: failed to verify certificate: x509: certificate signed by unknown authority", nobody},
		{"unknown to the machine's own authorities", post.TLS, func(s *post.Server, _ *post.Message) { s.Roots = nil }, 0, "TLS: tls: failed to verify certificate", nobody},
		{"certificate of another host, STARTTLS", post.StartTLS, func(s *post.Server, _ *post.Message) { s.Host = "localhost" }, 0, "TLS: tls: failed to verify certificate", nobody},
		{"certificate of another host, TLS", post.TLS, func(s *post.Server, _ *post.Message) { s.Host = "localhost" }, 0, "TLS: tls: failed to verify certificate", nobody},
		{"mail that cannot be written", post.StartTLS, to("nora\r\n"), 0, "the mail cannot be written", nobody},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, m := server(r, c.door), sample()
			c.change(&s, &m)
			before := r.Recipients()
			err := s.Send(t.Context(), m)
			var not *post.NotSent
			if !errors.As(err, &not) || not.Code != c.code || !strings.HasPrefix(not.Says, c.says) {
				t.Errorf("got %#v (%v), want not sent, code %d, %q", err, err, c.code, c.says)
			}
			keepsSecrets(t, err, s)
			if local, _, _ := strings.Cut(m.To.Address, "@"); strings.Contains(err.Error(), local) {
				t.Errorf("%v tells the recipient", err)
			}
			if named := r.Recipients() - before; named != c.named {
				t.Errorf("the server heard of the recipient %d times, want %d", named, c.named)
			}
		})
	}
	if _, mails := r.Taken(); len(mails) != 0 {
		t.Errorf("the server took %d mails", len(mails))
	}
}

func TestOnlyARefusalByThisProgramIsOne(t *testing.T) {
	r := smtpd.Start(t)
	for _, c := range []struct {
		name    string
		address string
		refusal bool
	}{{"by the server", "refused@post.example", false}, {"by this program", "refused", true}} {
		err := server(r, post.None).Send(t.Context(), with(func(m *post.Message) { m.To.Address = c.address }))
		var refused *graft.Refusal
		if errors.As(err, &refused) != c.refusal {
			t.Errorf("%s: got %v (%v)", c.name, err, refused)
		}
	}
}
