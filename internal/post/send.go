package post

import (
	"context"
	"crypto/tls"
	"errors"
	"net"
	"slices"
	"strings"
	"time"

	"github.com/wneessen/go-mail/smtp"
)

// farewell is how long the server may take to say good-bye. The mail is its own by
// then.
const farewell = 2 * time.Second

// Send makes one attempt to hand the mail to the server, for one recipient; it never
// tries again by itself. Nil says that the server took it; *NotSent that it certainly
// did not, for any reason from a mail that cannot be written to a refusal; *Unsure
// that nobody knows. No other error is returned.
func (s Server) Send(ctx context.Context, m Message) error {
	data, err := m.Bytes()
	if err == nil {
		err = s.Check()
	}
	if err != nil {
		return &NotSent{Says: err.Error(), cause: err}
	}
	handing, cancel := context.WithTimeout(ctx, or(s.Timeout, defaultTimeout))
	defer cancel()
	conn, err := new(net.Dialer).DialContext(handing, "tcp", s.address())
	if err != nil {
		return s.notSent(handing, m, at("connect", err))
	}
	hangUp := func() { _ = conn.Close() }
	defer hangUp()
	// The library's deadlines begin after the greeting and know no context; a closed
	// connection ends every step.
	stopClock := context.AfterFunc(handing, hangUp)
	defer stopClock()

	client, err := s.enter(handing, conn)
	if err != nil {
		return s.notSent(handing, m, err)
	}
	if err := hand(client, m, data); err != nil {
		if replyCode(err) != 0 {
			leave(client)
		}
		return s.notSent(handing, m, err)
	}
	stopClock()
	waiting, cancel := context.WithTimeout(ctx, or(s.Patience, defaultPatience))
	defer cancel()
	defer context.AfterFunc(waiting, hangUp)()
	return s.outcome(waiting, m, client)
}

// enter goes through greeting, TLS and login.
func (s Server) enter(ctx context.Context, conn net.Conn) (*smtp.Client, error) {
	if s.Security == None && !fromHere(conn.RemoteAddr()) {
		return nil, at("connect", errors.New("the host is not this machine, and security is none"))
	}
	line := conn
	if s.Security == TLS {
		secured := tls.Client(conn, s.tls())
		if err := secured.HandshakeContext(ctx); err != nil {
			return nil, at("TLS", err)
		}
		line = secured
	}
	client, err := smtp.NewClient(line, s.Host)
	if err != nil {
		return nil, at("greeting", err)
	}
	client.SkipSMTPUTF8(true) // the mail is ASCII and must pass servers that take no other
	if err := client.Hello(literal(conn.LocalAddr())); err != nil {
		return nil, at("greeting", err)
	}
	if s.Security == StartTLS {
		if offered, _ := client.Extension("STARTTLS"); !offered {
			leave(client)
			return nil, at("TLS", errors.New("the server offers no STARTTLS; nothing was sent"))
		}
		if err := client.StartTLS(s.tls()); err != nil {
			return nil, at("TLS", err)
		}
	}
	return client, at("login", s.login(client))
}

// login proves the user's name by password, where there is one.
func (s Server) login(client *smtp.Client) error {
	if s.User == "" {
		return nil
	}
	_, offered := client.Extension("AUTH")
	ways := strings.Fields(strings.ToUpper(offered))
	switch here := s.Security == None; {
	case slices.Contains(ways, "PLAIN"):
		return client.Auth(smtp.PlainAuth("", s.User, s.Password, s.Host, here))
	case slices.Contains(ways, "LOGIN"):
		return client.Auth(smtp.LoginAuth(s.User, s.Password, s.Host, here))
	}
	return errors.New("the server offers no login by password (PLAIN or LOGIN)")
}

// hand gives the server sender, recipient and mail, up to the final dot. After an
// error the server cannot have the whole mail.
func hand(client *smtp.Client, m Message, data []byte) error {
	if err := client.Mail("<" + m.From.Address + ">"); err != nil {
		return at("sender", err)
	}
	if err := client.Rcpt("<" + m.To.Address + ">"); err != nil {
		return at("recipient", err)
	}
	w, err := client.Data()
	if err != nil {
		return at("mail", err)
	}
	// The library's Close forgets an error of its last write, and with it whether the
	// final dot went out at all.
	if whole, ok := w.(*smtp.DataCloser); ok {
		w = whole.WriteCloser
	}
	if _, err := w.Write(data); err != nil {
		return at("mail", err)
	}
	return at("mail", w.Close())
}

// outcome reads the server's answer to the whole mail.
func (s Server) outcome(ctx context.Context, m Message, client *smtp.Client) error {
	const success = 2 // first digit
	_, _, err := client.Text.ReadResponse(success)
	switch code := replyCode(err); {
	case err == nil:
		leave(client)
		return nil
	case code >= 400 && code <= 599:
		leave(client)
		return s.notSent(ctx, m, at("mail", err))
	}
	return &Unsure{Says: s.says(ctx, m, at("answer", err))}
}

// leave says good-bye, whatever the server answers. It is not for a mail half
// handed over: the next command would end and so deliver it.
func leave(client *smtp.Client) {
	if client.UpdateDeadline(farewell) == nil {
		_ = client.Quit()
	}
}

func fromHere(address net.Addr) bool {
	tcp, ok := address.(*net.TCPAddr)
	return ok && tcp.IP.IsLoopback()
}

// literal names this machine to the server by its address (RFC 5321 4.1.3), which
// the server sees anyway, and not by its name.
func literal(address net.Addr) string {
	tcp, ok := address.(*net.TCPAddr)
	switch {
	case !ok:
		return "localhost"
	case tcp.IP.To4() != nil:
		return "[" + tcp.IP.String() + "]"
	}
	return "[IPv6:" + tcp.IP.String() + "]"
}
