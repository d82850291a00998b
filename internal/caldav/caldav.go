// Package caldav reads and fills a calendar on a server (RFC 4791, 6578, 4918).
// It decides how a request is made so that nothing of somebody else is written over
// and user and password reach no other server. It refuses to know what stands in a
// calendar, what day it is, and when to try again.
package caldav

import (
	"errors"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"time"

	"graftclock/internal/graft"
)

// How long the client of its own waits for a connection, for the head of an answer
// and for the whole of one.
const (
	connecting = 15 * time.Second
	answering  = time.Minute
	finishing  = 5 * time.Minute
)

// maxBody is the longest answer that is read, in bytes.
const maxBody = 64 << 20

// maxHead is the longest head of an answer that is read, in bytes.
const maxHead = 1 << 20

// Options say where a calendar server is and who asks.
type Options struct {
	// URL is https, or http where its host is localhost or a loopback address,
	// without user, query and fragment.
	URL string
	// User and Password are sent the Basic way (RFC 7617); both empty: nobody.
	User, Password string
	// HTTP makes the connections, with its own timeouts; its cookies and its rule for
	// redirects are not used. Nil is a client with timeouts.
	HTTP *http.Client
}

// Client talks to one calendar server. It keeps nothing between calls and may be
// used by several at once.
//
// Paths that it returns are absolute and percent-encoded in one way only, so two of
// them are the same resource when they are the same text; paths that it is given may
// be written in any way, or be addresses on the server. An address on another server
// is an error. A path of a collection ends in a slash, that of an object does not.
//
// Entity tags that it returns are strong and quoted. A weak one, W/"a", is taken for
// "a": If-Match needs a strong one (RFC 9110 13.1.1), and a proxy on the way weakens
// what the server gave. A server whose own tags are weak refuses every change with
// 412; it loses none. Nothing is asked for compressed, for some proxies change the tag then.
type Client struct {
	http           *http.Client
	base           *url.URL
	user, password string
	limit          int64 // of an answer, in bytes
}

// New returns a client; no connection is made yet. A *graft.Refusal of kind Invalid
// says what is wrong with the options.
func New(o Options) (*Client, error) {
	base, err := address(o.URL)
	if err != nil {
		return nil, err
	}
	if base.RawQuery != "" || base.ForceQuery {
		return nil, invalid("the address of a calendar server has no ?", "leave out the ? and what follows it")
	}
	return newClient(base, o)
}

func newClient(base *url.URL, o Options) (*Client, error) {
	if strings.Contains(o.User, ":") || strings.ContainsFunc(o.User+o.Password, control) {
		return nil, invalid("the user of a calendar server holds no colon, and neither user nor password a control character", "")
	}
	if o.User == "" && o.Password != "" {
		return nil, invalid("there is a password for the calendar server and no user", "name the user too")
	}
	if base.Path == "" {
		base.Path = "/"
	}
	return &Client{http: careful(o.HTTP), base: base, user: o.User, password: o.Password, limit: maxBody}, nil
}

// address reads an address and refuses one that would send a password in the open
// or hold one itself. It repeats nothing of the address but its host.
func address(text string) (*url.URL, error) {
	u, err := url.Parse(text)
	switch {
	case err != nil || u.Host == "" || u.Hostname() == "":
		return nil, invalid("the address of the calendar server is none", "write it as https://host/path/")
	case u.User != nil:
		return nil, invalid("the address of the calendar server holds a user", "leave out what stands before the @")
	case u.Fragment != "":
		return nil, invalid("the address of the calendar server holds a #", "leave out the # and what follows it")
	case u.Scheme == "http" && !loopback(u.Hostname()):
		return nil, invalid("http to "+u.Host+" would show the password to everybody on the way", "write https://")
	case u.Scheme != "https" && u.Scheme != "http":
		return nil, invalid("the address of the calendar server does not begin with https://", "write it as https://host/path/")
	}
	return u, nil
}

func loopback(host string) bool {
	ip, err := netip.ParseAddr(host)
	return strings.EqualFold(host, "localhost") || err == nil && ip.IsLoopback()
}

func control(r rune) bool { return r < ' ' || r == 0x7f }

func invalid(message, hint string) error {
	return &graft.Refusal{Kind: graft.Invalid, Message: message, Hint: hint}
}

// careful returns a client that follows no redirect by itself and keeps no cookies.
func careful(given *http.Client) *http.Client {
	c := http.Client{Timeout: finishing, Transport: transport()}
	if given != nil {
		c = *given
	}
	c.Jar = nil
	c.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return &c
}

func transport() *http.Transport {
	return &http.Transport{
		Proxy:                  proxy,
		DialContext:            (&net.Dialer{Timeout: connecting}).DialContext,
		TLSHandshakeTimeout:    connecting,
		ResponseHeaderTimeout:  answering,
		IdleConnTimeout:        answering,
		MaxResponseHeaderBytes: maxHead,
		ForceAttemptHTTP2:      true,
	}
}

// proxy is the one of the environment. What is wrong with its address is not
// repeated, for it may hold a password.
func proxy(r *http.Request) (*url.URL, error) {
	u, err := http.ProxyFromEnvironment(r)
	if err != nil {
		return nil, errors.New("the environment names a proxy by an address that is none")
	}
	return u, nil
}
