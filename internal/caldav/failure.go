package caldav

import (
	"context"
	"crypto/tls"
	"encoding/base64"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"graftclock/internal/graft"
)

// ErrToken says that the server does not know a sync token any more (RFC 6578 3.2):
// ask for everything.
var ErrToken = errors.New("does not know any more what it has told before")

// StatusError is an answer other than the one asked for.
type StatusError struct {
	Host      string // of the server, with its port if the address had one
	Method    string // PUT
	Code      int    // 412
	Condition string // what the server says was not met, such as no-uid-conflict (RFC 4918 16); may be empty
}

// noBasic is the Condition of a server that takes no password the Basic way.
const noBasic = "no-basic-authentication"

// meanings say of a status what a desk can do something with.
var meanings = map[int]string{
	http.StatusUnauthorized:          "refuses user or password",
	http.StatusForbidden:             "does not permit this",
	http.StatusNotFound:              "has nothing there",
	http.StatusMethodNotAllowed:      "does not do this there",
	http.StatusConflict:              "finds this at odds with what it has",
	http.StatusGone:                  "has nothing there any more",
	http.StatusPreconditionFailed:    "has something else there than what is known here",
	http.StatusRequestEntityTooLarge: "finds this too long",
	http.StatusLocked:                "has this locked by somebody else",
	http.StatusTooManyRequests:       "is asked too often",
	http.StatusServiceUnavailable:    "cannot serve now",
	http.StatusInsufficientStorage:   "has no room left, or the answer would be too long for it",
}

// Error says in one sentence what the server does not do, and which request it was.
func (e *StatusError) Error() string {
	meaning := meanings[e.Code]
	switch {
	case meaning != "":
	case e.Code/100 == 5:
		meaning = "has a fault of its own"
	case e.Code/100 == 2:
		meaning = "speaks no CalDAV at this address"
	default:
		meaning = "gives an answer that does not fit"
	}
	if e.Condition == noBasic {
		meaning = "does not take a password the Basic way (RFC 7617)"
	}
	return fmt.Sprintf("calendar server %s %s (%s: %s)", e.Host, meaning, e.Method, strings.TrimSpace(fmt.Sprint(e.Code, " ", e.Condition)))
}

// IsConflict reports that a resource is not, or not any more, in the state that the
// request was made for (412).
func IsConflict(err error) bool { return status(err) == http.StatusPreconditionFailed }

// IsMissing reports that there is no such resource (404 or 410).
func IsMissing(err error) bool { return missing(status(err)) }

// IsUnauthorized reports that the server wants a user with a password, or others than
// it was given (401).
func IsUnauthorized(err error) bool { return status(err) == http.StatusUnauthorized }

// forgotten reports that an error is about the sync token (RFC 6578 3.2).
func forgotten(err error) bool {
	var e *StatusError
	return errors.As(err, &e) && e.Condition == "valid-sync-token"
}

func missing(code int) bool { return code == http.StatusNotFound || code == http.StatusGone }

// status returns the code of a StatusError, or 0.
func status(err error) int {
	var e *StatusError
	if errors.As(err, &e) {
		return e.Code
	}
	return 0
}

// failure is any other error about the server. It wraps only what ended the waiting.
type failure struct {
	text  string
	cause error
}

func (f *failure) Error() string { return f.text }
func (f *failure) Unwrap() error { return f.cause }

// failed says what the server does that nothing can be done with. Words of the
// server in it have gone through plain.
func (c *Client) failed(what string) error { return c.ended(what, nil) }

func (c *Client) ended(what string, cause error) error {
	return &failure{"calendar server " + c.base.Host + " " + what, cause}
}

// unreachable says why there was no answer, or none to the end.
func (c *Client) unreachable(what string, err error) error {
	var outer *url.Error
	if errors.As(err, &outer) {
		err = outer.Err // without the address
	}
	var timeout net.Error
	switch {
	case errors.Is(err, context.Canceled):
		return c.ended("was not waited for", context.Canceled)
	case errors.Is(err, context.DeadlineExceeded) || errors.As(err, &timeout) && timeout.Timeout():
		return c.ended("did not answer in time", context.DeadlineExceeded)
	case unproved(err):
		return c.failed("does not prove who it is: " + c.plain(err.Error()))
	}
	return c.failed(what + ": " + c.plain(err.Error()))
}

// unproved reports that the connection was there and TLS was not.
func unproved(err error) bool {
	var certificate *tls.CertificateVerificationError
	var alert tls.AlertError
	var record tls.RecordHeaderError
	return errors.Is(err, http.ErrSchemeMismatch) || errors.As(err, &certificate) || errors.As(err, &alert) || errors.As(err, &record)
}

// longest is how much of a text of others goes into an error, in runes.
const longest = 300

// plain makes a text that holds words of others fit for an error: one line, not
// long, and without the password, which a server may repeat.
func (c *Client) plain(text string) string {
	text = c.hide(graft.OneLine(c.hide(text))) // making one line may join the parts of a password
	if runes := []rune(text); len(runes) > longest {
		text = string(slices.Concat(runes[:longest], []rune("...")))
	}
	return text
}

// hide masks the password, also as it goes over the line and as one line.
func (c *Client) hide(text string) string {
	if c.password == "" {
		return text
	}
	basic := base64.StdEncoding.EncodeToString([]byte(c.user + ":" + c.password))
	for _, secret := range []string{basic, c.password, graft.OneLine(c.password)} {
		if secret != "" {
			text = strings.ReplaceAll(text, secret, "***")
		}
	}
	return text
}
