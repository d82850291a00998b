// Package post composes one mail to one person with one calendar message in it
// (RFC 6047) and hands it to the clinic's own SMTP server (RFC 5321), once. It
// decides how the mail is written and what is known of it afterwards: taken, not
// sent, or unsure. It does not know whom to write to, whether the patient agreed,
// what to write, or what was sent before.
package post

import (
	"bytes"
	"encoding/hex"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"graftclock/internal/graft"
)

// Message is one mail to one person with one calendar message (RFC 5546) in it.
type Message struct {
	// ID is the Message-ID without angle brackets, such as NewID makes. It also
	// fixes the boundaries between the parts.
	ID string
	// Date of the mail, to the second, in the zone it is shown in.
	Date time.Time
	// From is the clinic, To the one person who gets the mail.
	From, To Party
	// Subject in any script; one line is made of it.
	Subject string
	// Text is the body in plain text; not empty.
	Text string
	// Calendar is the iCalendar object, as made by package ics. It arrives byte
	// for byte.
	Calendar []byte
	// Method is REQUEST or CANCEL, as the calendar says; mail programs know an
	// invitation by its repetition in the MIME type (RFC 6047 2.4).
	Method string
	// Letter is a letter in plain text, attached as letter.txt; nil is none.
	Letter []byte
}

// Party is somebody with an e-mail address: local part and domain in ASCII, without
// brackets or quotes. The name may be empty and is in any script; one line is made
// of it.
type Party struct{ Name, Address string }

// NewID returns a Message-ID without angle brackets, made of 16 to 32 random
// bytes and the domain of the clinic's address. It tells nothing of the mail.
func NewID(random []byte, domain string) string {
	return hex.EncodeToString(random) + "@" + domain
}

// fitAddress reports whether an address goes through every mail server as it is.
func fitAddress(address string) bool { return graft.AddressFault(address) == "" }

// fitText reports whether text is UTF-8 without control characters other than
// those that lay out lines.
func fitText(text string) bool {
	return utf8.ValidString(text) && !strings.ContainsFunc(text, func(r rune) bool {
		return unicode.IsControl(r) && !strings.ContainsRune("\t\r\n", r)
	})
}

// check returns the first reason to refuse the message. It repeats no address: the
// reason may be shown where the patient's must not be.
func (m Message) check() error {
	for _, must := range []struct {
		hold bool
		why  string
	}{
		{fitAddress(m.ID), "its Message-ID is not of the form word@domain"},
		{!m.Date.IsZero() && m.Date.Year() >= 1900 && m.Date.Year() <= 9999, "it has no date"},
		{fitAddress(m.From.Address), "the sender's address is not of the form name@domain in ASCII"},
		{fitAddress(m.To.Address), "the recipient's address is not of the form name@domain in ASCII"},
		{graft.OneLine(m.Subject) != "", "it has no subject"},
		{strings.TrimSpace(m.Text) != "", "it has no text"},
		{fitText(m.Text), "its text holds control characters or is not UTF-8"},
		{fitText(string(m.Letter)), "its letter holds control characters or is not UTF-8"},
		{m.Method == "REQUEST" || m.Method == "CANCEL", "its method is neither REQUEST nor CANCEL"},
		{utf8.Valid(m.Calendar) && m.calls("BEGIN:VCALENDAR") && m.calls("BEGIN:VEVENT"), "it carries no calendar with an event"},
		{m.calls("METHOD:" + m.Method), "the calendar has another method than the mail"},
	} {
		if !must.hold {
			return &graft.Refusal{Kind: graft.Invalid, Message: "the mail cannot be written: " + must.why}
		}
	}
	return nil
}

// calls reports whether exactly one line of the calendar is this one. A folded line
// goes on behind a space, so no text of a field can pass for a line.
func (m Message) calls(line string) bool {
	return bytes.Count(append([]byte("\r\n"), m.Calendar...), []byte("\r\n"+line+"\r\n")) == 1
}
