package post

import (
	"crypto/tls"
	"crypto/x509"
	"net"
	"regexp"
	"strconv"
	"strings"
	"time"

	"graftclock/internal/graft"
)

// Server is the clinic's own SMTP server.
type Server struct {
	// Host is a name or an IP address; the certificate must be made out to it.
	Host string
	// Port 1..65535; usually 587 for starttls and 465 for tls.
	Port int
	// Security of the connection.
	Security Security
	// User and Password log in; both empty: the server wants no login.
	User, Password string
	// Roots are the authorities that may vouch for the server; nil takes the
	// machine's own.
	Roots *x509.CertPool
	// Timeout ends an attempt to hand the mail over, from connecting to its last byte;
	// zero is 30 seconds.
	Timeout time.Duration
	// Patience is how long the answer to the whole mail may take; zero is 5 minutes.
	// Servers look through a mail before they answer, and who leaves too early does not
	// know whether it was taken (RFC 5321 4.5.3.2.6 advises to wait for ten).
	Patience time.Duration
}

// Security says how a connection is kept from others.
type Security string

// The kinds of security. None is for a server on this machine only.
const (
	StartTLS Security = "starttls" // TLS before login and mail (RFC 3207), or nothing is sent
	TLS      Security = "tls"      // TLS from the first byte (RFC 8314 3.3)
	None     Security = "none"
)

const (
	defaultTimeout  = 30 * time.Second
	defaultPatience = 5 * time.Minute
)

var hostName = regexp.MustCompile(`^[A-Za-z0-9_]([A-Za-z0-9_-]*[A-Za-z0-9])?(\.[A-Za-z0-9_]([A-Za-z0-9_-]*[A-Za-z0-9])?)*$`)

// Check returns the first reason not to use the server as it is set up.
func (s Server) Check() error {
	for _, must := range []struct {
		hold bool
		why  string
	}{
		{net.ParseIP(s.Host) != nil || len(s.Host) <= 253 && hostName.MatchString(s.Host), "its host is neither a name nor an address"},
		{s.Port >= 1 && s.Port <= 65535, "its port " + strconv.Itoa(s.Port) + " is not 1 to 65535"},
		{s.Security == StartTLS || s.Security == TLS || s.Security == None, "its security is not starttls, tls or none"},
		{s.Security != None || loopback(s.Host), "security none is for a server on this machine only"},
		{s.User == "" || s.Password != "", "it has a user without a password"},
		{s.Password == "" || s.User != "", "it has a password without a user"},
		{fitLogin(s.User) && fitLogin(s.Password), "its user or password holds control characters or is not UTF-8"},
		{s.Timeout >= 0 && s.Patience >= 0, "its timeout or patience is below zero"},
	} {
		if !must.hold {
			return &graft.Refusal{Kind: graft.Invalid, Message: "the mail server cannot be used: " + must.why}
		}
	}
	return nil
}

// String returns host, port and security, never the login.
func (s Server) String() string { return s.address() + " (" + string(s.Security) + ")" }

// GoString returns the same as String.
func (s Server) GoString() string { return s.String() }

func (s Server) address() string { return net.JoinHostPort(s.Host, strconv.Itoa(s.Port)) }

// or returns a length of time, or what zero stands for.
func or(length, zero time.Duration) time.Duration {
	if length == 0 {
		return zero
	}
	return length
}

func (s Server) tls() *tls.Config {
	return &tls.Config{ServerName: s.Host, RootCAs: s.Roots, MinVersion: tls.VersionTLS12}
}

// loopback reports whether a host is this machine. What the name localhost leads to
// is looked at again once connected.
func loopback(host string) bool {
	return strings.EqualFold(host, "localhost") || net.ParseIP(host).IsLoopback()
}

// fitLogin reports whether a login can be told to a server (RFC 4616 2).
func fitLogin(text string) bool { return fitText(text) && !strings.ContainsAny(text, "\t\r\n") }
