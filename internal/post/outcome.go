package post

import (
	"context"
	"encoding/base64"
	"errors"
	"net/textproto"
	"regexp"
	"strconv"
	"strings"

	"graftclock/internal/graft"
)

// NotSent says that the mail was certainly not delivered, so another attempt cannot
// double it.
type NotSent struct {
	// Says is at which step and why, with the server's words where it spoke. It
	// holds neither the recipient's address nor the login.
	Says string
	// Code is the code of the server's reply that ended it: 4xx may be otherwise at
	// the next attempt, 5xx will be the same (RFC 5321 4.2.1); 0: no reply did.
	Code int

	cause error // a refusal or the end of a context; never what was said on the line
}

// Error returns what it says, after "not sent".
func (e *NotSent) Error() string { return "not sent: " + e.Says }

// Unwrap returns the *graft.Refusal of a message or a server that cannot be used,
// or the context's error; otherwise nil.
func (e *NotSent) Unwrap() error { return e.cause }

// Unsure says that the connection was lost after the whole mail was handed over and
// before the server's answer: it may have arrived, and another attempt may double it.
type Unsure struct {
	// Says is what became of the connection, under the rules of NotSent.Says.
	Says string
}

// Error returns what it says, and that the mail may have arrived.
func (e *Unsure) Error() string { return "it may have been sent: " + e.Says }

const (
	hidden    = "***"
	leftOut   = "(words left out)"
	maxWords  = 300 // characters of what the other side said
	secretRun = 6   // characters in a row that give a password away
)

// failure is an error at one step of the way to the server.
type failure struct {
	step string
	err  error
}

func (f *failure) Error() string { return f.step + ": " + f.err.Error() }
func (f *failure) Unwrap() error { return f.err }

// at names the step of an error; no error stays none.
func at(step string, err error) error {
	if err == nil {
		return nil
	}
	return &failure{step, err}
}

// replyCode is the code of the server's reply; 0: the error is none.
func replyCode(err error) int {
	var reply *textproto.Error
	if errors.As(err, &reply) {
		return reply.Code
	}
	return 0
}

// notSent tells of an error before the server could have the whole mail.
func (s Server) notSent(ctx context.Context, m Message, err error) error {
	told := &NotSent{Says: s.says(ctx, m, err), Code: replyCode(err)}
	if told.Code == 0 {
		told.cause = ctx.Err()
	}
	return told
}

// says makes one line of an error: step and what was said. Of the end of a context
// it tells that, and not that a closed connection cannot be read.
func (s Server) says(ctx context.Context, m Message, err error) string {
	var step string
	var failed *failure
	if errors.As(err, &failed) {
		step, err = failed.step+": ", failed.err
	}
	said, code := spoken(err), replyCode(err)
	switch {
	case code == 0 && errors.Is(ctx.Err(), context.DeadlineExceeded):
		return step + "no answer in time"
	case code == 0 && ctx.Err() != nil:
		return step + "stopped"
	case s.betrays(said):
		said = leftOut
	}
	if code != 0 {
		step += strconv.Itoa(code) + " "
	}
	words := []rune(hide(graft.OneLine(said), m.To.Address, s.User))
	return step + string(words[:min(maxWords, len(words))])
}

// spoken is what an error says: of a reply of the server the bare text, without the
// code and the quotes that the error puts round it; of what is no reply nothing.
func spoken(err error) string {
	var reply *textproto.Error
	var garbled textproto.ProtocolError
	switch {
	case errors.As(err, &reply):
		return reply.Msg
	case errors.As(err, &garbled):
		return "what came is no reply of a mail server"
	}
	return err.Error()
}

// betrays reports whether words hold any part of the login as it goes over the line.
// A server may repeat what it got, whole or cut, as it came or in base64.
func (s Server) betrays(words string) bool {
	if s.User == "" {
		return false
	}
	encode := func(text string) string { return base64.StdEncoding.EncodeToString([]byte(text)) }
	for _, secret := range []string{s.Password, encode(s.Password), encode(s.User), encode("\x00" + s.User + "\x00" + s.Password)} {
		if sharesRun(folded(words), folded(secret)) {
			return true
		}
	}
	return false
}

func folded(text string) string { return strings.ToLower(graft.OneLine(text)) }

// sharesRun reports whether words hold a run of the secret: secretRun bytes, or all
// of a shorter one.
func sharesRun(words, secret string) bool {
	n := min(secretRun, len(secret))
	for i := 0; n > 0 && i+n <= len(secret); i++ {
		if strings.Contains(words, secret[i:i+n]) {
			return true
		}
	}
	return false
}

// hide masks names in words, in any case: whole ones anywhere, and the part before
// the @ of an address where it stands as a word.
func hide(words string, names ...string) string {
	for _, name := range names {
		if name = graft.OneLine(name); name == "" {
			continue
		}
		words = regexp.MustCompile("(?i)"+regexp.QuoteMeta(name)).ReplaceAllLiteralString(words, hidden)
		local, _, _ := strings.Cut(name, "@")
		word := regexp.MustCompile(`(?i)(^|[^\pL\pN])` + regexp.QuoteMeta(local) + `([^\pL\pN]|$)`)
		for range 2 { // two in a row share the space between them
			words = word.ReplaceAllString(words, "${1}"+hidden+"${2}")
		}
	}
	return words
}
